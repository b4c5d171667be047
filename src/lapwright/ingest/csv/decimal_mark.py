"""Comma or point: which mark a file writes its decimals with."""

import re

_NUMBER = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?")


def is_number(cell: str, decimal: str) -> bool:
    """Tell a plain number with this decimal sign."""
    if _NUMBER.fullmatch(cell) is None:
        return False
    return decimal in cell or not ("," in cell or "." in cell)


def decimal_mark(rows: list[list[str]]) -> str:
    """Comma or point: what stands between digits in the first records."""
    points = commas = 0
    for cells in rows:
        for cell in cells:
            if re.fullmatch(r"[-+]?\d*,\d+([eE][-+]?\d+)?( ?[NSEWO])?", cell):
                commas += 1
            elif re.fullmatch(r"[-+]?\d*\.\d+([eE][-+]?\d+)?( ?[NSEWO])?", cell):
                points += 1
    return "," if commas > points else "."
