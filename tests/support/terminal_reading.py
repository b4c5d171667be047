"""What the commands print, read back: tables of a terminal, and one JSON object."""

import csv
import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from readback_worlds import session_of

from lapwright.cli import cli
from lapwright.cli.previous import CameOfIt

_COMMANDS = ("laps", "debrief", "compare", "corners", "tracks.seen", "report", "race")


@contextmanager
def opened(name: str) -> Iterator[None]:
    """Let every command have a session that is open already; opening it has tests of its own."""
    ready = session_of(name)
    with pytest.MonkeyPatch.context() as patch:
        for command in _COMMANDS:
            patch.setattr(f"lapwright.cli.{command}.open_aloud", lambda *_, **__: ready)
        for command in ("debrief", "report"):
            patch.setattr(f"lapwright.cli.{command}.came_of_it", lambda *_: CameOfIt())
        yield


def run(name: str, units: str, command: str, *arguments: object) -> list[str]:
    """Run a command on a session, and return the lines it prints."""
    log = session_of(name).log.path
    with opened(name):
        said = CliRunner().invoke(
            cli, [command, str(log), *(str(a) for a in arguments), "--units", units]
        )
    assert said.exit_code == 0, said.output
    return said.stdout.splitlines()


def run_json(name: str, command: str, *arguments: object) -> dict[str, Any]:
    """Run a command on a session for its JSON."""
    with opened(name):
        log = session_of(name).log.path
        said = CliRunner().invoke(cli, [command, str(log), *(str(a) for a in arguments), "--json"])
    assert said.exit_code == 0, said.output
    document = json.loads(said.stdout, parse_constant=pytest.fail)
    assert isinstance(document, dict)
    return document


def table_from(lines: list[str], head: str) -> tuple[list[str], list[list[str]]]:
    """The table that begins with a head: its heads and rows, by where all of it is blank."""
    first = next(k for k, line in enumerate(lines) if line.lstrip().startswith(head))
    last = next((k for k in range(first, len(lines)) if not lines[k].strip()), len(lines))
    part = lines[first:last]
    wide = max(len(line) for line in part)
    grid = np.array([list(line.ljust(wide)) for line in part])
    blank = (grid == " ").all(axis=0)
    edges, k = [0], 0
    while k < wide - 1:
        if blank[k] and blank[k + 1]:
            while k < wide and blank[k]:
                k += 1
            edges.append(k)
        else:
            k += 1
    ends = [*edges[1:], wide]
    cells = [["".join(row[a:b]).strip() for a, b in zip(edges, ends, strict=True)] for row in grid]
    if not any(row[0] for row in cells):
        cells = [row[1:] for row in cells]
    return cells[0], cells[1:]


def same(shown: Any, true: Any) -> bool:
    """Whether a value of JSON is that of a table, to the last digit; null stands for none."""
    if isinstance(true, (list, tuple, np.ndarray)):
        return len(shown) == len(true) and all(map(same, shown, true))
    if true is None or true is pd.NaT:
        return shown is None
    if isinstance(true, (float, np.floating)):
        return shown is None if not math.isfinite(true) else shown == float(true)
    return bool(shown == true)


def rows_wrong(
    shown: list[dict[str, Any]], table: pd.DataFrame, renamed: dict[str, str] | None = None
) -> list[str]:
    """Say which values of objects are not those of the rows of a table, in order."""
    if len(shown) != len(table):
        return [f"{len(shown)} objects for {len(table)} rows"]
    out = []
    for one, row in zip(shown, table.to_dict("records"), strict=True):
        for key, value in one.items():
            name = (renamed or {}).get(key, key)
            if name in row and not same(value, row[name]):
                out.append(f"{key}: {value} for {row[name]}")
    return out


def read_csv(file: Path) -> pd.DataFrame:
    """Read a file of numbers and texts, each number as Python reads it: to the last digit."""
    with file.open(encoding="utf-8", newline="") as lines:
        heads, *rows = csv.reader(lines)
    columns = zip(*rows, strict=True) if rows else [()] * len(heads)
    return pd.DataFrame(
        {head: _column(cells) for head, cells in zip(heads, columns, strict=True)}, columns=heads
    )


def _column(cells: tuple[str, ...]) -> list[Any]:
    try:
        return [float(cell) if cell else math.nan for cell in cells]
    except ValueError:
        truth = {"True": True, "False": False}
        return [truth.get(cell, cell) for cell in cells]
