"""What cannot be used: one line that says what and what to do, exit status 1, no traceback."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from cli_runs import Files, Run

Make = Callable[[Path, Files], list[object]]


def missing(folder: Path, files: Files) -> list[object]:
    return ["laps", folder / "nothing.csv"]


def empty(folder: Path, files: Files) -> list[object]:
    (folder / "empty.csv").touch()
    return ["laps", folder / "empty.csv"]


def binary(folder: Path, files: Files) -> list[object]:
    (folder / "binary.csv").write_bytes(bytes(range(256)) * 40)
    return ["laps", folder / "binary.csv"]


def a_folder(folder: Path, files: Files) -> list[object]:
    return ["laps", folder]


def picture(folder: Path, files: Files) -> list[object]:
    # The signature and first chunk of a PNG: ISO/IEC 15948, 5.2 and 11.2.2.
    head = bytes.fromhex("89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c489")
    (folder / "photo.png").write_bytes(head + bytes(500))
    return ["laps", folder / "photo.png"]


def no_positions(folder: Path, files: Files) -> list[object]:
    (folder / "engine.csv").write_text("time,rpm\n" + "".join(f"{k},4000\n" for k in range(50)))
    return ["laps", folder / "engine.csv"]


def one_fix(folder: Path, files: Files) -> list[object]:
    lines = files.log.read_text().splitlines(keepends=True)
    (folder / "one.csv").write_text("".join(lines[:2]))
    return ["laps", folder / "one.csv"]


def no_loop(folder: Path, files: Files) -> list[object]:
    rows = [f"{k},{47.0 + 2e-4 * k:.7f},8.0\n" for k in range(400)]
    (folder / "road.csv").write_text("time (s),latitude,longitude\n" + "".join(rows))
    return ["laps", folder / "road.csv"]


def far_track(folder: Path, files: Files) -> list[object]:
    # 4.5 degrees of latitude are 500 km.
    text = files.track.read_text().replace("-42.9", "-38.4").replace("-43.0", "-38.5")
    (folder / "far.geojson").write_text(text)
    return ["laps", files.log, "--track", folder / "far.geojson"]


def broken_track(folder: Path, files: Files) -> list[object]:
    (folder / "broken.geojson").write_text(files.track.read_text()[:-40])
    return ["laps", files.log, "--track", folder / "broken.geojson"]


def track_without_line(folder: Path, files: Files) -> list[object]:
    text = files.track.read_text().replace('"start_finish"', '"something"')
    (folder / "lines.geojson").write_text(text)
    return ["laps", files.log, "--track", folder / "lines.geojson"]


def missing_track(folder: Path, files: Files) -> list[object]:
    return ["laps", files.log, "--track", folder / "none.geojson"]


def missing_library(folder: Path, files: Files) -> list[object]:
    return ["laps", files.log, "--tracks", folder / "none"]


def library_that_is_a_file(folder: Path, files: Files) -> list[object]:
    return ["laps", files.log, "--tracks", files.track]


def weekend_missing_library(folder: Path, files: Files) -> list[object]:
    (folder / "friday.csv").write_bytes(files.log.read_bytes())
    return ["weekend", folder, "--tracks", folder / "none", "--out", folder / "out"]


def no_such_lap(folder: Path, files: Files) -> list[object]:
    return ["compare", files.log, 99, "--track", files.track, "--road", "off"]


def untimed_lap(folder: Path, files: Files) -> list[object]:
    return ["compare", files.log, 5, "--track", files.track, "--road", "off"]


def unwritable(folder: Path, files: Files) -> list[object]:
    return ["track", files.log, "--out", folder / "none" / "track.geojson"]


def broken_notes(folder: Path, files: Files) -> list[object]:
    (folder / "friday.csv").write_bytes(files.log.read_bytes())
    (folder / "weekend.toml").write_text("[logs\n")
    return ["laps", folder / "friday.csv", "--track", files.track]


def weekend_without_logs(folder: Path, files: Files) -> list[object]:
    return ["weekend", folder]


def weekend_missing(folder: Path, files: Files) -> list[object]:
    return ["weekend", folder / "none"]


OVERWRITING: list[Callable[[Path, Path], list[object]]] = [
    lambda log, track: ["track", log, "--track", track, "--out", log],
    lambda log, track: ["report", log, "--track", track, "--out", log],
    lambda log, track: [
        "report", log, "--track", track, "--out", log.parent / "r.html", "--pdf", log,
    ],
    lambda log, track: ["report", log, "--track", track, "--out", track],
    lambda log, track: [
        "report", log, "--track", track, "--out", log.parent / "r.html", "--tables", log.parent,
    ],
    lambda log, track: ["weekend", log.parent, "--track", track, "--out", log.parent],
]  # fmt: skip


@pytest.mark.parametrize("arguments", OVERWRITING)
def test_what_was_read_is_never_overwritten(
    arguments: Callable[[Path, Path], list[object]], files: Files, run: Run, tmp_path: Path
) -> None:
    # A log with the name that one of the tables has.
    log, track = tmp_path / "laps.csv", tmp_path / "track.geojson"
    log.write_bytes(files.log.read_bytes())
    track.write_bytes(files.track.read_bytes())
    result = run(*arguments(log, track))
    assert result.exit_code == 1
    assert "is not overwritten" in result.stderr or "of their own" in result.stderr
    assert log.read_bytes() == files.log.read_bytes()
    assert track.read_bytes() == files.track.read_bytes()


CASES: list[tuple[Make, str]] = [
    (missing, "nothing.csv"),
    (empty, "empty"),
    (binary, "binary"),
    (a_folder, "folder"),
    (picture, "photo.png"),
    (no_positions, "engine.csv"),
    (one_fix, "one.csv"),
    (no_loop, "road.csv"),
    (far_track, "km away"),
    (broken_track, "broken.geojson"),
    (track_without_line, "start_finish"),
    (missing_track, "none.geojson"),
    (missing_library, "none: there is no such folder. Give --tracks the folder"),
    (library_that_is_a_file, "track.geojson: is not a folder. Give --tracks the folder"),
    (weekend_missing_library, "none: there is no such folder. Give --tracks the folder"),
    (no_such_lap, "there is no lap 99; the laps are 0, 1, 2, 3, 4, 5"),
    (untimed_lap, "lap 5 is not a full lap"),
    (unwritable, "there is no folder"),
    (broken_notes, "not valid TOML"),
    (weekend_without_logs, "no log in this folder"),
    (weekend_missing, "no such folder"),
]


@pytest.mark.parametrize(("make", "said"), CASES, ids=[make.__name__ for make, _ in CASES])
def test_one_line_and_status_1(
    make: Make, said: str, files: Files, run: Run, tmp_path: Path
) -> None:
    result = run(*make(tmp_path, files))
    assert result.exit_code == 1
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert lines[-1].startswith("lapwright: ")
    assert said in lines[-1]
    # A lap that is not there is only known once the session stands, and findings have been said.
    assert len(lines) == 1 or make in (no_such_lap, untimed_lap)
    # Before it stand only notes about the log; no traceback, no second line of the message.
    notes = ("odd in the log: ", "circuit: ", "track file: ")
    assert all(line.startswith(notes) for line in result.stderr.splitlines()[:-1])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["laps"], "LOG"),
        (["lapz"], "No such command"),
        (["laps", "a.csv", "--units", "furlongs"], "km/h, mph or m/s"),
        (["laps", "a.csv", "--road", "maybe"], "'on', 'off'"),
        (["compare", "a.csv", "fast"], "fast"),
        (["compare", "a.csv", "1", "--step", "0"], "0"),
        (["weekend", ".", "--workers", "0"], "0"),
    ],
)
def test_wrong_usage_is_status_2(arguments: list[str], said: str, run: Run) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in result.stderr


def test_the_module_runs_as_the_command_does(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "lapwright", "laps", str(tmp_path / "none.csv")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_help_needs_neither_numpy_nor_pandas() -> None:
    code = (
        "import sys\n"
        "from click.testing import CliRunner\n"
        "from lapwright.cli import cli\n"
        "result = CliRunner().invoke(cli, ['--help'])\n"
        "assert result.exit_code == 0 and 'debrief' in result.output\n"
        "print(sorted({'numpy', 'pandas', 'scipy', 'matplotlib', 'pyproj'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
