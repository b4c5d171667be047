"""
The columns of a delimited text: which are numbers, and the numbers themselves.

What a column holds is judged from a sample of its fields; the numbers of all columns
are then read by one call of the pandas C engine.
"""

import csv
import io
import re
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from lapwright.ingest.csv.decimal_mark import LONGEST_VALUE, is_number
from lapwright.ingest.csv.header_words import Header
from lapwright.ingest.csv.structure import Structure
from lapwright.ingest.invariants import MAX_NUMBER
from lapwright.ingest.time.scales import Bools, Floats

# Fields looked at in a column; fewer, but some, in a table of thousands of columns.
_SAMPLE, _LEAST_SAMPLE, _MOST_FIELDS = 60, 12, 60_000
_WITH_UNIT = re.compile(r"([-+]?\d+(?:[.,]\d+)?) ?([^\d\s.,;:+-][^\d]*)")


@dataclass(eq=False)
class Column:
    """
    One column: its header, what it holds, and its sample.

    `kind` is ``"number"``, ``"blank"``, ``"number and unit"`` or ``"text"``.
    """

    index: int
    header: Header
    kind: str
    decimal: str
    sample: list[str]
    numbers: Floats | None = None
    unreadable: Bools | None = None
    series: pd.Series | None = None

    @property
    def decimals(self) -> int:
        """The most digits behind the decimal sign in the sample."""
        tails = [re.search(r"[.,](\d*)$", cell) for cell in self.sample]
        return max((len(tail[1]) for tail in tails if tail), default=0)


@dataclass(eq=False)
class Table:
    """All columns of a delimited text, and where they stand in it."""

    structure: Structure
    columns: list[Column]
    delimiter: str
    encoding: str
    by_role: dict[str, Column] = field(default_factory=dict)
    spare_times: list[Column] = field(default_factory=list)
    preamble: tuple[str, ...] = ()


def sample_columns(structure: Structure, headers: tuple[Header, ...], decimal: str) -> list[Column]:
    """Judge every column from fields spread over the file."""
    count = len(structure)
    sample = min(_SAMPLE, max(_LEAST_SAMPLE, _MOST_FIELDS // structure.fields))
    rows = np.unique(np.linspace(0, count - 1, min(count, sample)).astype(int))
    out = []
    for index in range(structure.fields):
        cells = [structure.text(int(row), index) for row in rows]
        filled = [cell for cell in cells if cell]
        kind, sign = _kind(filled, decimal)
        out.append(Column(index, headers[index], kind, sign, filled))
    return out


def _kind(filled: list[str], decimal: str) -> tuple[str, str]:
    """Name what most fields of a column are, and its decimal sign."""
    if not filled:
        return "blank", decimal
    other = "," if decimal == "." else "."
    for sign in (decimal, other):
        numbers = sum(is_number(cell, sign) for cell in filled)
        if numbers >= 0.7 * len(filled):
            return "number", sign
    if sum(cell.lower() in ("nan", "null", "none", "-", "--", "n/a") for cell in filled) == len(
        filled
    ):
        return "blank", decimal
    short = [cell for cell in filled if len(cell) <= LONGEST_VALUE]
    tails = [match[2].strip() for cell in short if (match := _WITH_UNIT.fullmatch(cell))]
    if len(tails) >= 0.7 * len(filled) and len(set(tails)) == 1 and tails[0] not in "NSEWOD":
        return "number and unit", decimal
    return "text", decimal


def load_numbers(table: Table, columns: list[Column]) -> None:
    """
    Read the numbers of the given columns of whole records into `Column.numbers`.

    Fields that hold something else become NaN and are marked in
    `Column.unreadable`.  Columns that turn out to hold words get `Column.series`.
    """
    for column in columns:
        if column.kind == "blank" and table.structure.is_blank(column.index):
            column.numbers = np.broadcast_to(np.nan, len(table.structure))
    columns = [column for column in columns if column.numbers is None]
    for sign in (".", ","):
        chosen = [column for column in columns if column.decimal == sign]
        if not chosen:
            continue
        data, delimiter = table.structure.records(table.delimiter)
        frame = pd.read_csv(
            io.BytesIO(data),
            sep=delimiter,
            quoting=csv.QUOTE_NONE,
            header=None,
            names=list(range(table.structure.fields)),
            usecols=[column.index for column in chosen],
            decimal=sign,
            index_col=False,
            skipinitialspace=True,
            encoding=table.encoding,
            encoding_errors="replace",
            low_memory=False,
            skip_blank_lines=False,
        )
        for column in chosen:
            _take(column, frame[column.index])


def _take(column: Column, series: "pd.Series") -> None:
    """Turn what pandas made of a column into floats, or keep it as words."""
    if series.dtype.kind in "fiu":
        column.numbers = series.to_numpy(np.float64)
        wild = np.abs(column.numbers) > MAX_NUMBER
        if wild.any():
            column.numbers = np.where(wild, np.nan, column.numbers)
            column.unreadable = wild
        return
    if series.dtype.kind == "b":
        column.numbers = series.to_numpy().astype(np.float64)
        return
    text = series.astype("str").str.strip()
    if column.kind == "number and unit":
        text = text.str.extract(r"^([-+]?\d+(?:[.,]\d+)?)", expand=False)
    if column.decimal == ",":
        text = text.str.replace(",", ".", n=1, regex=False)
    values = pd.to_numeric(text, errors="coerce").to_numpy(np.float64, copy=True)
    given = series.notna().to_numpy() & (text.fillna("") != "").to_numpy()
    number = np.abs(values) <= MAX_NUMBER
    values[~number] = np.nan
    if column.kind == "blank" and number.sum() * 2 < given.sum():
        column.kind, column.series = "text", series
        return
    column.numbers = values
    column.unreadable = given & ~number
