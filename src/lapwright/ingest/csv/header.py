"""
The head of a delimited text: delimiter, decimal sign, header, units row, first data line.

Only the first lines are looked at, as Python text; the body is never read this way.
"""

import csv
import re
from dataclasses import dataclass
from functools import lru_cache

from lapwright.ingest.csv.decimal_mark import LONGEST_VALUE, decimal_mark
from lapwright.ingest.csv.header_words import Header, read_header, unit_of, with_unit

_DELIMITERS = (";", "\t", ",", "|")
_HEAD_BYTES = 65536
_HEAD_LINES, _FEW_LINES = 200, 30
_VALUE = re.compile(
    r"[-+]?[\d.,]+([eE][-+]?\d+)?( ?[a-zA-Z/%°]{1,4})?|"
    r"[NSEWO]? ?[-+]?\d[\d °º'′\"″.,]*[NSEWO]?|[\d:./T Z+-]*\d[\d:./T Z+-]*( ?[AaPp]\.?[Mm]\.?)?"
)


@dataclass(frozen=True, eq=False)
class Head:
    """
    The head of a delimited text.

    Attributes
    ----------
    delimiter, decimal : str
        One character each.
    headers : tuple of Header
        Empty where the file has no header line.
    header_line : int
        Its line number; 0 where there is none.
    data_offset, data_line : int
        Byte offset and number of the first line that may be a record.
    encoding : str
        ``"utf-8"``, or one of what was written before it.
    preamble : tuple of str
        Cells of the lines before the header.
    """

    delimiter: str
    decimal: str
    headers: tuple[Header, ...]
    header_line: int
    data_offset: int
    data_line: int
    encoding: str
    preamble: tuple[str, ...] = ()


# Thousands of cells may be alike, and each is looked at many times.
@lru_cache(maxsize=4096)
def is_value(cell: str) -> bool:
    """Tell a number, a time or a coordinate from a word; a blank is neither."""
    if not 0 < len(cell) <= LONGEST_VALUE or _VALUE.fullmatch(cell) is None:
        return False
    return any(c.isdigit() for c in cell)


def read_head(data: bytes, delimiter: str = "", has_header: bool | None = None) -> Head:
    """
    Find the head.

    Parameters
    ----------
    data : bytes
        The file, lines ending in a line feed.
    delimiter : str
        Given by a column map, else found.
    has_header : bool, optional
        Given by a column map, else found.
    """
    raw = data[:_HEAD_BYTES].split(b"\n")
    if len(data) > _HEAD_BYTES:
        raw = raw[:-1]
    found = [_head(raw, delimiter, has_header, encoding) for encoding in _encodings(data)]
    # The first of those under which most headers are understood.
    return max(found, key=lambda head: len({column.role for column in head.headers} - {None}))


def _head(raw: list[bytes], delimiter: str, has_header: bool | None, encoding: str) -> Head:
    """Find the head in one encoding."""
    lines = [line.decode(encoding, "replace").rstrip("\r") for line in raw[:_HEAD_LINES]]
    for count in (_FEW_LINES, _HEAD_LINES):
        best = _best_head(lines[:count], raw, delimiter, has_header, encoding)
        if best is not None and best[0][0]:
            break
    return best[1] if best is not None else _no_records(lines, raw, delimiter, encoding)


def _best_head(
    lines: list[str], raw: list[bytes], delimiter: str, has_header: bool | None, encoding: str
) -> tuple[tuple[float, ...], Head] | None:
    """Try the delimiters; the one under which most is understood wins."""
    best: tuple[tuple[float, ...], Head] | None = None
    for candidate in (delimiter,) if delimiter else _DELIMITERS:
        table = [_split(line, candidate) for line in lines]
        first, score = _first_data_row(table)
        if first is None:
            continue
        headers, header_row = _header_above(table, first, has_header)
        roles = {head.role for head in headers} - {None}
        both = {"latitude", "longitude"} <= roles
        found = Head(
            candidate,
            decimal_mark(table[first : first + 50]),
            headers,
            header_row + 1 if header_row >= 0 else 0,
            sum(len(line) + 1 for line in raw[:first]),
            first + 1,
            encoding,
            tuple(cell for row in table[: max(header_row, 0)] for cell in row if cell),
        )
        rank = (float(both), float(min(len(roles), 3)), score)
        if best is None or rank > best[0]:
            best = rank, found
    return best


def _no_records(lines: list[str], raw: list[bytes], delimiter: str, encoding: str) -> Head:
    """Take the first filled line for the header where nothing looks like a record."""
    sign = delimiter or max(_DELIMITERS, key=lambda mark: sum(line.count(mark) for line in lines))
    first = next((row for row, line in enumerate(lines) if line.strip()), 0)
    headers = tuple(read_header(cell) for cell in _split(lines[first], sign)) if lines else ()
    offset = sum(len(line) + 1 for line in raw[: first + 1])
    return Head(sign, ".", headers, first + 1, offset, first + 2, encoding)


def _encodings(data: bytes) -> tuple[str, ...]:
    """
    UTF-8 where it is that; else what the machines of Europe wrote before it.

    The first, in which every byte is a letter, is the one where nothing tells them apart.
    """
    if data.isascii():
        return ("utf-8",)
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return ("latin-1", "cp1250", "iso8859_2", "cp1254")
    return ("utf-8",)


def _split(line: str, delimiter: str) -> list[str]:
    """Split one line, quotes respected, without outer blanks."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    rows = list(csv.reader([line.replace("\r", " ")], delimiter=delimiter, skipinitialspace=True))
    return [cell.strip() for cell in rows[0]] if rows else [""]


def _first_data_row(table: list[list[str]]) -> tuple[int | None, float]:
    """
    Find the first of the rows that look like records.

    They are mostly values and as wide as the commonest row of that kind.
    Also says how sure: share of the later rows that look the same, times their values (a
    decimal comma taken for the delimiter gives more fields, but few that are values).
    """
    shapes = [_shape(cells) for cells in table]
    widths = [width for width, values in shapes if values >= 2 and values * 2 >= _filled(width)]
    if not widths:
        return None, 0.0
    usual = max(set(widths), key=lambda width: (widths.count(width), width))
    fits = [
        width == usual and values >= 2 and values * 2 >= _filled(width) for width, values in shapes
    ]
    named = _naming_row(table)
    first = fits.index(True, named + 1) if True in fits[named + 1 :] else fits.index(True)
    following = fits[first:]
    values = [shape[1] for shape, fit in zip(shapes[first:], following, strict=True) if fit]
    filled = sum(values) / len(values)
    return first, sum(following) / len(following) * min(filled, 30)


def _naming_row(table: list[list[str]]) -> int:
    """
    Find the first row of words that names a latitude and a longitude; -1 where none does.

    What stands above it is no record, however many numbers a line of the preamble holds.
    """
    for row, cells in enumerate(table):
        words = [cell for cell in cells if cell]
        if len(words) < 3 or any(is_value(cell) for cell in words):
            continue
        if {"latitude", "longitude"} <= {read_header(cell).role for cell in words}:
            return row
    return -1


def _shape(cells: list[str]) -> tuple[int, int]:
    """
    Count the fields of a row and those that are values; blanks count half.

    One value alone is a line of the preamble, filled up with blanks by a spreadsheet.
    """
    values = sum(is_value(cell) for cell in cells)
    blanks = sum(not cell for cell in cells)
    return len(cells), values + blanks // 2 if values >= 2 else 0


def _filled(width: int) -> int:
    """How many fields of a row are asked to be values (twice)."""
    return max(width - 1, 2)


def _header_above(
    table: list[list[str]], first: int, has_header: bool | None
) -> tuple[tuple[Header, ...], int]:
    """Read the header, and the units row between it and the data."""
    if has_header is False:
        return (), -1
    width = len(table[first])
    rows = [
        row
        for row in range(first - 1, -1, -1)
        if len(table[row]) >= 2 and len(table[row]) >= width - max(2, width // 3)
    ][:4]
    best_row, best_count = -1, 0
    for row in rows:
        known = sum(read_header(cell).role is not None for cell in table[row] if cell)
        if known > best_count:
            best_row, best_count = row, known
    if best_row < 0:
        words = [row for row in rows if sum(not is_value(c) for c in table[row]) * 2 > width]
        if not words:
            return (), -1
        best_row = words[-1] if _is_units(table[words[0]]) and len(words) > 1 else words[0]
    headers = [read_header(cell) for cell in table[best_row]]
    for row in range(best_row + 1, first):
        cells = table[row]
        if _is_units(cells):
            for column, cell in enumerate(cells[: len(headers)]):
                unit = unit_of(cell)
                if unit and headers[column].unit is None:
                    headers[column] = with_unit(headers[column], unit)
    return tuple(headers), best_row


def _is_units(cells: list[str]) -> bool:
    """Tell a row of units: at least half of what is filled is a unit."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and sum(unit_of(cell) is not None for cell in filled) * 2 >= len(filled)
