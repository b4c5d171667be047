"""When a car got away from the grid."""

import numpy as np
import numpy.typing as npt

from lapwright.laps.track_mapping import TrackMapping
from lapwright.numerics.runs import flag_runs

# A start from standstill: a car on the grid stands for seconds, in front of the line by no more
# than a grid is long, and is away once it rolls faster than a receiver's noise (common practice,
# no source).
_STANDSTILL_S = 3.0
_MOVING_MPS = 0.5
_GRID_M = 400.0
BEFORE_S = 120.0


def got_away_s(mapped: TrackMapping, start_s: float) -> float | None:
    """
    When the car got away, if it stood on the track shortly before the line.

    Parameters
    ----------
    mapped : TrackMapping
    start_s : float
        When it crossed the line.

    Returns
    -------
    float or None
        The last fix at which it stood. [s]
    """
    before = mapped.between(start_s - BEFORE_S, start_s)
    # Without a measured speed a standing car is seldom slow for long, but it stays where it is.
    slow = mapped.speed_mps[before] < _MOVING_MPS
    found = (
        _last_stand(mapped, before, start_s, still) for still in (slow, mapped.standing[before])
    )
    return next((stood_s for stood_s in found if stood_s is not None), None)


def _last_stand(
    mapped: TrackMapping, before: slice, start_s: float, still: npt.NDArray[np.bool_]
) -> float | None:
    """Return the end of the last standstill, if it is one on the grid."""
    runs = flag_runs(still)
    if not runs:
        return None
    time_s, station = mapped.time_s[before], mapped.station_m[before]
    first, last = runs[-1]
    stood = time_s[last] - time_s[first]
    to_line = float(mapped.station_at(start_s)) - station[last]
    if stood < _STANDSTILL_S or to_line > _GRID_M or mapped.away[before][first : last + 1].all():
        return None
    return float(time_s[last])
