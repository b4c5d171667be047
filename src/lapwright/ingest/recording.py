"""
`Recording`: what a reader hands on, before anything is judged.

A reader turns the bytes of its format into columns of one length, one row a
record of the file, in file order, with nothing removed.  What is odd about them,
what to repair and what the speed's unit is, is found out in one place for all
formats (`assemble`).  A plug-in reader builds one of these and needs no more.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from lapwright.ingest.log import ColumnReading, Finding
from lapwright.ingest.time.scales import Bools, Floats, Ints

MEASURES = (
    "height_m",
    "course_deg",
    "position_sd_m",
    "speed_sd_mps",
    "hdop",
    "satellites",
)
"""Columns of a fix that a reader gives in their final unit; speed may still lack one."""

TIME_SCALES = ("utc", "local", "gps", "time_of_day", "relative")


@dataclass(eq=False)
class Recording:
    """
    The columns of a file, one row a record.

    Attributes
    ----------
    reader : str
        Name of the reader.
    line : ndarray, shape (n,)
        Line of the file each record stands on, from 1.
    time_ns : ndarray, shape (n,)
        `time_scales.NO_TIME` where a record has none.  Since 1970 in UTC where the file has
        a date, since midnight for a time of day, else on the file's own axis. [ns]
    time_scale : str
        One of `TIME_SCALES`.
    lat_deg, lon_deg : ndarray, shape (n,)
        NaN where a record has no position. [degrees, WGS 84]
    has_date : bool
        True where `time_ns` counts from 1970.
    own_clock : bool, optional
        Whether the times are of the logger's own clock instead of the receiver's; by the time scale
        where None: a relative time is the logger's own.
    no_fix : ndarray of bool, shape (n,), optional
        Records that the receiver itself calls invalid.
    speed : ndarray, shape (n,), optional
        Speed over ground in `speed_unit`; m/s, km/h, mph, knots, or None: to be found out.
    measures : dict of ndarray
        Any of `MEASURES`.
    channels : dict
        Everything else under its own name.
    channel_units, roles : dict
        As in `Log`.
    block : ndarray, shape (n,), optional
        Number of the recording (track, part) a row belongs to where the format says so.
    findings, columns : list
        As in `Log`.
    """

    reader: str
    line: Ints
    time_ns: Ints
    time_scale: str
    lat_deg: Floats
    lon_deg: Floats
    has_date: bool = False
    own_clock: bool | None = None
    no_fix: Bools | None = None
    speed: Floats | None = None
    speed_unit: str | None = None
    measures: dict[str, Floats] = field(default_factory=dict)
    channels: dict[str, pd.Series] = field(default_factory=dict)
    channel_units: dict[str, str | None] = field(default_factory=dict)
    roles: dict[str, str] = field(default_factory=dict)
    block: Ints | None = None
    findings: list[Finding] = field(default_factory=list)
    columns: list[ColumnReading] = field(default_factory=list)

    def __post_init__(self) -> None:
        if self.time_scale not in TIME_SCALES:
            msg = f"time_scale is {self.time_scale!r}; give one of {', '.join(TIME_SCALES)}"
            raise ValueError(msg)
        for name in ("time_ns", "lat_deg", "lon_deg"):
            if len(getattr(self, name)) != len(self.line):
                msg = f"{name} has {len(getattr(self, name))} rows, line has {len(self.line)}"
                raise ValueError(msg)


def line_ranges(line: Ints, most: int = 100) -> tuple[tuple[int, int], ...]:
    """
    Pack line numbers into stretches, at most `most` of them.

    >>> line_ranges(np.array([3, 4, 5, 9]))
    ((3, 5), (9, 9))
    """
    if len(line) == 0:
        return ()
    # Not `np.unique`: its table of values takes more room than a log of short lines.
    line = np.sort(line)
    line = line[np.diff(line, prepend=line[:1] - 1) != 0]
    first = np.flatnonzero(np.diff(line, prepend=line[0] - 2) > 1)
    last = np.append(first[1:] - 1, len(line) - 1)
    pairs = zip(line[first[:most]].tolist(), line[last[:most]].tolist(), strict=True)
    return tuple((int(a), int(b)) for a, b in pairs)


def finding(code: str, message: str, line: Ints | None = None) -> Finding:
    """Make a finding about the given lines (each an occurrence), or about the whole file."""
    if line is None:
        return Finding(code, message)
    return Finding(code, message, line_ranges(line), len(line))


def rough_length(duration_s: float) -> str:
    """
    Say a time in the unit that fits.

    >>> [rough_length(time_s) for time_s in (1, 90, 1800.0, 3600, 7201, 86_400.0, 259_200)]
    ['1 s', '90 s', '30 min', '1 h', '2 h', '24 h', '3 days']
    """
    for unit_s, name in ((31_557_600.0, "years"), (86_400.0, "days"), (3600.0, "h")):
        if duration_s >= 2 * unit_s:
            return f"{duration_s / unit_s:.0f} {name}"
    if duration_s == 3600.0:
        return "1 h"
    return f"{duration_s / 60:.0f} min" if duration_s >= 600.0 else f"{duration_s:.0f} s"
