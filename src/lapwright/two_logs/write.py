"""A log as a CSV file that Lapwright reads again; never in place of a file that is there."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.errors import OutputError
from lapwright.escaping.spreadsheet import csv_text
from lapwright.ingest.csv.header_words import read_header
from lapwright.ingest.log import Log
from lapwright.outputs import check_ending, whole_file

# Column of the fixes: header and digits.  A millionth of a second and a centimetre are kept.
_FIXES = {
    "lat_deg": ("latitude [deg]", 9), "lon_deg": ("longitude [deg]", 9),
    "height_m": ("height [m]", 2), "speed_mps": ("speed [m/s]", 4),
    "course_deg": ("course [deg]", 3), "hdop": ("hdop", 2), "satellites": ("satellites", 0),
}  # fmt: skip
_OWN = ("line", "time_s")


@checked
def write_log(log: Log, path: str | Path) -> Path:
    """
    Write a log's fixes and channels as one CSV file.

    Parameters
    ----------
    log : Log
        Such as one with the channels of another, see `with_channels_of`.
    path : str or Path
        Must end with ``.csv`` and not be there yet: a log is never written over.  Written whole, or
        not at all.

    Returns
    -------
    Path
        The file.  A log with a date is written in UTC, another in seconds from its first fix.

    Raises
    ------
    OutputError
        If the file is there already, or cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> with TemporaryDirectory() as folder:
    ...     again = lw.read_log(lw.write_log(log, Path(folder, "copy.csv")))
    >>> len(again.fixes) == len(log.fixes), again.start_utc == log.start_utc
    (True, True)
    """
    target = Path(path)
    check_free(target)
    text = csv_text(_table(log))
    with whole_file(target) as part:
        part.write_text(text, encoding="utf-8")
    return target


def check_free(target: Path | None) -> None:
    """
    Refuse a name that does not end with ``.csv``, or that a file has already.

    Parameters
    ----------
    target : Path or None
        None is passed over.

    Raises
    ------
    OutputError
        If so: it may be a log.
    """
    check_ending(target, (".csv",))
    if target is not None and target.exists():
        what = "is there already and is not overwritten, for it may be a log"
        raise OutputError(what, target, hint="Choose another name")


def _table(log: Log) -> pd.DataFrame:
    """All columns as text, one row a moment; blank where a moment has none of a column."""
    shown = {name: said for name, said in _FIXES.items() if name in log.fixes}
    fixes = (
        log.fixes[["time_s", *shown]].set_index(log.fixes["time_s"].round(6)).drop(columns="time_s")
    )
    names = [str(name) for name in log.channels if name not in _OWN]
    moments = log.channels["time_s"].round(6) if names else pd.Series(dtype=np.float64)
    # Several lines of one moment become one; of a column the first value counts.
    channels = log.channels[names].groupby(moments.to_numpy()).first() if names else None
    whole = fixes if channels is None else fixes.join(channels, how="outer", sort=True)
    out: dict[str, Any] = {
        "utc" if log.start_utc is not None else "time [s]": _times(log, whole.index)
    }
    for name, (header, digits) in shown.items():
        out[header] = _text(whole[name], digits)
    for name in names:
        unit = log.channel_units.get(name)
        # Only where the name alone would not be read as being in that unit.
        out[f"{name} [{unit}]" if unit and read_header(name).unit != unit else name] = whole[name]
    return pd.DataFrame(out)


def _times(log: Log, time_s: "pd.Index[float]") -> "pd.Index[str] | list[str]":
    if log.start_utc is None:
        return [f"{t:.6f}" for t in time_s]
    moments = log.start_utc + pd.to_timedelta((time_s.to_numpy() * 1e6).round(), unit="us")
    return pd.DatetimeIndex(moments).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _text(values: pd.Series, digits: int) -> list[str]:
    return ["" if np.isnan(v) else f"{v:.{digits}f}" for v in values.to_numpy(np.float64)]
