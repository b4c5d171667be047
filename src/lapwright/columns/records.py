"""The rows of a table as dictionaries, column by column: much quicker than pandas' own."""

from typing import Any

import pandas as pd


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """
    Return the rows of a table as dictionaries by column name.

    Parameters
    ----------
    table : DataFrame
        With at least one column.

    Returns
    -------
    list of dict
        As ``table.to_dict("records")``: numbers are Python's own.
    """
    names = [str(name) for name in table]
    columns = [table[name].tolist() for name in table]
    return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]
