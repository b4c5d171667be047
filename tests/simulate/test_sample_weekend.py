"""The sample sessions: there, small, repeatable, true, and with the planted story."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from lapwright.simulate.__main__ import main
from lapwright.simulate.circuit.invented import wren_hollow
from lapwright.simulate.sample_weekend import record, samples, write_weekend

KEPT = Path(__file__).parents[2] / "sample_sessions"


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("samples")
    write_weekend(folder)
    return folder


def test_kept_files_are_those_the_command_makes(fresh: Path) -> None:
    made = sorted(p.relative_to(fresh) for p in fresh.rglob("*") if p.is_file())
    assert len(made) == 12
    for name in made:
        new, kept = (fresh / name).read_text("utf-8"), (KEPT / name).read_text("utf-8")
        assert len(new) == pytest.approx(len(kept), rel=1e-3), name
        # Another version of a library may round a last digit the other way.
        lines = list(zip(new.splitlines(), kept.splitlines(), strict=False))
        assert sum(a == b for a, b in lines) > 0.98 * len(lines), name


def test_sizes(fresh: Path) -> None:
    sizes = {p.name: p.stat().st_size for p in fresh.rglob("*") if p.is_file()}
    assert max(sizes.values()) < 2_000_000
    assert sum(sizes.values()) < 8_000_000
    assert {Path(n).suffix for n in sizes} >= {".csv", ".gpx", ".nmea", ".geojson", ".toml"}


def test_notes_name_every_log(fresh: Path) -> None:
    notes = tomllib.loads((fresh / "weekend.toml").read_text())
    logs = {s.file: s for s in samples()}
    assert set(notes["logs"]) == set(logs)
    for file, note in notes["logs"].items():
        assert note["driver"] == logs[file].driver.name
        assert note["car"] == logs[file].car.name
        assert (fresh / file).exists()


def test_the_planted_story_is_in_the_truth(fresh: Path) -> None:
    friday, saturday, sunday = (
        json.loads((fresh / "truth" / f"{name}.json").read_text())
        for name in ("friday_test", "saturday_practice", "sunday_race")
    )

    def acting(truth: dict[str, list[dict[str, object]]], habit: str) -> int:
        return sum(p["habit"] == habit for p in truth["planted"])

    assert [acting(friday, h) for h in ("BrakeEarly", "SlowMinimum", "LateThrottle")] == [8, 8, 8]
    assert acting(saturday, "BrakeEarly") <= 1
    assert acting(saturday, "LateThrottle") < 4

    def median(truth: dict[str, list[dict[str, object]]]) -> float:
        times = sorted(
            float(str(lap["time_s"]))
            for lap in truth["laps"]
            if lap["kind"] == "timed" and not lap["flags"]
        )
        return times[len(times) // 2]

    assert median(saturday) < median(friday) - 0.3
    assert sunday["launch_s"] is not None
    assert sum("standing_start" in lap["flags"] for lap in sunday["laps"]) == 1


def test_same_sample_twice_is_the_same() -> None:
    sample, circuit = samples()[3], wren_hollow()
    assert record(sample, circuit).fixes.equals(record(sample, circuit).fixes)


def test_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert main(["--help"]) == 2
    assert "usage" in capsys.readouterr().err
    (tmp_path / "file").write_text("")
    assert main([str(tmp_path / "file")]) == 1
    assert "Choose a folder" in capsys.readouterr().err


def test_module_runs() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "lapwright.simulate"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "FOLDER" in done.stderr
