"""What a command is doing: seen on a terminal, gone at the end, and nowhere else."""

import io
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from cli_runs import Files

from lapwright.cli.printing import progress
from lapwright.cli.printing.progress import Progress, logs_done

pty = pytest.importorskip("pty", reason="no pseudo-terminals on this system")

AT_ONCE = (
    "from lapwright.cli.printing import progress; progress.DELAY_S = 0.0;"
    "from lapwright.cli import main; main()"
)


class Terminal(io.StringIO):
    """A stream that says that it is a terminal."""

    def isatty(self) -> bool:
        return True


def screen(raw: str) -> list[str]:
    """What stands on a terminal in the end: a return goes back to the first column."""
    lines = [""]
    at = 0
    for mark in raw:
        if mark == "\r":
            at = 0
        elif mark == "\n":
            lines.append("")
            at = 0
        else:
            lines[-1] = lines[-1].ljust(at)[:at] + mark + lines[-1][at + 1 :]
            at += 1
    return [line.rstrip() for line in lines]


def steps(raw: str) -> list[str]:
    """What was shown to be going on, in order."""
    return re.findall(r"\r([^\r\n]*?) \.\.\.", raw)


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    stream = Terminal()
    # Not in `sys` itself: there pytest puts its own back before the test begins.
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=stream))
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "DELAY_S", 0.0)
    return stream


def test_a_step_is_shown_while_it_lasts(terminal: Terminal) -> None:
    with Progress().step("reading the log"):
        assert screen(terminal.getvalue()) == ["reading the log ..."]
    assert screen(terminal.getvalue()) == [""]


def test_the_cursor_is_back_in_the_first_column(terminal: Terminal) -> None:
    with Progress().step("reading the log"):
        pass
    terminal.write("odd in the log: a gap\n")
    assert screen(terminal.getvalue()) == ["odd in the log: a gap", ""]


def test_a_shorter_text_leaves_nothing_of_the_longer_one(terminal: Terminal) -> None:
    with Progress().step("a long text") as show:
        show("short")
        assert screen(terminal.getvalue()) == ["short ..."]


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_a_step_that_ends_badly_is_wiped_too(
    terminal: Terminal, error: type[BaseException]
) -> None:
    with pytest.raises(error), Progress().step("timing the laps"):
        raise error
    assert steps(terminal.getvalue()) == ["timing the laps"]
    assert screen(terminal.getvalue()) == [""]


def test_what_is_quick_shows_nothing(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "DELAY_S", 60.0)
    with Progress().step("timing the laps") as show:
        show("still timing them")
    assert terminal.getvalue() == ""


def test_a_step_shows_up_while_it_works(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progress, "DELAY_S", 0.05)
    with Progress().step("timing the laps"):
        until = time.monotonic() + 10.0
        while not terminal.getvalue() and time.monotonic() < until:
            time.sleep(0.01)
        assert steps(terminal.getvalue()) == ["timing the laps"]


def test_the_wait_is_counted_from_the_first_step(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progress, "DELAY_S", 0.05)
    shown = Progress()
    with shown.step("one"):
        pass
    time.sleep(0.06)
    with shown.step("two"):
        assert steps(terminal.getvalue()) == ["two"]


def test_a_program_sees_nothing_of_it(terminal: Terminal) -> None:
    with Progress(silent=True).step("timing the laps") as show:
        show("still timing them")
    assert terminal.getvalue() == ""


def test_a_terminal_that_cannot_go_back_is_left_alone(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    with Progress().step("timing the laps"):
        pass
    assert terminal.getvalue() == ""


def test_what_is_no_terminal_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=stream))
    monkeypatch.setattr(progress, "DELAY_S", 0.0)
    with Progress().step("timing the laps"):
        pass
    assert stream.getvalue() == ""


def test_a_narrow_terminal_is_not_wrapped(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progress, "_width_of", lambda _: 10)
    with Progress().step("timing the laps"):
        assert screen(terminal.getvalue()) == ["timing th"]
    assert screen(terminal.getvalue()) == [""]


@pytest.mark.parametrize(
    ("done", "total", "said"),
    [(0, 1, f"[{' ' * 24}] 0 of 1 log"), (24, 24, f"[{'#' * 24}] 24 of 24 logs")],
)
def test_logs_done(done: int, total: int, said: str) -> None:
    assert logs_done(done, total) == said


class OnTerminal:
    """A command with stdout and stderr on a pseudo-terminal."""

    def __init__(self, folder: Path, *arguments: object) -> None:
        own, theirs = pty.openpty()
        env = os.environ | {"TERM": "xterm", "XDG_CONFIG_HOME": str(folder), "COLUMNS": "80"}
        command = [sys.executable, "-c", AT_ONCE, *map(str, arguments)]
        self.process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs, env=env
        )
        os.close(theirs)
        self._own = own

    def parts(self) -> Iterator[str]:
        """What arrives, as it arrives."""
        while True:
            try:
                part = os.read(self._own, 65536)
            except OSError:
                # Linux says so when the other side is closed.
                part = b""
            if not part:
                os.close(self._own)
                self.process.wait()
                return
            # A terminal makes a return and a new line of every new line.
            yield part.decode().replace("\r\n", "\n")


def test_a_command_shows_its_steps_and_leaves_nothing(files: Files, tmp_path: Path) -> None:
    raw = "".join(OnTerminal(tmp_path, "laps", files.log, "--track", files.track).parts())
    assert steps(raw) == [progress.OPENING, progress.MOVING, progress.TIMING]
    shown = screen(raw)
    assert "..." not in "".join(shown)
    # What was found is whole, and the table begins in the first column.
    assert any(line.startswith("circuit: ") for line in shown)
    assert any(line.startswith("friday.csv: ") for line in shown)


def test_json_on_a_terminal_is_json_alone(files: Files, tmp_path: Path) -> None:
    raw = "".join(OnTerminal(tmp_path, "laps", files.log, "--track", files.track, "--json").parts())
    assert "\r" not in raw
    assert steps(raw) == []


def test_interrupted_it_leaves_a_clean_line(files: Files, tmp_path: Path) -> None:
    running = OnTerminal(tmp_path, "laps", files.log, "--track", files.track)
    raw = ""
    for part in running.parts():
        if not steps(raw) and steps(raw + part):
            running.process.send_signal(signal.SIGINT)
        raw += part
    # 128 and the number of the signal, as shells count (POSIX.1-2017, XCU 2.8.2 and its rationale).
    assert running.process.returncode == 130
    assert screen(raw)[-2:] == ["lapwright: stopped", ""]
    assert "..." not in "".join(screen(raw))


def test_a_weekend_counts_its_logs(files: Files, tmp_path: Path) -> None:
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("friday.csv", "empty.csv"):
        (folder / name).write_bytes(files.log.read_bytes() if name == "friday.csv" else b"")
    raw = "".join(
        OnTerminal(
            tmp_path, "weekend", folder, "--track", files.track, "--workers", 1,
            "--repeat-line", "off",
        ).parts()
    )  # fmt: skip
    assert [one[-13:] for one in steps(raw)] == [f"] {k} of 2 logs" for k in range(3)]
    assert "of 2 logs" not in "".join(screen(raw))


def test_piped_there_is_none_of_it(files: Files) -> None:
    command = [sys.executable, "-c", AT_ONCE, "check", str(files.log)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stderr == ""
