"""
Write a recording as CSV, in the dialect a logger might have.

The dialects are made up from what CSV files may do (RFC 4180 and its everyday
variants), not from any logger's format.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.simulate.logger.files import write_whole
from lapwright.simulate.logger.receiving import Recording

# What one metre per second is in the unit of a speed column.
SPEED_UNITS = {"m/s": 1.0, "km/h": 3.6, "mph": 1 / 0.44704, "knots": 3600 / 1852}
GPS_EPOCH = pd.Timestamp("1980-01-06T00:00:00Z")
GPS_AHEAD_S = 18.0  # since 2017, IERS Bulletin C


@dataclass(frozen=True, slots=True)
class CsvStyle:
    """
    The dialect of a CSV file.

    Attributes
    ----------
    delimiter, decimal : str
    time : {"elapsed", "utc", "local", "epoch", "time_of_day", "gps_week"}
        How a stamp is written; ``"gps_week"`` takes two columns.
    utc_offset_h : float
        For local time. [h]
    headers : dict
        Header of each column by its name in `Recording.fixes` (and ``"time"``,
        ``"gps_week"``); columns without a header are left out, the order counts.
    speed_unit : str
        See `SPEED_UNITS`.
    preamble : tuple of str
        Lines before the header.
    quoted, crlf, bom : bool
    encoding : str
    channel_every : int
        Engine channels are written on every n-th line and blank between.
    cut_last_line : bool
        The file ends in the middle of a line, as after a power cut.
    """

    delimiter: str = ","
    decimal: str = "."
    time: str = "elapsed"
    utc_offset_h: float = 0.0
    headers: tuple[tuple[str, str], ...] = (
        ("time", "time (s)"),
        ("lat_deg", "latitude"),
        ("lon_deg", "longitude"),
        ("speed_mps", "speed (km/h)"),
        ("course_deg", "course"),
    )
    speed_unit: str = "km/h"
    preamble: tuple[str, ...] = ()
    quoted: bool = False
    crlf: bool = False
    bom: bool = False
    encoding: str = "utf-8"
    channel_every: int = 1
    cut_last_line: bool = False


_DIGITS = {"lat_deg": 7, "lon_deg": 7, "speed_mps": 2, "course_deg": 1, "height_m": 1}


def write_csv(
    recording: Recording,
    path: str | Path,
    style: CsvStyle | None = None,
    start_utc: str = "2026-02-06T00:00:00Z",
) -> None:
    """
    Write a recording as CSV.

    Parameters
    ----------
    recording : Recording
    path : str or Path
    style : CsvStyle or None
        None is a plain comma-separated file.
    start_utc : str
        UTC at the begin of the run, ISO 8601.
    """
    style = style or CsvStyle()
    rows = as_written(recording)
    columns: list[list[str]] = []
    header: list[str] = []
    stamps = _stamps(rows["stamp_s"].to_numpy(), style, pd.Timestamp(start_utc))
    for name, title in style.headers:
        if name in stamps:
            columns.append(stamps[name])
        elif name in rows:
            columns.append(_numbers(recording, rows, name, style))
        else:
            continue
        header.append(title)
    quote: Callable[[str], str] = (lambda s: f'"{s}"') if style.quoted else str
    lines = list(style.preamble)
    lines.append(style.delimiter.join(map(quote, header)))
    lines += [style.delimiter.join(map(quote, row)) for row in zip(*columns, strict=True)]
    end = "\r\n" if style.crlf else "\n"
    text = end.join(lines) + end
    if style.cut_last_line:
        text = text[: -len(lines[-1]) // 2]
    encoding = "utf-8-sig" if style.bom else style.encoding
    write_whole(path, text.encode(encoding))


def as_written(recording: Recording) -> pd.DataFrame:
    """Fixes in the order of the file: some lines twice, some swapped with the next."""
    receiver = recording.receiver
    rng = np.random.default_rng([7405, recording.seed])
    order = np.arange(len(recording.fixes))
    for k in rng.choice(len(order) - 2, receiver.disorder, replace=False):
        order[[k, k + 1]] = order[[k + 1, k]]
    twice = rng.choice(len(order), receiver.duplicates, replace=False)
    order = np.repeat(order, np.bincount(twice, minlength=len(order)) + 1)
    return recording.fixes.iloc[order].reset_index(drop=True)


def _numbers(recording: Recording, rows: pd.DataFrame, name: str, style: CsvStyle) -> list[str]:
    """One column of numbers as text."""
    values = rows[name].to_numpy(dtype=float)
    if name == "speed_mps":
        values = values * SPEED_UNITS[style.speed_unit]
    digits = _DIGITS.get(name, 0 if name == "rpm" else 2)
    if name in recording.channel_names and name != "rpm":
        digits = 2 if name.endswith(("_bar", "_v")) and name != "brake_bar" else 1
    text = ["" if np.isnan(v) else f"{v:.{digits}f}" for v in values.tolist()]
    if style.decimal != ".":
        text = [t.replace(".", style.decimal) for t in text]
    if name in recording.channel_names and style.channel_every > 1:
        text = [t if k % style.channel_every == 0 else "" for k, t in enumerate(text)]
    return text


def _stamps(
    stamp_s: np.ndarray[tuple[int], np.dtype[np.float64]], style: CsvStyle, start: pd.Timestamp
) -> dict[str, list[str]]:
    """The time column, or two of them, as text."""
    decimal = style.decimal
    if style.time == "elapsed":
        return {"time": [f"{t:.3f}".replace(".", decimal) for t in stamp_s.tolist()]}
    when = start + pd.to_timedelta(np.round(stamp_s * 1e3), unit="ms")
    if style.time == "utc":
        return {"time": [f"{t:%Y-%m-%dT%H:%M:%S}.{t.microsecond // 1000:03d}Z" for t in when]}
    if style.time == "local":
        hours = int(style.utc_offset_h)
        minutes = round(abs(style.utc_offset_h - hours) * 60)
        zone = f"{hours:+03d}:{minutes:02d}"
        local = when + pd.Timedelta(hours=style.utc_offset_h)
        return {"time": [f"{t:%Y-%m-%dT%H:%M:%S}.{t.microsecond // 1000:03d}{zone}" for t in local]}
    if style.time == "time_of_day":
        local = when + pd.Timedelta(hours=style.utc_offset_h)
        return {"time": [f"{t:%H:%M:%S}.{t.microsecond // 1000:03d}" for t in local]}
    unix = start.timestamp() + stamp_s
    if style.time == "epoch":
        return {"time": [f"{t:.3f}".replace(".", decimal) for t in unix.tolist()]}
    if style.time == "gps_week":
        since = unix - GPS_EPOCH.timestamp() + GPS_AHEAD_S
        week = np.floor(since / 604800)
        text = [f"{t:.3f}".replace(".", decimal) for t in (since - week * 604800).tolist()]
        return {"gps_week": [f"{w:.0f}" for w in week.tolist()], "time": text}
    msg = f"no way to write a time as {style.time!r}"
    raise ValueError(msg)
