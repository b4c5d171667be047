"""
One column of a table, as data.

A table's description is a tuple of these.  The DataFrame, the JSON, the CSV and Parquet files, the
page's and the terminal's tables and the page of columns in the docs are built from it, so that a
column is added in one line, and a column that is computed and not described does not come about.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import pandas as pd

# Where a column can be shown: the DataFrame, `--json`, the CSV and Parquet files of a session,
# those of a weekend, those of a season alone, the coach's report (page and paper) and a notebook's
# cells, the terminal.
PLACES = ("table", "json", "files", "weekend", "season", "page", "screen")
# In a name: the number of a sector, counted from 1.
_NUMBER = "{k}"
_KINDS: dict[type, type] = {float: np.float64, int: np.int64, bool: np.bool_}


@dataclass(frozen=True, slots=True)
class Column:
    """
    One column.

    Attributes
    ----------
    name : str
        With the unit at its end; ``{k}`` stands for the number of a sector.
    unit : str
        In SI; empty where it has none.
    meaning : str
        A sentence or two, for the page of columns.
    sd : str
        The column that holds its error bar.
    no_sd : str
        Where a number has none, why: as the page of columns says it.
    decimals : int
        Digits after the point on a page, at most, in the unit that is shown there.
    shown : str
        Places, see `PLACES`, with blanks between.
    holds : type
        What a cell is.
    """

    name: str
    unit: str
    meaning: str
    sd: str = ""
    no_sd: str = ""
    decimals: int = 0
    shown: str = "table files"
    holds: type = float

    def __post_init__(self) -> None:
        wrong = set(self.shown.split()) - set(PLACES)
        if wrong:
            msg = f"{self.name}: no such place: {', '.join(sorted(wrong))}; there are {PLACES}"
            raise ValueError(msg)
        if self.sd and self.no_sd:
            msg = f"{self.name}: either it has an error bar or there is a reason why not"
            raise ValueError(msg)

    def on(self, place: str) -> bool:
        """Whether it is shown in a place."""
        return place in self.shown.split()


def bar(name: str, of: str, unit: str, shown: str = "table files", meaning: str = "") -> Column:
    """
    Describe the error bar of a column.

    Parameters
    ----------
    name, of : str
        Of the error bar, and of what it belongs to.
    unit, shown : str
        See `Column`.
    meaning : str
        What it holds, if more is to be said.

    Returns
    -------
    Column
    """
    return Column(name, unit, f"Error bar (sd) of `{of}`. {meaning}".strip(), shown=shown)


def names(columns: Sequence[Column], place: str = "table") -> list[str]:
    """Return the names of the columns shown in a place, in order."""
    return [c.name for c in columns if c.on(place)]


def arranged(table: pd.DataFrame, columns: Sequence[Column], place: str = "table") -> pd.DataFrame:
    """
    Bring a table's columns into the order of their description.

    Parameters
    ----------
    table : DataFrame
    columns : sequence of Column
    place : str
        Which of them are in the table.

    Returns
    -------
    DataFrame

    Raises
    ------
    ValueError
        If a column is described and not there, or there and not described.
    """
    described, there = names(columns, place), [str(name) for name in table]
    if set(described) != set(there):
        missing, more = set(described) - set(there), set(there) - set(described)
        msg = f"columns not computed: {sorted(missing)}; not described: {sorted(more)}"
        raise ValueError(msg)
    return table[described]


def empty(columns: Sequence[Column], place: str = "table") -> pd.DataFrame:
    """Make a table without rows: it has the columns of one with rows, of the same kinds."""
    kinds = {c.name: _KINDS.get(c.holds, object) for c in columns if c.on(place)}
    return pd.DataFrame({name: np.zeros(0, dtype=kind) for name, kind in kinds.items()})


def numbered(columns: Sequence[Column], count: int) -> tuple[Column, ...]:
    """
    Write out the columns that there are one of for each sector.

    Parameters
    ----------
    columns : sequence of Column
    count : int
        Number of sectors.

    Returns
    -------
    tuple of Column
        Those of a sector stand side by side.
    """
    return tuple(_numbered(columns, count))


def _numbered(columns: Sequence[Column], count: int) -> Iterator[Column]:
    for many, group in groupby(columns, key=lambda c: _NUMBER in c.name):
        if not many:
            yield from group
            continue
        template = list(group)
        for k in range(1, count + 1):
            for c in template:
                name, sd = (text.replace(_NUMBER, str(k)) for text in (c.name, c.sd))
                yield Column(name, c.unit, c.meaning, sd, c.no_sd, c.decimals, c.shown, c.holds)
