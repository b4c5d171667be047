"""
The slow point of one pass: where the car was slowest for this corner, if it slowed for it at all.

The slowest place between two stations always exists and means nothing by itself: a car that only
gains speed is slowest where it came in.  A slow point is one with more speed on both sides of it.
"""

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Corner
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]
Window = tuple[float, float]

# The slowest point is looked for this far outside the corner's ends too; where there is none, once
# more so far: who slows early for a corner may gain speed all the way through it.
_REACHES_M = (25.0, 50.0)
# A car that has gained so much has left a corner behind.
RISE_MPS = 0.3
# A car that loses less than this does not slow, as in `lapwright.laps.slowing`.
_MIN_DROP_MPS = 1.0


def pass_windows(
    corner: Corner, before: Corner, after: Corner, length_m: float
) -> tuple[Window, ...]:
    """
    Stations between which a corner's slow point may lie: up to half-way to its neighbours.

    Parameters
    ----------
    corner, before, after : Corner
        It and its neighbours.
    length_m : float
        Of a lap. [m]

    Returns
    -------
    tuple of (float, float)
        Where to look first, and where to look if there is none. [m]
    """
    back = _unwrapped(before.exit_m, corner.entry_m, length_m, ahead=False)
    front = _unwrapped(after.entry_m, corner.exit_m, length_m, ahead=True)
    out = []
    for reach in _REACHES_M:
        low = max(corner.entry_m - reach, 0.5 * (corner.entry_m + back))
        high = min(corner.exit_m + reach, 0.5 * (corner.exit_m + front))
        out.append((min(low, corner.apex_m), max(high, corner.apex_m)))
    return tuple(out)


def _unwrapped(station: float, about: float, length: float, *, ahead: bool) -> float:
    turns = np.ceil((about - station) / length) if ahead else np.floor((about - station) / length)
    return float(station + turns * length)


def slow_point(
    trace: LapTrace, windows: tuple[Window, ...], before_apex_m: float, after_apex_m: float
) -> int | None:
    """
    Find where the car was slowest for a corner.

    Parameters
    ----------
    trace : LapTrace
    windows : tuple of (float, float)
        See `pass_windows`. [m]
    before_apex_m, after_apex_m : float
        Apexes of the neighbouring corners, unwrapped about this one. [m]

    Returns
    -------
    int or None
        Its index in the trace; None where the car only gained or held speed, or only lost it on its
        way to the next corner.
    """
    for window in windows:
        inside = trace.within(*window)
        around = trace.within(min(before_apex_m, window[0]), max(after_apex_m, window[1]))
        if inside.stop - inside.start >= 3:
            found = _slowest(trace.speed_mps, inside, around)
            if found is not None:
                return found
    return None


def _slowest(speed_mps: Floats, inside: slice, around: slice) -> int | None:
    """
    The slow point within a window.

    At the window's end the car may already be slowing for the next corner, and at its beginning
    still be slow from the one before; then a slow point within the window is this corner's.
    """
    speed = speed_mps[inside]
    lowest = inside.start + int(np.argmin(speed))
    if inside.start < lowest < inside.stop - 1:
        # Near an end of the window the car has regained its speed only beyond it.
        sides = speed_mps[around.start : lowest + 1], speed_mps[lowest : around.stop]
        if min(side.max() for side in sides) - speed_mps[lowest] > RISE_MPS:
            return int(lowest)
    before = np.maximum.accumulate(speed)
    after = np.maximum.accumulate(speed[::-1])[::-1]
    real = np.flatnonzero(np.minimum(before, after) - speed > RISE_MPS)
    return inside.start + int(real[np.argmin(speed[real])]) if len(real) else None


def left_behind(speed_mps: Floats) -> int:
    """
    Where the slowing for the corner before has ended, in a run-up to a corner.

    The car is often slowest behind the apex of that corner, and not always slower than in this one.

    Parameters
    ----------
    speed_mps : ndarray, shape (n,)
        From the apex of the corner before.

    Returns
    -------
    int
        Index; 0 where the car slows all the way.
    """
    valley = int(np.argmin(speed_mps))
    if valley < len(speed_mps) - 1:
        return valley
    first = _first_valley(speed_mps)
    return 0 if first is None else first


def _first_valley(speed_mps: Floats) -> int | None:
    lowest = np.minimum.accumulate(speed_mps)
    risen = np.flatnonzero(speed_mps - lowest > RISE_MPS)
    return int(np.argmin(speed_mps[: risen[0]])) if len(risen) else None


def kept_speed(speed_mps: Floats) -> bool:
    """
    Whether a car did not slow on the way to a corner and through it.

    Parameters
    ----------
    speed_mps : ndarray, shape (n,)
        From the apex of the corner before to this one's exit.

    Returns
    -------
    bool
        True where no speed was lost once the corner before was left behind.
    """
    speed = speed_mps[_first_valley(speed_mps) or 0 :]
    lost = np.maximum.accumulate(speed) - speed
    return bool(lost.max() < _MIN_DROP_MPS)
