"""One JSON object on stdout: SI units, full precision, null where there is nothing."""

import math
from typing import Any

import numpy as np
import pandas as pd

from lapwright.cli.printing.terminal import write_out_json

SCHEMA = 1


def write_json(**members: Any) -> None:
    """Write the object of a command, and nothing else."""
    document = plain({"schema": SCHEMA, **members})
    write_out_json(document)


def plain(value: Any) -> Any:
    """
    Turn a value into what JSON has: arrays to lists, NaN to None, times to ISO 8601.

    Examples
    --------
    >>> plain({"a": np.array([1.0, np.nan]), "b": (np.int64(3), np.bool_(True))})
    {'a': [1.0, None], 'b': [3, True]}
    """
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    if value is None or value is pd.NaT:
        return None
    if isinstance(value, pd.Timestamp):
        return iso_utc(value)
    return str(value)


def iso_utc(moment: pd.Timestamp) -> str:
    """
    Write a moment in UTC to the microsecond, ending in Z.

    Examples
    --------
    >>> iso_utc(pd.Timestamp("2025-11-14T13:20:00.1234567", tz="UTC"))
    '2025-11-14T13:20:00.123456Z'
    """
    naive = moment.tz_convert("UTC").tz_localize(None) if moment.tz is not None else moment
    return f"{naive.isoformat(timespec='microseconds')}Z"
