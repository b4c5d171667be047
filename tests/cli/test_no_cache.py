"""A command says the same whether it found the answers or worked them out; --no-cache does that."""

from pathlib import Path

import pytest
from cli_runs import Files, Run

from lapwright.cli import COMMANDS
from lapwright.cli.options import choice_of

ON_A_LOG = {
    "laps": (), "debrief": ("--no-notes",), "compare": (2,), "corners": (), "check": (),
    "track": (),
}  # fmt: skip


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of the test's own."""
    monkeypatch.setenv("LAPWRIGHT_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def test_cold_warm_and_without_say_the_same(files: Files, cache: Path, run: Run) -> None:
    for command, more in ON_A_LOG.items():
        for form in ((), ("--json",)):
            arguments = command, files.log, *more, *form
            without = run(*arguments, "--no-cache")
            assert without.exit_code == 0, without.stderr
            kept = {f.name: f.stat().st_mtime_ns for f in cache.iterdir()} if cache.exists() else {}
            said = [run(*arguments) for _ in range(2)]
            assert [(s.stdout, s.stderr) for s in said] == [(without.stdout, without.stderr)] * 2
            # Without, nothing of it was written: the first of the commands begins with no folder.
            assert kept or command == "laps"


def test_no_cache_neither_reads_nor_writes(
    files: Files, cache: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("laps", files.log, "--no-cache").exit_code == 0
    assert not cache.exists()
    assert run("laps", files.log).exit_code == 0
    before = {file: file.read_bytes() for file in cache.iterdir()}
    assert len(before) >= 5

    def done(*_: object, **__: object) -> None:
        msg = "worked out again"
        raise RuntimeError(msg)

    monkeypatch.setattr("lapwright.session.drive.estimate_motion", done)
    assert run("laps", files.log).exit_code == 0
    assert str(run("laps", files.log, "--no-cache").exception) == "worked out again"
    assert {file: file.read_bytes() for file in cache.iterdir()} == before


def test_the_report_is_the_same(files: Files, cache: Path, run: Run, tmp_path: Path) -> None:
    pages = []
    for k, more in enumerate((["--no-cache"], [], [])):
        page = tmp_path / f"{k}.html"
        result = run("report", files.log, "--out", page, "--tables", tmp_path / f"{k}", *more)
        assert result.exit_code == 0, result.stderr
        tables = {file.name: file.read_bytes() for file in (tmp_path / f"{k}").glob("*.csv")}
        pages.append((page.read_bytes(), tables))
    assert pages[0] == pages[1] == pages[2]
    assert cache.exists()


def test_a_log_that_was_renamed_or_moved_is_still_known(
    files: Files, cache: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("laps", files.log).exit_code == 0
    assert cache.exists()
    (tmp_path / "elsewhere").mkdir()
    moved = tmp_path / "elsewhere" / "renamed.csv"
    moved.write_bytes(files.log.read_bytes())
    track = moved.with_name("track.geojson")
    track.write_bytes(files.track.read_bytes())
    monkeypatch.setattr("lapwright.session.drive.estimate_motion", None)
    shown = run("laps", moved)
    assert shown.exit_code == 0, shown.output
    assert "renamed.csv" in shown.stdout
    # A file that says something else is another circuit.
    track.write_text(track.read_text().replace("Wren Hollow", "Wren Other"))
    assert run("laps", moved).exit_code != 0


def test_every_command_has_the_option(run: Run) -> None:
    for command in COMMANDS:
        assert "--no-cache" in run(command, "--help").stdout


@pytest.mark.parametrize("off", [True, False])
def test_the_choice(off: bool) -> None:
    options = dict.fromkeys(("track", "tracks", "columns", "units", "road"))
    choice = choice_of({**options, "repeat_line": "on", "as_json": False, "no_cache": off})
    assert (choice.cache is None) is off
