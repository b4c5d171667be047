"""
UTC, GPS time and the leap seconds between them.

All instants are whole nanoseconds in int64: a float64 count of seconds since
1970 moves in steps of 0.24 microseconds.  The leap second table lies beside this file
with its source; the operating system's is not used, for it may be older.
"""

from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NANO = 1_000_000_000
DAY_NS = 86_400 * NANO
WEEK_NS = 7 * DAY_NS
NO_TIME = int(np.iinfo(np.int64).min)
"""The mark of a missing instant."""

GPS_EPOCH_NS = 315_964_800 * NANO
"""1980-01-06T00:00 UTC, the start of GPS time (IS-GPS-200), in ns since 1970."""

TAI_MINUS_GPS_S = 19
"""Fixed since the GPS epoch, when GPS time and UTC agreed."""

ROLLOVER_WEEKS = 1024
"""The week number on the air has ten bits."""


@cache
def leap_table() -> tuple[Ints, Ints]:
    """
    Leap seconds.

    Returns
    -------
    from_ns : ndarray, shape (28,)
        Instants from which each value holds. [ns since 1970, UTC]
    tai_minus_utc_s : ndarray, shape (28,)
        TAI - UTC. [s]
    """
    text = (Path(__file__).parent / "leap_seconds.csv").read_text(encoding="utf-8")
    rows = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    days = np.array([row[0] for row in rows], "datetime64[ns]").astype(np.int64)
    return days, np.array([int(row[1]) for row in rows], np.int64)


def tai_minus_utc_s(utc_ns: Ints) -> Ints:
    """
    TAI - UTC at instants of UTC; before 1972 the first value.

    Parameters
    ----------
    utc_ns : ndarray, shape (n,)
        [ns since 1970]

    Returns
    -------
    offset_s : ndarray, shape (n,)
        [s]
    """
    from_ns, offset_s = leap_table()
    row = np.searchsorted(from_ns, np.asarray(utc_ns, np.int64), side="right") - 1
    return offset_s[np.maximum(row, 0)]


def gps_ns_to_utc_ns(gps_ns: Ints) -> Ints:
    """
    GPS time to UTC.

    Parameters
    ----------
    gps_ns : ndarray, shape (n,)
        Since the GPS epoch, counted on the GPS scale. [ns]

    Returns
    -------
    utc_ns : ndarray, shape (n,)
        An inserted leap second gets the name of the second after it, as int64
        UTC has no name of its own for it. [ns since 1970]
    """
    from_ns, offset_s = leap_table()
    starts_gps_ns = from_ns - GPS_EPOCH_NS + (offset_s - TAI_MINUS_GPS_S) * NANO
    gps_ns = np.asarray(gps_ns, np.int64)
    row = np.maximum(np.searchsorted(starts_gps_ns, gps_ns, side="right") - 1, 0)
    return gps_ns + GPS_EPOCH_NS - (offset_s[row] - TAI_MINUS_GPS_S) * NANO


def gps_to_utc(week: int, seconds_s: float) -> np.datetime64:
    """
    UTC of a full GPS week number and a time of week.

    >>> gps_to_utc(week=2000, seconds_s=0.0)
    np.datetime64('2018-05-05T23:59:42.000000000')
    """
    gps_ns = week * WEEK_NS + round(seconds_s * NANO)
    return np.datetime64(int(gps_ns_to_utc_ns(np.array([gps_ns]))[0]), "ns")


def continuous_ns(utc_ns: Ints, in_leap_second: Bools) -> Ints:
    """
    UTC as a clock that does not stand still while a leap second is inserted.

    Parameters
    ----------
    utc_ns : ndarray, shape (n,)
        A stamp 23:59:60.5 stands here as 00:00:00.5 of the next day. [ns]
    in_leap_second : ndarray, shape (n,)
        True for those stamps.

    Returns
    -------
    ns : ndarray, shape (n,)
        The same axis at the first instant; differences are true durations. [ns]
    """
    present = utc_ns != NO_TIME
    if not present.any():
        return utc_ns
    offset_s = tai_minus_utc_s(utc_ns) - in_leap_second
    first_s = offset_s[np.argmax(present)]
    return np.where(present, utc_ns + (offset_s - first_s) * NANO, NO_TIME)


def full_week(week: Ints, today_ns: int) -> tuple[Ints, bool]:
    """
    Undo the ten-bit week number: the latest week that is not in the future.

    Returns the weeks and whether anything was added.
    """
    if week.size == 0 or week.max() >= ROLLOVER_WEEKS:
        return week, False
    this_week = (today_ns - GPS_EPOCH_NS) // WEEK_NS
    turns = (this_week - int(week.max())) // ROLLOVER_WEEKS
    return week + turns * ROLLOVER_WEEKS, turns > 0
