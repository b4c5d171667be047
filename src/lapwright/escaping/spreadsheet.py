"""
Tables as CSV that a spreadsheet may open: no cell of text is taken for a formula.

A text cell that begins as a formula does gets an apostrophe before it, and so does one that begins
with an apostrophe: who takes one apostrophe off has the text again.  Numbers stay, with their sign.

References
----------
RFC 4180, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", 2005.
OWASP, "CSV Injection" (the characters).
"""

import re
from collections.abc import Callable

import pandas as pd

from lapwright.escaping.unseen import encodable, visible

# With the wide forms that some programs take for the same signs.
_BEGINS = re.compile("[ \u00a0]*[=+\\-@\t\n'\uff1d\uff0b\uff0d\uff20]")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def guarded(cell: str) -> str:
    r"""
    Write a cell of text so that a spreadsheet shows it and does nothing else.

    Parameters
    ----------
    cell : str

    Returns
    -------
    str
        What cannot be seen is made visible.

    Examples
    --------
    >>> guarded("=1+1"), guarded("'n"), guarded("-0.5"), guarded("+2 clicks"), guarded("dry")
    ("'=1+1", "''n", '-0.5', "'+2 clicks", 'dry')
    """
    text = visible(cell)
    is_number = _NUMBER.fullmatch(text.strip(" ")) is not None
    return f"'{text}" if _BEGINS.match(text) and not is_number else text


def csv_text(table: pd.DataFrame, date_format: str | None = None) -> str:
    """
    Write a table as CSV: comma, line feed, UTF-8 when encoded, no index.

    Parameters
    ----------
    table : DataFrame
    date_format : str, optional
        Of moments.

    Returns
    -------
    str
    """
    safe = _with_texts(table, guarded)
    safe.columns = pd.Index([guarded(str(name)) for name in safe.columns])
    return str(safe.to_csv(index=False, lineterminator="\n", date_format=date_format))


def storable(table: pd.DataFrame) -> pd.DataFrame:
    """
    Return a table whose texts Parquet can hold; nothing else in it changes.

    Parameters
    ----------
    table : DataFrame

    Returns
    -------
    DataFrame
    """
    return _with_texts(table, encodable)


def _with_texts(table: pd.DataFrame, change: Callable[[str], str]) -> pd.DataFrame:
    """Change texts; a column in which none changes is left as it is, to the last bit."""
    out = table.copy(deep=False)
    for place, dtype in enumerate(table.dtypes):
        if not (pd.api.types.is_object_dtype(dtype) or pd.api.types.is_string_dtype(dtype)):
            continue
        before = table.iloc[:, place]
        cells = [change(cell) if isinstance(cell, str) else cell for cell in before]
        if any(isinstance(old, str) and new != old for new, old in zip(cells, before, strict=True)):
            out.isetitem(place, pd.Series(cells, index=table.index, dtype=dtype))
    return out
