"""Plain tables for a terminal of 80 columns."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from lapwright.columns import records

# Stands where a difference is too small to measure.
EQUAL = "="


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int] = ()) -> str:
    """
    Lay out a table: numbers to the right, words to the left, two blanks between columns.

    Parameters
    ----------
    headers : sequence of str
    rows : sequence of sequence of str
    left : sequence of int
        The columns that hold words.

    Returns
    -------
    str
        Without blanks at the ends of lines.  A column that is empty in all rows is left out.

    Examples
    --------
    >>> print(table(["lap", "time", "also"], [["1", "1:35.058", ""], ["12", "1:36.1", ""]]))
    lap      time
      1  1:35.058
     12    1:36.1
    """
    used = [k for k in range(len(headers)) if not rows or any(row[k] for row in rows)]
    wide = [max(len(headers[k]), *(len(row[k]) for row in rows), 0) for k in used]
    lines = []
    for row in (headers, *rows):
        cells = [
            row[k].ljust(w) if k in left else row[k].rjust(w)
            for k, w in zip(used, wide, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def rows_of(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table as dictionaries by column name."""
    return records(frame)
