"""
Stretches in the pit lane, from how the car was driven.

The evidence: beside the usual line for a hundred metres or more, and there either a stop, or a
steady low speed, or the beginning or end of the log.  A moment on the grass is shorter; a grid
stands on the track.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.laps.track_mapping import TrackMapping
from lapwright.numerics.runs import flag_runs

Flags = npt.NDArray[np.bool_]

# Any pit lane with its ways in and out is longer; who stands for less has not stopped (common
# practice, no source).
_MIN_M = 100.0
_STOP_S = 2.0
# Without a stop it takes more: a way across the grass is also slow, even and beside the line.
_THROUGH_M, _THROUGH_S = 200.0, 10.0
# A car limited to a pit lane's speed goes at well under the usual pace beside it, and evenly.
_SLOW_SHARE, _STEADY_SHARE = 0.75, 0.25
# Gaps in 'beside the line' that are still one stretch.
_BRIDGE_S = 3.0


@dataclass(frozen=True, slots=True)
class PitStretch:
    """
    One stretch in the pit lane.

    Attributes
    ----------
    start_s, end_s : float
        Times between which the car was beside the usual line.
    stop_s : float
        Middle of the longest standstill, or the slowest moment.
    stands : bool
        Whether it stood still.
    """

    start_s: float
    end_s: float
    stop_s: float
    stands: bool


def pit_stretches(mapped: TrackMapping) -> tuple[PitStretch, ...]:
    """
    Find the stretches in the pit lane.

    Parameters
    ----------
    mapped : TrackMapping

    Returns
    -------
    tuple of PitStretch
        In order of time.
    """
    away = mapped.away
    runs = flag_runs(away)
    runs = _bridged(runs, mapped)
    found = []
    for first, last in runs:
        part = slice(first, last + 1)
        driven = float(np.sum(np.abs(np.diff(mapped.station_m[part]))))
        at_edge = first == 0 or last == len(away) - 1
        stop_s, stands = _slowest(mapped, part)
        # A parked car at either end of the log is enough; in between it takes a lane's length.
        if not (at_edge and stands) and (driven < _MIN_M or not _drives_a_lane(mapped, part)):
            continue
        found.append(
            PitStretch(float(mapped.time_s[first]), float(mapped.time_s[last]), stop_s, stands)
        )
    return tuple(found)


def _bridged(runs: list[tuple[int, int]], mapped: TrackMapping) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    # A position that wanders by metres comes near the line for as long as its errors last.
    bridge_s = max(_BRIDGE_S, mapped.still_s)
    for first, last in runs:
        if out and mapped.time_s[first] - mapped.time_s[out[-1][1]] < bridge_s:
            out[-1] = (out[-1][0], last)
        else:
            out.append((first, last))
    return out


def _drives_a_lane(mapped: TrackMapping, part: slice) -> bool:
    speed = mapped.speed_mps[part]
    _, stands = _slowest(mapped, part)
    moving = speed[speed > 2.0]
    if len(moving) == 0:
        return stands
    time_s, station = mapped.time_s[part], mapped.station_m[part]
    if not stands and (
        abs(station[-1] - station[0]) < _THROUGH_M or time_s[-1] - time_s[0] < _THROUGH_S
    ):
        return False
    slow = float(np.median(mapped.slowness[part])) < _SLOW_SHARE
    steady = float(np.percentile(moving, 75) - np.percentile(moving, 25)) < (
        _STEADY_SHARE * float(np.median(moving))
    )
    return slow and (stands or steady)


def _slowest(mapped: TrackMapping, part: slice) -> tuple[float, bool]:
    """Middle of the longest standstill, else the slowest moment; and whether it stood."""
    time_s = mapped.time_s[part]
    runs = flag_runs(mapped.standing[part])
    lengths = [time_s[b] - time_s[a] for a, b in runs]
    if lengths and max(lengths) >= _STOP_S:
        a, b = runs[int(np.argmax(lengths))]
        return float(0.5 * (time_s[a] + time_s[b])), True
    return float(time_s[int(np.argmin(mapped.speed_mps[part]))]), False
