"""
Every command with what a hurried person does: the wrong file, no lap, an output where none can be.

A new command or a new option that takes a file is noticed here, and has to be entered.
"""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from cli_runs import Files, Run
from click.testing import Result

from lapwright.cli import COMMANDS, cli
from lapwright.outputs import PART

Say = Callable[[Path, Path], list[object]]
# What a command is given: a log, and a folder that it may write to.
GIVEN: dict[str, Say] = {
    "debrief": lambda log, out: [log],
    "laps": lambda log, out: [log],
    "compare": lambda log, out: [log, 2],
    "corners": lambda log, out: [log],
    "race": lambda log, out: [log],
    "track": lambda log, out: [log],
    "check": lambda log, out: [log],
    "align": lambda log, out: [log, log],
    "report": lambda log, out: [log, "--out", out / "r.html"],
    "captions": lambda log, out: [log, "--line-at", "3:00", "--out", out / "c.vtt"],
    "weekend": lambda log, out: [log, "--out", out / "results", "--workers", 1],
}
# What takes the name of something to be written, and how that name ends.
OUTPUTS = {
    ("track", "--out"): ".geojson", ("track", "--map"): ".svg", ("align", "--out"): ".csv",
    ("report", "--out"): ".html", ("report", "--pdf"): ".pdf", ("report", "--tables"): "",
    ("captions", "--out"): ".vtt", ("weekend", "--out"): "", ("weekend", "--report"): ".html",
    ("weekend", "--pdf"): ".pdf", ("weekend", "--season"): "",
}  # fmt: skip
INPUTS = {"--columns", "--tracks", "--track", "--other-columns", "--reference-log", "--against"}
FILES = [one for one, ending in OUTPUTS.items() if ending]
OFF = ("--repeat-line", "off")
# The commands read a log in one way: three of them each time, all of them with THOROUGH=1.
ALL = [
    pytest.param(one, marks=() if one in ("laps", "report", "weekend") else pytest.mark.thorough)
    for one in GIVEN
]


def _options(command: str) -> list[click.Option]:
    found = cli.get_command(click.Context(cli), command)
    assert found is not None
    return [one for one in found.params if isinstance(one, click.Option)]


def test_every_command_and_every_option_with_a_file_is_here() -> None:
    # `live` follows a source for as long as it sends, see tests/cli/live.
    assert set(GIVEN) == set(COMMANDS) - {"live"}
    for command in GIVEN:
        for option in _options(command):
            of_file = isinstance(option.type, click.Path) or str(option.metavar).strip(
                "["
            ).startswith(("FILE", "DIR"))
            if of_file and option.opts[0] not in INPUTS:
                assert (command, option.opts[0]) in OUTPUTS


def _one_line(result: Result, status: int = 1) -> str:
    """The one line of an error, after what was noted of the log."""
    assert result.exit_code == status, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    last = result.stderr.splitlines()[-1]
    assert last.startswith("lapwright: ")
    assert result.stderr.count("lapwright: ") == result.stderr.count("lapwright: track") + 1
    return last


def _missing(folder: Path) -> Path:
    return folder / "none.csv"


def _folder(folder: Path) -> Path:
    (folder / "a.csv").mkdir()
    return folder / "a.csv"


def _empty(folder: Path) -> Path:
    (folder / "empty.csv").touch()
    return folder / "empty.csv"


def _long(folder: Path) -> Path:
    return folder / ("x" * 300 + ".csv")


def _dangling(folder: Path) -> Path:
    (folder / "link.csv").symlink_to(folder / "nowhere")
    return folder / "link.csv"


def _loop(folder: Path) -> Path:
    (folder / "loop.csv").symlink_to(folder / "loop.csv")
    return folder / "loop.csv"


def _below_a_file(folder: Path) -> Path:
    (folder / "file").touch()
    return folder / "file" / "a.csv"


def _with_a_new_line(folder: Path) -> Path:
    return folder / "two\nlines '\".csv"


def _no_text(folder: Path) -> Path:
    return folder / os.fsdecode(b"\xff\xfe.csv")


WRONG = (
    _missing, _folder, _empty, _long, _dangling, _loop, _below_a_file, _with_a_new_line, _no_text,
)  # fmt: skip


@pytest.mark.parametrize("make", WRONG)
@pytest.mark.parametrize("command", ALL)
def test_what_is_no_log(
    command: str, make: Callable[[Path], Path], run: Run, tmp_path: Path
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    log = make(tmp_path / "in")
    before = sorted(tmp_path.rglob("*"))
    assert len(_one_line(run(command, *GIVEN[command](log, tmp_path / "out")))) < 600
    # Nothing was written, neither here nor there.
    assert sorted(tmp_path.rglob("*")) == before


def test_a_name_that_begins_with_a_dash(
    files: Files, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "-out.csv").write_bytes(files.log.read_bytes())
    assert "No such option" in run("check", "-out.csv").stderr
    assert run("check", "--", "-out.csv").exit_code == 0


NAMES = {
    "no text": os.fsdecode(b"fri\xffday.csv"), "new line": "fri\nday.csv",
    "quotes": "'fri\" $day`.csv", "markup": "<b>&amp;.csv", "long": "x" * 200 + ".csv",
}  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="names as POSIX has them")
@pytest.mark.parametrize("kind", list(NAMES))
@pytest.mark.parametrize("command", ALL)
def test_a_log_with_an_odd_name(
    command: str, kind: str, files: Files, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "in").mkdir()
    log = tmp_path / "in" / NAMES[kind]
    log.write_bytes(files.log.read_bytes())
    # Where no output is named, it has the name of the log.
    monkeypatch.chdir(tmp_path)
    given = GIVEN[command](log.parent if command == "weekend" else log, tmp_path)
    if command in ("report", "captions"):
        given = [one for k, one in enumerate(given) if "--out" not in given[max(k - 1, 0) : k + 1]]
    result = run(command, *given, "--track", files.track, *OFF)
    if kind == "no text" and command == "weekend":
        # No table can hold its name; of other logs beside it there would be.
        assert "there is no log in this folder" in _one_line(result)
    else:
        assert result.exit_code == 0, (result.output, result.exception)
    assert not list(tmp_path.rglob(f"{PART}*"))
    assert log.read_bytes() == files.log.read_bytes()


def _first(files: Files, seconds: float, log: Path) -> Path:
    """The beginning of the log."""
    head, *lines = files.log.read_text(encoding="utf-8").splitlines(keepends=True)
    log.write_text(head + "".join(lines[: int(5 * seconds)]), encoding="utf-8")
    return log


@pytest.mark.parametrize("seconds", [0.2, 3.0, 60.0, 260.0])
@pytest.mark.parametrize("command", ALL)
def test_no_lap_or_one(
    command: str, seconds: float, files: Files, run: Run, tmp_path: Path
) -> None:
    # 60 s are part of the lap out of the pits; 260 s are that lap, one timed lap and a bit.
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    log = _first(files, seconds, tmp_path / "in" / "short.csv")
    what = log.parent if command == "weekend" else log
    result = run(command, *GIVEN[command](what, tmp_path / "out"), "--track", files.track, *OFF)
    if command == "weekend" and result.exit_code == 3:
        assert "Could not be used (1)" in result.stdout
    elif result.exit_code:
        _one_line(result)
    assert not list(tmp_path.rglob(f"{PART}*"))


@pytest.mark.parametrize("lap", ["99", "-1", "0", "1.5", "", "x", "9" * 30])
@pytest.mark.parametrize("command", ["compare", "captions", "report"])
def test_a_lap_that_is_not_there(
    command: str, lap: str, files: Files, run: Run, tmp_path: Path
) -> None:
    option = {"compare": ["--", files.log, lap], "captions": [], "report": []}[command]
    if command != "compare":
        option = [*GIVEN[command](files.log, tmp_path), f"--reference={lap}"]
    result = run(command, "--track", files.track, *OFF, *option)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    if result.exit_code == 2:
        assert "Invalid value" in result.stderr
    elif result.exit_code:
        assert lap in _one_line(result)
    else:
        # The lap out of the pits has a time: it may be held against another.
        assert lap == "0"
    assert (
        not [one for one in tmp_path.rglob("*.*") if one.suffix != ".toml"] or not result.exit_code
    )


def _writing(command: str, option: str, target: Path, files: Files, work: Path) -> list[object]:
    """A whole command that writes to a target."""
    log = work / "in" / "friday.csv"
    log.parent.mkdir(exist_ok=True)
    log.write_bytes(files.log.read_bytes())
    (work / "out").mkdir(exist_ok=True)
    given = GIVEN[command](log.parent if command == "weekend" else log, work / "out")
    if option in given:
        given[given.index(option) + 1] = target
    else:
        given += [option, target]
    return [command, *given, "--track", files.track, *OFF]


def _to_the_log(log: Path, target: Path) -> None:
    target.symlink_to(log)


def _hard_to_the_log(log: Path, target: Path) -> None:
    os.link(log, target)


def _to_a_folder(log: Path, target: Path) -> None:
    target.mkdir()


def _protected(log: Path, target: Path) -> None:
    target.write_text("Lapwright 1234 precious", encoding="utf-8")
    target.chmod(0o444)


def _device(log: Path, target: Path) -> None:
    target.symlink_to("/dev/null")


@pytest.mark.skipif(os.name != "posix", reason="links and modes as POSIX has them")
@pytest.mark.parametrize("make", [_to_the_log, _hard_to_the_log, _to_a_folder, _protected, _device])
@pytest.mark.parametrize(("command", "option"), FILES)
def test_what_is_not_replaced(
    command: str, option: str, make: Callable[[Path, Path], None], files: Files, run: Run,
    tmp_path: Path,
) -> None:  # fmt: skip
    target = tmp_path / f"x{OUTPUTS[command, option]}"
    arguments = _writing(command, option, target, files, tmp_path)
    log = tmp_path / "in" / "friday.csv"
    make(log, target)
    was = target.read_bytes() if target.is_file() else b""
    # A weekend's page is refused before the work as well.
    assert str(target) in _one_line(run(*arguments))
    assert log.read_bytes() == files.log.read_bytes()
    assert (target.read_bytes() if target.is_file() else b"") == was
    assert not list(tmp_path.rglob(f"{PART}*"))


@pytest.mark.parametrize("where", ["no folder", "no right"])
@pytest.mark.parametrize(("command", "option"), FILES)
def test_where_nothing_can_be_written(
    command: str, option: str, where: str, files: Files, run: Run, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    place = tmp_path / "place"
    arguments = _writing(command, option, place / f"x{OUTPUTS[command, option]}", files, tmp_path)
    if where == "no right":
        place.mkdir()
        # Whoever runs as root may write anywhere, so the system is asked in its place.
        real = os.access
        monkeypatch.setattr(os, "access", lambda p, mode: Path(p) != place and real(p, mode))
    said = "there is no folder" if where == "no folder" else "nothing can be written to the folder"
    assert said in _one_line(run(*arguments))
    assert not place.exists() or not list(place.iterdir())


@pytest.mark.parametrize(("command", "option"), [one for one in OUTPUTS if one[1] != "--pdf"])
def test_on_a_full_disk(
    command: str, option: str, files: Files, run: Run, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    target = tmp_path / f"x{OUTPUTS[command, option]}"
    arguments = _writing(command, option, target, files, tmp_path)
    old = "old"
    if command == "captions":
        old = "Made by Lapwright"
    if OUTPUTS[command, option] and command not in ("align", "track"):
        target.write_text(old, encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    # Found out when a file is closed, as on a disk of the network.
    monkeypatch.setattr(os, "fsync", full)
    assert "No space left on device" in _one_line(run(*arguments))
    if target.is_file():
        assert target.read_text(encoding="utf-8") == old
    assert not list(tmp_path.rglob(f"{PART}*"))
    assert not [one for one in tmp_path.rglob("*") if one.is_file() and not one.stat().st_size]
