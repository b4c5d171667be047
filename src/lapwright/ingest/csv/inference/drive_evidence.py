"""
What times and positions say about a drive: whether a car on a circuit can have moved like that.

Used where the header of a file does not say what its columns are.  Each test is one that columns
of another kind (temperatures, counters, noise) fail.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.ingest.csv.header_words import SPEED_UNITS
from lapwright.ingest.oddities import rough_metres
from lapwright.ingest.time.scales import NANO, NO_TIME, Floats, Ints
from lapwright.ingest.units import stretches

# Receivers for cars give 1 to 25 fixes a second, 100 where an inertial system fills in; slower
# than every 5 s no corner is seen (common practice, no source).
MIN_INTERVAL_S, MAX_INTERVAL_S = 0.01, 5.0
# A kart on a wet, tight course still reaches 30 km/h somewhere; no car on a circuit goes beyond
# 400 km/h (common practice, no source).
MIN_TOP_MPS, MAX_TOP_MPS = 8.0, 110.0
# The smallest indoor course is larger; the longest circuit fits in twice, the tow home does not.
MIN_EXTENT_M, MAX_EXTENT_M = 20.0, 60_000.0
# The widest part of a circuit that is long and narrow is a twentieth of its length.
MIN_ASPECT = 0.05
# Fewer rows than this are no evidence of anything.
MIN_ROWS = 30
# One second on, a car goes nearly the same way: the product of both steps is near their squares
# (0.7 to 1).  Noise gives -0.5, a random walk 0.
MIN_STEADY = 0.4
_WINDOW_S = 1.0
# Over most of a second lap the first was within the width of the road (12 to 15 m: common
# practice, no source); on a small course within a tenth of it, or any curve would come back.
_BACK_M, _BACK_PART, _BETWEEN_M, _BACK_SHARE = 15.0, 0.1, 200.0, 0.5
_APART_M, _FAR_M = 15.0, 20_000.0
# At slower rates the way between two fixes is not seen well enough to tell it from another curve.
_MAX_ROUND_INTERVAL_S = 1.05
# A logged speed is good to a few per cent; the units of speed are at least 13 % apart.
NEAR_UNIT, MAX_SPREAD = 0.04, 0.08
LOGGED_UNITS = ("m/s", "km/h", "mph", "knots")
# Two things that hardly vary always agree: a speed must vary by more than it is off.
MIN_CONTRAST = 3.0
_MIN_STRETCHES, _SLOWEST = 10, 0.3


@dataclass(frozen=True, eq=False)
class Motion:
    """
    A drive as times and positions would have it.

    Attributes
    ----------
    row : ndarray, shape (n,)
        Rows of the file that were used.
    time_s : ndarray, shape (n,)
        Strictly rising. [s]
    place_m : ndarray, shape (n, 2)
        East and north. [m]
    interval_s : float
        The usual time from one position to the next other one. [s]
    top_mps : float
        Speed over a second that is hardly ever exceeded. [m/s]
    steady : float
        How alike the ways of one second and the next are, of the worse axis; 1 at most.
    """

    row: Ints
    time_s: Floats
    place_m: Floats
    interval_s: float
    top_mps: float
    steady: float

    def is_a_drive(self) -> bool:
        """Tell whether a car on a circuit can have moved like this."""
        low, high = np.quantile(self.place_m, (0.02, 0.98), axis=0)
        extent = np.sort(high - low)
        return bool(
            MIN_INTERVAL_S * 0.95 <= self.interval_s <= MAX_INTERVAL_S * 1.05
            and MIN_TOP_MPS <= self.top_mps <= MAX_TOP_MPS
            and self.steady >= MIN_STEADY
            and MIN_EXTENT_M <= extent[1] <= MAX_EXTENT_M
            and extent[0] >= MIN_ASPECT * extent[1]
        )


def motion_of(time_ns: Ints, lat_deg: Floats, lon_deg: Floats) -> Motion | None:
    """
    Put times and positions together; None where they are too few.

    Parameters
    ----------
    time_ns : ndarray, shape (n,)
        `time_scales.NO_TIME` where there is none. [ns]
    lat_deg, lon_deg : ndarray, shape (n,)
        NaN where there is none. [degrees]
    """
    placed = np.isfinite(lat_deg) & np.isfinite(lon_deg) & ((lat_deg != 0) | (lon_deg != 0))
    row = np.flatnonzero(placed & (time_ns != NO_TIME))
    if len(row) < MIN_ROWS:
        return None
    # A row out of order, or of a second recording, must not count as a step back in time.
    later = np.append(True, time_ns[row][1:] > np.maximum.accumulate(time_ns[row])[:-1])
    row = row[later]
    if len(row) < MIN_ROWS or np.abs(lat_deg[row]).max() > 90:
        return None
    time_s = (time_ns[row] - time_ns[row[0]]) / NANO
    place_m = rough_metres(lat_deg[row], lon_deg[row])
    moved = np.append(True, (np.diff(place_m, axis=0) != 0).any(axis=1))
    if moved.sum() < MIN_ROWS:
        return None
    interval_s = float(np.median(np.diff(time_s[moved])))
    top_mps, steady = _pace(time_s, place_m, max(_WINDOW_S, interval_s))
    return Motion(row, time_s, place_m, interval_s, top_mps, steady)


def _pace(time_s: Floats, place_m: Floats, window_s: float) -> tuple[float, float]:
    """Top speed over a window, and how alike the ways of a window and the next are."""
    ahead = np.searchsorted(time_s, time_s + window_s * 0.999)
    last = len(time_s) - 1
    after = np.minimum(ahead, last)
    took_s = time_s[after] - time_s
    whole = (ahead <= last) & (took_s < 1.5 * window_s)
    if whole.sum() < MIN_ROWS // 2:
        return np.nan, np.nan
    gone_m = place_m[after] - place_m
    top_mps = float(np.quantile(np.hypot(*gone_m[whole].T) / took_s[whole], 0.98))
    following = gone_m[after]
    both = whole & whole[after]
    if not both.any() or not np.isfinite(top_mps):
        return top_mps, np.nan
    # One wild position must not outweigh the rest.
    most_m = top_mps * 1.5 * window_s
    one, other = (np.clip(way[both], -most_m, most_m) for way in (gone_m, following))
    size = np.sqrt((one**2).sum(axis=0) * (other**2).sum(axis=0))
    alike = (one * other).sum(axis=0) / np.where(size > 0, size, np.inf)
    return top_mps, float(alike.min())


def comes_round(motion: Motion) -> bool:
    """
    Tell whether the drive passes where it was before, in the same direction.

    Curves that other quantities draw over the time do not: it takes a second lap.
    """
    if motion.interval_s > _MAX_ROUND_INTERVAL_S:
        return False
    # The first fix of each window that has one: of broken times there may be billions.
    window = np.floor(motion.time_s / _WINDOW_S)
    first = np.diff(window, prepend=-1.0) > 0.0
    place = motion.place_m[first & (window * _WINDOW_S < motion.time_s[-1])]
    way_m = np.hypot(*np.diff(place, axis=0).T)
    place = place[np.append(True, way_m > 3.0)]
    way_m = np.hypot(*np.diff(place, axis=0).T)
    if len(place) < 3:
        return False
    station = np.append(0.0, np.cumsum(way_m))
    at = np.arange(0.0, min(float(station[-1]), _FAR_M), _APART_M)
    even = np.column_stack([np.interp(at, station, place[:, axis]) for axis in (0, 1)])
    ahead = np.gradient(even, axis=0) if len(even) > 2 else even * 0
    ahead = ahead / np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    back_m = min(_BACK_M, _BACK_PART * float(np.ptp(even, axis=0).max()))
    near = np.hypot(*(even[:, None, :] - even[None, :, :]).transpose(2, 0, 1)) < back_m
    near &= (ahead @ ahead.T > 0.7) & (np.abs(at[:, None] - at[None, :]) > _BETWEEN_M)
    return bool(near.any(axis=1).mean() >= _BACK_SHARE)


@dataclass(frozen=True, slots=True)
class SpeedFit:
    """How a column of speed fits the positions: its unit, m/s per unit by them, and spread."""

    unit: str
    ratio: float
    spread: float


def _spread(values: Floats) -> float:
    """
    Standard deviation of the logarithm of positive values, of all but the outer tenths.

    Those 80 % lie within 2.563 standard deviations of a normal law (tables).
    """
    low, high = np.quantile(np.log(values), (0.1, 0.9))
    return float(high - low) / 2.563


def fit_speed(
    speed: Floats, motion: Motion, unit: str | None = None, named: bool = False
) -> SpeedFit | None:
    """
    Hold a column against the speed of the positions; None where it is not that speed.

    Parameters
    ----------
    speed : ndarray, shape (n,)
        The column, one value a row of the file.
    motion : Motion
    unit : str, optional
        Its unit if the file names it.
    named : bool
        The file calls the column a speed.

    Returns
    -------
    SpeedFit or None
        `spread` is the standard deviation of the logarithm of the ratio, wild values aside.
    """
    values = speed[motion.row]
    if unit is None and bool((values < 0).any()):
        return None
    gone_m, took_s, logged = stretches(values, motion.time_s, motion.place_m)
    # All of the lap that is driven, not its fastest part: straights may all lead one way.
    driven = gone_m > _SLOWEST * motion.top_mps * took_s
    if driven.sum() < _MIN_STRETCHES:
        return None
    ratio, pace = (gone_m / logged)[driven], (logged / took_s)[driven]
    middle, spread = float(np.median(ratio)), _spread(ratio)
    if spread > MAX_SPREAD or (not named and _spread(pace) < MIN_CONTRAST * spread):
        return None
    names = (unit,) if unit in SPEED_UNITS else LOGGED_UNITS
    best = min(names, key=lambda name: abs(np.log(middle / SPEED_UNITS[name])))
    off = abs(np.log(middle / SPEED_UNITS[best]))
    return SpeedFit(best, middle, spread) if off < np.log1p(NEAR_UNIT) else None
