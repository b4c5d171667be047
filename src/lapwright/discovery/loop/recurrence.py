"""
Where a trace comes back to a place it has been to, in the same direction, and after what distance.

Points go into square cells by place; a return is the first later point near
by with nearly the same heading.  Heading is what keeps the two legs of a
hairpin, the way back on a road and a crossover apart.  A spectral method
would need a lap of constant length in time; distance and place do not.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Flags, Floats, Ints
from lapwright.discovery.loop.thin import STEP_M, Steps

# The shortest way round that is taken for a circuit.
SHORTEST_LAP_M = 180.0
# The same place: a track's width, of which a driver uses all, and the receiver's drift.
NEAR_M = 10.0
# The same direction: two lines through one corner differ by less, crossing roads by more.
SAME_WAY_RAD = np.deg2rad(40.0)
# Cells for the search: nearly all that is near lies in the same one or in one beside it.
CELL_M = 8.0
# Returns whose distances agree this well belong to one circuit.
SAME_LENGTH = 0.03


@dataclass(frozen=True, eq=False)
class Recurrence:
    """
    What of a trace is driven again.

    Attributes
    ----------
    period_m : float
        The distance after which most of the trace comes back; NaN if nothing does. [m]
    index, again : ndarray of int, shape (k,)
        Points of the trace and where each is passed again one period later.
    repeated_m : float
        Distance driven that is driven again one period later, the longest stretch. [m]
    """

    period_m: float
    index: Ints
    again: Ints
    repeated_m: float


def _first_return(steps: Steps, sign: float) -> Ints:
    """
    Index of the first later point at the same place, or -1.

    ``sign`` is +1 for the same direction and -1 for the opposite one.
    """
    count = len(steps.time_s)
    apart = int(SHORTEST_LAP_M / STEP_M) if sign > 0 else 2
    column = np.floor((steps.east_m - steps.east_m.min()) / CELL_M).astype(np.int64) + 1
    row = np.floor((steps.north_m - steps.north_m.min()) / CELL_M).astype(np.int64) + 1
    stride = int(column.max()) + 2
    cell = row * stride + column
    keys = cell * count + np.arange(count)
    order = np.argsort(keys)
    keys = keys[order]
    found = np.full(count, count, dtype=np.int64)
    index = np.arange(count)
    for shift in (-stride - 1, -stride, -stride + 1, -1, 0, 1, stride - 1, stride, stride + 1):
        here = (cell + shift) * count
        at = np.searchsorted(keys, here + np.minimum(index + apart, count))
        # A neighbouring leg in the same cell must not hide the true return behind it.
        for ahead in range(4):
            slot = np.minimum(at + ahead, count - 1)
            later = order[slot]
            same_cell = (at + ahead < count) & (keys[slot] >= here) & (keys[slot] < here + count)
            turn = np.cos(steps.heading_rad[later] - steps.heading_rad[index]) * sign
            near = np.hypot(
                steps.east_m[later] - steps.east_m, steps.north_m[later] - steps.north_m
            )
            good = same_cell & (turn > np.cos(SAME_WAY_RAD)) & (near < NEAR_M)
            found = np.where(good & (later < found) & (later >= index + apart), later, found)
    return np.where(found < count, found, -1)


def _period(distance_m: Floats) -> float:
    """Return the distance that most returns agree on [m]."""
    log_m = np.log(distance_m)
    width = SAME_LENGTH / 3.0
    bins = np.floor((log_m - log_m.min()) / width).astype(np.int64)
    mass = np.convolve(np.bincount(bins), np.ones(5), mode="same")
    middle = log_m.min() + (int(np.argmax(mass)) + 0.5) * width
    close = np.abs(log_m - middle) < SAME_LENGTH
    return float(np.median(distance_m[close]))


def find_recurrence(steps: Steps) -> Recurrence:
    """
    Find the distance after which a trace repeats itself, if it does.

    Parameters
    ----------
    steps : Steps
        A trace as points one step apart.

    Returns
    -------
    Recurrence
        Only returns in the same direction count.
    """
    nothing = np.zeros(0, dtype=np.int64)
    if len(steps.time_s) < 8:
        return Recurrence(np.nan, nothing, nothing, 0.0)
    later = _first_return(steps, +1.0)
    index = np.flatnonzero(later >= 0)
    if len(index) == 0:
        return Recurrence(np.nan, nothing, nothing, 0.0)
    distance_m = steps.travelled_m[later[index]] - steps.travelled_m[index]
    period_m = _period(distance_m)
    close = np.abs(distance_m / period_m - 1.0) < SAME_LENGTH
    index = index[close]
    return Recurrence(period_m, index, later[index], longest_run_m(index))


def retraced(steps: Steps) -> Flags:
    """Tell which points of a trace are passed in the opposite direction as well."""
    flags: Flags = np.zeros(len(steps.time_s), dtype=bool)
    if len(flags) >= 8:
        later = _first_return(steps, -1.0)
        flags[later >= 0] = True
        flags[later[later >= 0]] = True
    return flags


def longest_run_m(index: Ints) -> float:
    """Longest distance driven without a hole of over 30 m between the given steps [m]."""
    if len(index) == 0:
        return 0.0
    breaks = np.flatnonzero(np.diff(index) > 6)
    begin, end = np.r_[0, breaks + 1], np.r_[breaks, len(index) - 1]
    return float((index[end] - index[begin] + 1).max()) * STEP_M
