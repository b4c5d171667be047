"""
Every example on the pages prints what the page shows, and every command on them exists.

A page is followed from top to bottom, as a reader would, in a copy of the sample weekend:

- a ``console`` block holds commands behind ``$`` and below each what it prints on stdout (a command
  with nothing below it only has to succeed);
- a ``python`` block is run, all blocks of a page one after the other in one namespace; a ``text``
  block right below it is what it prints;
- in what is shown, a line ``...`` stands for any number of lines left out;
- of commands in ``sh`` blocks and in running text only the name and the options are looked at.

To write today's output into the pages, and read the change before it is kept::

    LAPWRIGHT_WRITE_EXAMPLES=1 python -m pytest -n 0 tests/test_docs_examples.py
"""

import contextlib
import difflib
import io
import os
import re
import shlex
import shutil
import textwrap
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import click
import matplotlib.pyplot as plt
import pytest
from click.testing import CliRunner

import lapwright as lw
from lapwright import settings
from lapwright.cli import cli

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_sessions"
PAGES = [ROOT / "README.md", SAMPLES / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
WRITE = os.environ.get("LAPWRIGHT_WRITE_EXAMPLES") == "1"
LEFT_OUT = "..."
# What a page calls the reader's own files, and the samples that stand in for them.
STAND_INS = {"friday.csv": "friday_test.csv", "friday_practice.csv": "friday_test.csv"}

FENCE = re.compile(
    r"^(?P<indent> *)```(?P<kind>[^\n`]*)\n(?P<body>.*?)^(?P=indent)```$", re.M | re.S
)
COMMAND = re.compile(r"(?<!import )\blapwright ([a-z]+)(?= |$)([^`#&|]*)", re.M)


@dataclass(frozen=True)
class Block:
    """A fenced block of a page: what it is, where its body is, and the body without indent."""

    kind: str
    indent: str
    start: int
    end: int
    lines: list[str]


def _blocks(text: str) -> list[Block]:
    return [
        Block(
            found["kind"],
            found["indent"],
            found.start("body"),
            found.end("body"),
            textwrap.dedent(found["body"]).splitlines(),
        )
        for found in FENCE.finditer(text)
    ]


def _tidy(printed: str) -> list[str]:
    return [line.rstrip() for line in printed.strip("\n").splitlines()]


def _fits(shown: list[str], printed: list[str]) -> bool:
    pattern = "".join(
        r"(?:.*\n)*?" if line.strip() == LEFT_OUT else re.escape(line) + r"\n" for line in shown
    )
    return re.fullmatch(pattern, "".join(f"{line}\n" for line in printed)) is not None


def _refreshed(shown: list[str], printed: list[str]) -> list[str]:
    """
    What the page ought to show: the same lines as now, as they are printed today.

    Lines are laid beside each other at the least cost; what falls on a ``...`` stays left out.
    """
    if _fits(shown, printed):
        return shown
    rows, columns = len(shown) + 1, len(printed) + 1
    # At [i][j]: the least cost of laying shown[i:] beside printed[j:], and the lines it gives.
    best: list[list[tuple[float, list[str]]]] = [[(0.0, [])] * columns for _ in range(rows)]
    for i in reversed(range(rows)):
        for j in reversed(range(columns)):
            if i == rows - 1 and j == columns - 1:
                continue
            ways = []
            left_out = i < rows - 1 and shown[i].strip() == LEFT_OUT
            if left_out:
                cost, lines = best[i + 1][j]
                ways.append((cost, [shown[i], *lines]))
            elif i < rows - 1:  # No longer printed.
                cost, lines = best[i + 1][j]
                ways.append((cost + 0.6, lines))
            if j < columns - 1:
                cost, lines = best[i][j + 1]  # New, or left out as before.
                ways.append((cost, lines) if left_out else (cost + 0.6, [printed[j], *lines]))
            if j < columns - 1 and i < rows - 1 and not left_out:
                cost, lines = best[i + 1][j + 1]
                alike = difflib.SequenceMatcher(None, shown[i], printed[j], autojunk=False).ratio()
                ways.append((cost + 1.0 - alike, [printed[j], *lines]))
            best[i][j] = min(ways, key=lambda way: way[0])
    return best[0][0][1]


def _run_command(command: str) -> list[str]:
    program, *arguments = shlex.split(command)
    if program == "cd":  # All of it lies in one folder here.
        return []
    assert program == "lapwright", command
    result = CliRunner().invoke(cli, arguments)
    assert result.exit_code == 0, f"{command}: {result.stderr}"
    return _tidy(result.stdout)


def _run_python(lines: list[str], names: dict[str, Any]) -> list[str]:
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec("\n".join(lines), names)
    plt.close("all")
    return _tidy(printed.getvalue())


def _console_now(lines: list[str]) -> list[str]:
    """Run a block's commands: the block as it ought to be."""
    at = [i for i, line in enumerate(lines) if line.startswith("$ ")]
    assert at[:1] == [0], f"a console block begins with '$ ': {lines[0]}"
    now = []
    for start, end in pairwise([*at, len(lines)]):
        shown = lines[start + 1 : end]
        printed = _run_command(lines[start].removeprefix("$ "))
        now += [lines[start], *(_refreshed(shown, printed) if shown else [])]
    return now


def _page_now(text: str) -> str:
    """Follow a page in the current folder: its text as it ought to be."""
    names: dict[str, Any] = {"__name__": "__main__"}
    printed: list[str] | None = None
    before, pieces, done = None, [], 0
    for block in _blocks(text):
        now = block.lines
        if block.kind == "console":
            now = _console_now(block.lines)
        elif block.kind == "python":
            printed = _run_python(block.lines, names)
        elif _is_output(text, before, block):
            assert printed is not None
            now = _refreshed(block.lines, printed)
        if now != block.lines:
            body = textwrap.indent("".join(f"{line}\n" for line in now), block.indent)
            pieces += [text[done : block.start], body]
            done = block.end
        before = block
    return "".join([*pieces, text[done:]])


def _is_output(text: str, before: Block | None, block: Block) -> bool:
    if before is None or (before.kind, block.kind) != ("python", "text"):
        return False
    return re.fullmatch(r"\s*```\s*```text\n", text[before.end : block.start]) is not None


@pytest.fixture
def in_a_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a copy of the sample weekend that has another in `sample_sessions`."""
    folder = tmp_path / "weekend"
    shutil.copytree(SAMPLES, folder, ignore=shutil.ignore_patterns("truth"))
    shutil.copytree(folder, folder.parent / "again")
    (folder.parent / "again").rename(folder / "sample_sessions")
    for name, sample in STAND_INS.items():
        shutil.copyfile(SAMPLES / sample, folder / name)
    monkeypatch.chdir(folder)
    own = tmp_path / "config" / "lapwright.toml"
    monkeypatch.setattr(settings, "user_file", lambda: own)
    monkeypatch.setattr("lapwright.cli.printing.say.user_file", lambda: own)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    # A reader's terminal is not ours.
    monkeypatch.delenv("COLUMNS", raising=False)
    return folder


def _page_id(page: Path) -> str:
    return page.relative_to(ROOT).as_posix()


def _runs(page: Path) -> bool:
    return any(b.kind in ("console", "python") for b in _blocks(page.read_text(encoding="utf-8")))


@pytest.mark.slow
@pytest.mark.usefixtures("in_a_copy", "cached")
@pytest.mark.parametrize("page", [p for p in PAGES if _runs(p)], ids=_page_id)
def test_a_page_shows_what_is_printed(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    now = _page_now(text)
    if WRITE and now != text:
        page.write_text(now, encoding="utf-8", newline="\n")
        text = now
    assert now.splitlines() == text.splitlines()


@pytest.mark.slow
@pytest.mark.usefixtures("cached")
def test_the_braking_points_named_on_a_page_are_those_of_the_log() -> None:
    session = lw.Session(
        lw.read_log(SAMPLES / "friday_test.csv"), lw.read_track(SAMPLES / "wren_hollow.geojson")
    )
    clean = session.laps.loc[session.laps["representative"], "lap"]
    passes = session.passes
    at_gatehouse = passes[(passes["corner"] == 1) & passes["lap"].isin(clean)]
    braked_m = at_gatehouse["brake_to_corner_m"].round().astype(int)
    late_m, early_m = braked_m[braked_m < 120], braked_m[braked_m > 120]
    text = (ROOT / "docs" / "how-to-read-report.md").read_text(encoding="utf-8")
    assert f"against {at_gatehouse['brake_to_corner_m'].median():.0f} m, on three laps" in text
    assert (
        f"Four clean laps braked at {late_m.min()} to {late_m.max()} m, "
        f"seven at {early_m.min()} to {early_m.max()} m" in text
    )
    assert (len(late_m), len(early_m)) == (4, 7)


def test_examples_are_found() -> None:
    # Counted by hand on the pages, so that none is lost by a fence of another kind.
    kinds = [b.kind for p in PAGES for b in _blocks(p.read_text(encoding="utf-8"))]
    assert (kinds.count("console"), kinds.count("python")) == (22, 16)
    # A block without a kind would be looked at by nobody.
    assert "" not in kinds


@pytest.mark.parametrize("page", PAGES, ids=_page_id)
def test_every_command_on_a_page_exists(page: Path) -> None:
    context = click.Context(cli)
    for name, rest in COMMAND.findall(page.read_text(encoding="utf-8")):
        command = cli.get_command(context, name)
        assert command is not None, f"lapwright {name}"
        known = {o for p in command.params for o in (*p.opts, *p.secondary_opts)}
        unknown = {w for w in rest.split() if w.startswith("--")} - known - {"--help"}
        assert unknown == set(), f"lapwright {name}"


PRINTED = ["lap  time", "1  95.2", "2  95.9", "3  96.1", "", "Best: lap 1, 95.2 s"]


@pytest.mark.parametrize(
    ("shown", "now"),
    [
        (PRINTED, PRINTED),
        ([*PRINTED[:2], "...", PRINTED[-1]], [*PRINTED[:2], "...", PRINTED[-1]]),
        # One digit off; a line reworded; a line gone; two lines missing; a line that is no more.
        (["lap  time", "1  95.3", "...", PRINTED[-1]], [*PRINTED[:2], "...", PRINTED[-1]]),
        ([*PRINTED[:2], "...", "The best: 1, 95.2 s"], [*PRINTED[:2], "...", PRINTED[-1]]),
        ([PRINTED[0], *PRINTED[2:]], PRINTED),
        ([PRINTED[0], *PRINTED[3:]], PRINTED),
        ([*PRINTED[:3], "2  95.9 once more", *PRINTED[3:]], PRINTED),
    ],
)
def test_what_is_shown_is_brought_up_to_date(shown: list[str], now: list[str]) -> None:
    assert _refreshed(shown, PRINTED) == now
    assert _fits(shown, PRINTED) == (shown == now)
