"""
What holds for every `Log`, whoever read it, and the one function that looks.

The rooms behind rely on it: an infinite speed, a time that stands still or a log of centuries would
come out there as a wrong lap or as no memory left.  What a file has of that is taken out, with a
finding, before a `Log` is made; `check_log` never speaks of a reader of ours.

==================  ===========================================================================
`fixes`             index 0 to n-1, n at least 2; `line`, `time_s`, `lat_deg`, `lon_deg`,
                    `frozen` always there, and no column but those of `Log`
`line`              int64, from 1
`time_s`            float64, finite, 0.0 first, strictly increasing, at most `MAX_SPAN_S`
`lat_deg`           float64, finite, -90 to 90
`lon_deg`           float64, finite, from -180 to below 180
both                no further apart than `MAX_EXTENT_M`, to the north and to the east
`frozen`            bool
the others          float64, NaN or within `RANGES`
`channels`          index 0 to n-1; `line` (int64, from 1) and `time_s` first (float64, finite,
                    never falling, within the fixes and `MAX_SPAN_S` around them); no name twice;
                    numbers are NaN or at most `MAX_NUMBER`
`channel_units`     names channels, and all of them
`roles`             leads to channels
`rate_hz`           the inverse of the median step, at most `MAX_RATE_HZ`
`first_fix_s`       finite
`start_utc`         None, or an instant of UTC
`findings`          each a `Finding` whose lines count from 1
`columns`           each a `ColumnReading`, filled from 0 to 1
==================  ===========================================================================
"""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from lapwright.errors import LogError
from lapwright.ingest.log import ColumnReading, Finding, Log
from lapwright.ingest.oddities import METRES_PER_DEGREE, rough_metres
from lapwright.ingest.recording import TIME_SCALES
from lapwright.ingest.time.scales import Floats

# A race week: nothing longer is one event (common practice, no source).
MAX_SPAN_S = 7 * 86_400.0
# Public roads closed for a race are up to 60 km around, so at most 30 km across; the way to the
# circuit may be logged too (common practice, no source).
MAX_EXTENT_M = 200_000.0
# Receivers for cars measure up to 100 times a second, and loggers interpolate to some hundred
# (common practice, no source).  Above it the unit of the time is another.
MAX_RATE_HZ = 2000.0
# A car on a circuit stays well below 150 m/s (common practice, no source); beyond 200 it is no car.
MAX_SPEED_MPS = 200.0
# No sensor's number is larger, and squares of these can still be had.
MAX_NUMBER = 1e30
RANGES = {
    "speed_mps": (0.0, MAX_SPEED_MPS),
    "course_deg": (0.0, 360.0),
    # The lowest shore is at -430 m and no road is above 6000 m; a receiver may be off by hundreds.
    "height_m": (-2000.0, 12_000.0),
    # Beyond these a receiver knows nothing (common practice, no source).
    "position_sd_m": (0.0, 10_000.0),
    "speed_sd_mps": (0.0, 1000.0),
    "hdop": (0.0, 1000.0),
    "satellites": (0.0, 1000.0),
}
"""Least and most of each measure of a fix, in its own unit."""

_ALWAYS = {
    "line": np.dtype(np.int64),
    "time_s": np.dtype(np.float64),
    "lat_deg": np.dtype(np.float64),
    "lon_deg": np.dtype(np.float64),
    "frozen": np.dtype(np.bool_),
}


class BrokenLogError(LogError):
    """A reader made a `Log` that breaks an invariant: a mistake of the reader, not of the racer."""


def check_log(log: Log) -> Log:
    """
    Let a log through if all that holds for every `Log` holds for it.

    Parameters
    ----------
    log : Log

    Returns
    -------
    Log
        The same.

    Raises
    ------
    BrokenLogError
        If it does not; the message names the reader and what is wrong.
    """
    wrong = broken_invariants(log)
    if wrong:
        what = f"the reader {log.reader!r} made a log that cannot be right: {'; '.join(wrong[:3])}"
        raise BrokenLogError(what, log.path, hint="Tell the makers of that reader")
    return log


def broken_invariants(log: Log) -> tuple[str, ...]:
    """
    Say what is wrong with a log; nothing where all is well.

    Parameters
    ----------
    log : Log

    Returns
    -------
    tuple of str
        One for each invariant that is broken, without a full stop.

    Examples
    --------
    >>> import lapwright as lw
    >>> broken_invariants(lw.read_log("sample_sessions/saturday_qualifying.gpx"))
    ()
    """
    return (*_columns_of_fixes(log.fixes), *_channels(log), *_about(log))


def _columns_of_fixes(fixes: pd.DataFrame) -> Iterator[str]:
    """Look at the table of fixes: its columns first, as the rest needs them."""
    missing = [name for name in _ALWAYS if name not in fixes]
    unknown = [str(name) for name in fixes.columns if name not in _ALWAYS and name not in RANGES]
    if missing or unknown or not fixes.columns.is_unique:
        yield f"fixes lack {missing} and have {unknown} too many, or a column twice"
        return
    wanted = {name: _ALWAYS.get(str(name), np.dtype(np.float64)) for name in fixes.columns}
    dtypes = [str(name) for name in fixes.columns if fixes[name].dtype != wanted[name]]
    if dtypes:
        yield f"fixes are of the wrong type in {', '.join(dtypes)}"
        return
    if not _counts_from_zero(fixes):
        yield "the index of the fixes does not count from 0"
    if len(fixes) < 2:
        yield "there are fewer than two fixes"
        return
    yield from _time_of_fixes(fixes["time_s"].to_numpy())
    yield from _places(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())
    if fixes["line"].to_numpy().min() < 1:
        yield "a fix stands on a line before the first"
    for name, (low, high) in RANGES.items():
        if name in fixes:
            yield from _within(name, fixes[name].to_numpy(), low, high)


def _time_of_fixes(time_s: Floats) -> Iterator[str]:
    """Look at the times of the fixes."""
    if not np.isfinite(time_s).all():
        yield "a fix has no time"
        return
    if time_s[0] != 0.0:
        yield f"the first fix is at {time_s[0]:g} s instead of 0"
    if not (time_s[1:] > time_s[:-1]).all():
        yield "the times of the fixes do not always increase"
    if time_s[-1] > MAX_SPAN_S:
        yield f"the fixes span {time_s[-1] / 86_400:.3g} days"


def _places(lat_deg: Floats, lon_deg: Floats) -> Iterator[str]:
    """Look at the positions."""
    if not (np.isfinite(lat_deg).all() and np.isfinite(lon_deg).all()):
        yield "a fix has no position"
        return
    if lat_deg.min() < -90 or lat_deg.max() > 90 or lon_deg.min() < -180 or lon_deg.max() >= 180:
        yield "a position is not on the globe"
        return
    if max(np.ptp(lat_deg), np.ptp(lon_deg)) * METRES_PER_DEGREE <= MAX_EXTENT_M:
        return
    extent_m = float(np.ptp(rough_metres(lat_deg, lon_deg), axis=0).max())
    if extent_m > MAX_EXTENT_M:
        yield f"the positions are {extent_m / 1000:.0f} km apart"


def _within(name: str, value: Floats, low: float, high: float) -> Iterator[str]:
    """Look at one measure of the fixes; NaN is none, and neither above nor below anything."""
    least, most = np.fmin.reduce(value), np.fmax.reduce(value)
    if name == "course_deg" and most == high:
        yield f"{name} is {high:g}"
    elif least < low or most > high:
        yield f"{name} is {least if least < low else most:g}"


def _channels(log: Log) -> Iterator[str]:
    """Look at the channels."""
    table = log.channels
    if list(table.columns[:2]) != ["line", "time_s"] or not table.columns.is_unique:
        yield "channels do not begin with line and time_s, or one is there twice"
        return
    if table["line"].dtype != np.int64 or table["time_s"].dtype != np.float64:
        yield "line or time_s of the channels are of the wrong type"
        return
    if not _counts_from_zero(table):
        yield "the index of the channels does not count from 0"
    names = {str(name) for name in table.columns[2:]}
    if set(log.channel_units) != names:
        yield "channel_units does not name the channels"
    if not set(log.roles.values()) <= names:
        yield "a role leads to a channel that is not there"
    if len(table) == 0:
        return
    line, time_s = table["line"].to_numpy(), table["time_s"].to_numpy()
    if line.min() < 1:
        yield "a channel stands on a line before the first"
    if not np.isfinite(time_s).all() or not (time_s[1:] >= time_s[:-1]).all():
        yield "the times of the channels fall, or are missing"
    elif max(-time_s[0], time_s[-1]) > 2 * MAX_SPAN_S:
        yield "the channels are long before or after the fixes"
    for name, series in table.items():
        if series.dtype.kind != "f":
            continue
        # Reduced without a table of their sizes in between: this looks at every number of a log.
        value = series.to_numpy()
        if np.fmax.reduce(value) > MAX_NUMBER or np.fmin.reduce(value) < -MAX_NUMBER:
            yield f"the channel {name!r} is infinite somewhere, or nearly"


def _about(log: Log) -> Iterator[str]:
    """Look at what is said of the whole log."""
    if log.time_scale not in TIME_SCALES:
        yield f"the time scale is {log.time_scale!r}"
    if not 0 < log.rate_hz <= MAX_RATE_HZ:
        yield f"the rate is {log.rate_hz:g} Hz"
    if not np.isfinite(log.first_fix_s):
        yield "first_fix_s is not finite"
    if log.start_utc is not None and str(log.start_utc.tz) != "UTC":
        yield "start_utc is not in UTC"
    for note in log.findings:
        if not isinstance(note, Finding) or any(not 1 <= a <= b for a, b in note.lines):
            yield f"the finding {getattr(note, 'code', note)!r} has impossible lines"
    for column in log.columns:
        if not isinstance(column, ColumnReading) or not 0 <= column.filled <= 1:
            yield f"the column {getattr(column, 'name', column)!r} is filled by an impossible share"


def _counts_from_zero(table: pd.DataFrame) -> bool:
    """Tell the plain index."""
    index = table.index
    return isinstance(index, pd.RangeIndex) and index.start == 0 and index.step == 1
