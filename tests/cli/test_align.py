"""`lapwright align`: what it says, what it writes, what it refuses."""

from dataclasses import replace
from pathlib import Path

import pytest
from cli_runs import Run, RunJson
from json_schemas import ALIGN
from jsonschema import Draft202012Validator
from two_loggers import TwoLoggers, drive, two_loggers

from lapwright import simulate as sim

HEADERS = (
    ("time", "time (s)"), ("lat_deg", "latitude"), ("lon_deg", "longitude"),
    ("speed_mps", "speed (km/h)"), ("course_deg", "course"), ("rpm", "rpm"),
    ("oil_temp_c", "oil temp (°C)"),
)  # fmt: skip


@pytest.fixture(scope="module")
def two() -> TwoLoggers:
    return two_loggers(drive(), ppm=40.0, sensors=True)


@pytest.fixture(scope="module")
def folder(two: TwoLoggers, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("two")
    sim.write_csv(two.one, out / "phone.csv")
    sim.write_csv(two.other, out / "logger.csv", sim.CsvStyle(headers=HEADERS))
    run = drive(seed=2, car=sim.SALOON)
    sim.write_csv(sim.receive(run, replace(sim.ORDINARY), 3), out / "friend.csv")
    return out


def test_json_and_the_written_log(
    two: TwoLoggers, folder: Path, run_json: RunJson, tmp_path: Path
) -> None:
    out = tmp_path / "joined.csv"
    said = run_json("align", folder / "phone.csv", folder / "logger.csv", "--out", out)
    Draft202012Validator(ALIGN).validate(said)
    assert abs(said["offset_s"] - two.true_offset_s(said["at_s"])) < 0.005
    assert said["rate"] == pytest.approx(40e-6, abs=4.0 * said["rate_sd"])
    # Neither has a date.
    assert said["clocks_apart_s"] is None
    laps = run_json("debrief", out, "--no-notes")
    assert {row["channel"] for row in laps["car"]} == {"rpm", "oil temp (°C)"}


def test_the_screen(folder: Path, run: Run) -> None:
    said = run("align", folder / "phone.csv", folder / "logger.csv")
    assert said.exit_code == 0, said.stderr
    lines = said.stdout.splitlines()
    assert lines[0].startswith("phone.csv and logger.csv: the same car, for ")
    # 3.0 s and 121.7 s after the drive began, to the next fix: 118.7 s.
    assert lines[1].startswith("The first fix of logger.csv is 1:58.")
    assert lines[1].endswith(" s into phone.csv.")
    assert "The clock of logger.csv runs 4" in lines[2]
    assert "ppm faster than that of phone.csv" in lines[2]
    other = run("align", folder / "logger.csv", folder / "phone.csv").stdout.splitlines()
    assert other[1] == lines[1]
    assert "slower" in other[2]


def test_another_car_is_one_line_and_nothing_written(
    folder: Path, run: Run, tmp_path: Path
) -> None:
    out = tmp_path / "joined.csv"
    said = run("align", folder / "phone.csv", folder / "friend.csv", "--out", out)
    assert said.exit_code == 1
    assert "friend.csv: is not of the same car at the same time as phone.csv" in said.stderr
    assert not out.exists()


def test_a_log_is_never_written_over(folder: Path, run: Run) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    for name in ("phone.csv", "logger.csv", "friend.csv"):
        said = run("align", folder / "phone.csv", folder / "logger.csv", "--out", folder / name)
        assert said.exit_code == 1
        assert "not overwritten" in said.stderr
    assert {file: file.read_bytes() for file in folder.iterdir()} == before
