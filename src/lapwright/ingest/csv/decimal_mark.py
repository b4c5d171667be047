"""Comma or point: which mark a file writes its decimals with."""

import re

# A time with its date and zone has 35 letters.  A pattern would try a lost quote's thousands of
# letters from each of them.
LONGEST_VALUE = 80
_NUMBER = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?")


def is_number(cell: str, decimal: str) -> bool:
    """Tell a plain number with this decimal sign."""
    if len(cell) > LONGEST_VALUE or _NUMBER.fullmatch(cell) is None:
        return False
    return decimal in cell or not ("," in cell or "." in cell)


def decimal_mark(rows: list[list[str]]) -> str:
    """Comma or point: what stands between digits in the first records."""
    points = commas = 0
    for cells in rows:
        for cell in cells:
            if len(cell) > LONGEST_VALUE:
                continue
            if re.fullmatch(r"[-+]?\d*,\d+([eE][-+]?\d+)?( ?[NSEWO])?", cell):
                commas += 1
            elif re.fullmatch(r"[-+]?\d*\.\d+([eE][-+]?\d+)?( ?[NSEWO])?", cell):
                points += 1
    return "," if commas > points else "."
