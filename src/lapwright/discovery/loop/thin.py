"""
A log made small for looking at its shape: spikes out, a few fixes a second, a point every 5 m.

Finding a circuit needs neither the receiver's full rate nor a smoother: the
path is averaged over laps later.  What it does need is a trace in which a car
that stands still covers no distance, because a parked receiver wanders by
hundreds of metres in an hour.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Flags, Floats

# Enough to follow any corner, and a quick logger costs no more than a slow one.
THIN_RATE_HZ = 5.0
# Shorter than the tightest corner is long.
STEP_M = 5.0
# A walk: the noise of two fixes a fifth of a second apart is not taken for driving.
STANDING_MPS = 1.5
# No car here reaches it; a jump to another continent does.
IMPOSSIBLE_MPS = 150.0


@dataclass(frozen=True, eq=False)
class Thinned:
    """
    A trace at a few fixes a second.

    Attributes
    ----------
    time_s, east_m, north_m : ndarray, shape (n,)
        Thinned fixes without spikes, in order of time. [s], [m], [m]
    standing : ndarray of bool, shape (n,)
        Where the receiver did not get anywhere within two seconds either way.
    """

    time_s: Floats
    east_m: Floats
    north_m: Floats
    standing: Flags


@dataclass(frozen=True, eq=False)
class Steps:
    """
    A trace as points one step (`STEP_M`) apart along the way driven.

    Attributes
    ----------
    time_s, east_m, north_m, heading_rad : ndarray, shape (m,)
        Time, place and heading (mathematical, from east to north) of the points.
    travelled_m : ndarray, shape (m,)
        Distance driven; standing still adds nothing. [m]
    gap : ndarray of bool, shape (m,)
        Points inside a hole of the log (interpolated over more than 3 s).
    """

    time_s: Floats
    east_m: Floats
    north_m: Floats
    heading_rad: Floats
    travelled_m: Floats
    gap: Flags

    def between(self, begin: int, end: int) -> "Steps":
        """Return the points from one index up to, without, another."""
        part = slice(begin, end)
        return Steps(
            self.time_s[part],
            self.east_m[part],
            self.north_m[part],
            self.heading_rad[part],
            self.travelled_m[part],
            self.gap[part],
        )


def _without_impossible(time_s: Floats, east_m: Floats, north_m: Floats) -> Flags:
    """Keep the fixes that a vehicle can reach from one neighbour at least."""
    far_m = np.hypot(east_m - np.median(east_m), north_m - np.median(north_m))
    keep: Flags = far_m < 3.0e5
    speed = np.hypot(np.diff(east_m), np.diff(north_m)) / np.diff(time_s)
    wild = speed > IMPOSSIBLE_MPS
    before, after = np.r_[True, wild], np.r_[wild, True]
    keep &= ~(before & after)
    return keep


def _without_spikes(time_s: Floats, east_m: Floats, north_m: Floats) -> Flags:
    """Keep the fixes that lie near the line between their neighbours."""
    keep = np.ones(len(time_s), dtype=bool)
    if len(time_s) < 5:
        return keep
    before_s, after_s = np.diff(time_s)[:-1], np.diff(time_s)[1:]
    share = before_s / (before_s + after_s)
    off_m = np.hypot(
        east_m[1:-1] - east_m[:-2] * (1 - share) - east_m[2:] * share,
        north_m[1:-1] - north_m[:-2] * (1 - share) - north_m[2:] * share,
    )
    # Half of 20 m/s2 over the two steps is more than any car bends in that time.
    allowed_m = 6.0 + 10.0 * before_s * after_s
    peak = np.r_[0.0, off_m, 0.0]
    spike = (off_m > allowed_m) & (off_m >= peak[:-2]) & (off_m >= peak[2:])
    keep[1:-1] = ~(spike & (before_s + after_s < 6.0))
    return keep


def _moving_mean(values: Floats, half: int) -> Floats:
    """Centred mean over ``2 half + 1`` values; fewer, still centred, at the ends."""
    if half == 0 or len(values) < 3:
        return values
    count = len(values)
    reach = np.minimum(half, np.minimum(np.arange(count), np.arange(count)[::-1]))
    total = np.r_[0.0, np.cumsum(values - values[0])]
    index = np.arange(count)
    means: Floats = values[0] + (total[index + reach + 1] - total[index - reach]) / (2 * reach + 1)
    return means


def thin(time_s: Floats, east_m: Floats, north_m: Floats) -> Thinned:
    """
    Take spikes out of a trace and average it down to about 5 fixes a second.

    Parameters
    ----------
    time_s, east_m, north_m : ndarray, shape (n,)
        Fixes in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    Thinned
        At most 5 fixes a second, each the mean of the fixes of its 0.2 s: on
        a bend of 20 m/s2 that pulls the trace inwards by 0.03 m.
    """
    for keep_rule in (_without_impossible, _without_spikes, _without_spikes):
        if len(time_s) > 2:
            keep = keep_rule(time_s, east_m, north_m)
            time_s, east_m, north_m = time_s[keep], east_m[keep], north_m[keep]
    if len(time_s) > 2 and np.median(np.diff(time_s)) < 0.7 / THIN_RATE_HZ:
        cell = np.floor((time_s - time_s[0]) * THIN_RATE_HZ).astype(np.int64)
        first = np.flatnonzero(np.r_[True, np.diff(cell) > 0])
        count = np.diff(np.r_[first, len(cell)])
        time_s, east_m, north_m = (
            np.add.reduceat(v, first) / count for v in (time_s, east_m, north_m)
        )
    return Thinned(time_s, east_m, north_m, _standing(time_s, east_m, north_m))


def _standing(time_s: Floats, east_m: Floats, north_m: Floats) -> Flags:
    """Tell where the mean position hardly moves from 2 s before to 2 s after."""
    if len(time_s) < 3:
        return np.ones(len(time_s), dtype=bool)
    step_s = float(np.median(np.diff(time_s)))
    half = round(0.5 / step_s)
    east_m, north_m = _moving_mean(east_m, half), _moving_mean(north_m, half)
    before, after = np.maximum(time_s - 2.0, time_s[0]), np.minimum(time_s + 2.0, time_s[-1])
    moved_m = np.hypot(
        np.interp(after, time_s, east_m) - np.interp(before, time_s, east_m),
        np.interp(after, time_s, north_m) - np.interp(before, time_s, north_m),
    )
    slow: Flags = moved_m < STANDING_MPS * np.maximum(after - before, 1e-9)
    return slow


def _hermite(at_s: Floats, time_s: Floats, value: Floats) -> Floats:
    """Cubic interpolation with slopes from the neighbours: a chord cuts hairpins at 1 Hz."""
    slope = np.gradient(value, time_s)
    k = np.clip(np.searchsorted(time_s, at_s, side="right") - 1, 0, len(time_s) - 2)
    width = time_s[k + 1] - time_s[k]
    u = (at_s - time_s[k]) / width
    left, right = value[k], value[k + 1]
    rise = right - left
    a = slope[k] * width - rise
    b = rise - slope[k + 1] * width
    curve: Floats = left + u * rise + u * (1 - u) * (a * (1 - u) + b * u)
    return curve


def steps(trace: Thinned) -> Steps:
    """
    Cut a thinned trace into points one step (`STEP_M`) apart.

    Parameters
    ----------
    trace : Thinned
        At least three fixes.

    Returns
    -------
    Steps
        Distances are those of the trace averaged over about a second, so
        that the receiver's white noise does not lengthen the way.
    """
    grid_s = np.arange(trace.time_s[0], trace.time_s[-1], 1.0 / THIN_RATE_HZ)
    if len(grid_s) < 3:
        grid_s = np.linspace(trace.time_s[0], trace.time_s[-1], 3)
    k = np.clip(np.searchsorted(trace.time_s, grid_s, side="right") - 1, 0, len(trace.time_s) - 2)
    hole_s = trace.time_s[k + 1] - trace.time_s[k]
    east_m = _hermite(grid_s, trace.time_s, trace.east_m)
    north_m = _hermite(grid_s, trace.time_s, trace.north_m)
    # A cubic over a long hole swings out; a straight line does not.
    gap = hole_s > 3.0
    if gap.any():
        east_m[gap] = np.interp(grid_s[gap], trace.time_s, trace.east_m)
        north_m[gap] = np.interp(grid_s[gap], trace.time_s, trace.north_m)
    east_m, north_m = _moving_mean(east_m, 2), _moving_mean(north_m, 2)
    moved_m = np.hypot(np.diff(east_m), np.diff(north_m))
    moved_m[trace.standing[k][1:] & ~gap[1:]] = 0.0
    travelled_m = np.r_[0.0, np.cumsum(moved_m)]
    wanted_m = np.arange(0.0, travelled_m[-1], STEP_M)
    rising = np.r_[True, moved_m > 0]
    at_s = np.interp(wanted_m, travelled_m[rising], grid_s[rising])
    east_m, north_m = (np.interp(at_s, grid_s, v) for v in (east_m, north_m))
    # Heading from one step behind to one ahead: 10 m, sharp enough for a hairpin.
    if len(wanted_m) < 3:
        heading_rad = np.zeros(len(wanted_m))
    else:
        heading_rad = np.arctan2(np.gradient(north_m), np.gradient(east_m))
    return Steps(at_s, east_m, north_m, heading_rad, wanted_m, np.interp(at_s, grid_s, gap) > 0.5)
