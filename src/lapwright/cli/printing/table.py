"""Plain tables for a terminal of 80 columns."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from lapwright.cli.printing.terminal import columns, shown
from lapwright.columns import records
from lapwright.escaping.columns_of_text import columns_of, folded, left_aligned, right_aligned

# Stands where a difference is too small to measure.
EQUAL = "="
# Blanks between columns; one where a word would have to be broken otherwise.
_APART, _LEAST_APART = 2, 1
# A column of words is not made narrower than this.
_NARROWEST = 14


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int] = ()) -> str:
    """
    Lay out a table: numbers to the right, words to the left, two blanks between columns.

    One blank where a word would have to be broken otherwise.

    Parameters
    ----------
    headers : sequence of str
    rows : sequence of sequence of str
    left : sequence of int
        The columns that hold words.

    Returns
    -------
    str
        Without blanks at the ends of lines.  A column that is empty in all rows is left out.  No
        line is wider than the terminal: long words are broken, and columns of numbers that do not
        fit stand below, behind the first column again.

    Examples
    --------
    >>> print(table(["lap", "time", "also"], [["1", "1:35.058", ""], ["12", "1:36.1", ""]]))
    lap      time
      1  1:35.058
     12    1:36.1
    """
    used = [k for k in range(len(headers)) if not rows or any(row[k] for row in rows)]
    grid = [
        [shown(row[k].replace("\n", " ").replace("\t", " ")) for k in used]
        for row in (headers, *rows)
    ]
    words = {place for place, k in enumerate(used) if k in left}
    wide = [max(columns_of(row[k]) for row in grid) for k in range(len(used))]
    apart, narrow = _APART, _narrower(wide, words, columns(), _APART)
    if _breaks_a_word(grid, narrow, words):
        apart, narrow = _LEAST_APART, _narrower(wide, words, columns(), _LEAST_APART)
    return "\n".join(_laid_out(grid, narrow, words, apart))


def _narrower(wide: list[int], words: set[int], most: int, apart: int) -> list[int]:
    """Take from the widest column of words until all fit, or none is wide any more."""
    wide = list(wide)
    while sum(wide) + apart * (len(wide) - 1) > most:
        widest = max(words, key=lambda k: wide[k], default=None)
        if widest is None or wide[widest] <= _NARROWEST:
            break
        wide[widest] -= 1
    return wide


def _breaks_a_word(grid: list[list[str]], wide: list[int], words: set[int]) -> bool:
    """Whether a column of words is narrower than a word in it."""
    return any(columns_of(one) > wide[k] for row in grid for k in words for one in row[k].split())


def _laid_out(grid: list[list[str]], wide: list[int], words: set[int], apart: int) -> list[str]:
    """Write the columns that fit beside each other; the others below, each behind the first."""
    parts: list[list[int]] = [[]]
    for k, width in enumerate(wide):
        used = sum(wide[j] + apart for j in parts[-1])
        if len(parts[-1]) > 1 and used + width > columns():
            parts.append([0])
        parts[-1].append(k)
    lines: list[str] = []
    for part in parts:
        lines += [""] if lines else []
        for row in grid:
            lines += _row([row[k] for k in part], [wide[k] for k in part],
                          [k in words for k in part], apart)  # fmt: skip
    return lines


def _row(cells: list[str], wide: list[int], words: list[bool], apart: int) -> list[str]:
    """Write one row, on more lines where a cell of words is too long for its column."""
    parts = zip(cells, wide, words, strict=True)
    broken = [folded(cell, w) if word else [cell] for cell, w, word in parts]
    lines = []
    for k in range(max(map(len, broken), default=0)):
        line = [cell[k] if k < len(cell) else "" for cell in broken]
        aligned = [
            left_aligned(cell, w) if word else right_aligned(cell, w)
            for cell, w, word in zip(line, wide, words, strict=True)
        ]
        lines.append((" " * apart).join(aligned).rstrip())
    return lines


def rows_of(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table as dictionaries by column name."""
    return records(frame)
