"""
Where a car usually slows for each corner: the beginning of its braking zone, from the clean laps.

A nominal car brakes where nobody in a kart does.  So the place is taken from the laps themselves,
all of them together: the zone begins before nearly all of their brakings, and is the same whichever
two laps are compared.
"""

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Corner, Track
from lapwright.laps.lap_trace import LapTrace
from lapwright.laps.stretches import exit_behind, nominal_braking
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# The car brakes, as in `lapwright.corners.pass_points`; a lift alone takes off less.
_BRAKING_MPS2 = -1.0
# A car that loses less than this on the way to a corner does not slow for it. [m/s]
_MIN_DROP_MPS = 1.0
# The earliest tenth of the brakings may lie outside of the zone: slips and traffic.
_EARLY = 0.1
# From the foot moving to 1 m/s² a quarter of a second passes, 10 m at 40 m/s. Common practice, no
# source.
_ONSET_S = 0.25


def usual_slowing(track: Track, traces: list[LapTrace]) -> Floats:
    """
    Station from which the car usually slows for each corner.

    Parameters
    ----------
    track : Track
        With corners.
    traces : list of LapTrace
        The clean laps.

    Returns
    -------
    ndarray, shape (corners,)
        As saved with the track, where that is so.  Else at or before the corner's entry, at or
        behind the exit of the corner before; the entry where fewer than half of the laps slow on
        the way to it. A nominal car's where there is no lap. [m]
    """
    nominal = nominal_braking(track)
    corners, length = track.corners, track.length_m
    out = np.empty(len(corners))
    for k, corner in enumerate(corners):
        if corner.run_up_m is not None or not traces:
            run_up = corner.entry_m - nominal[k] if corner.run_up_m is None else corner.run_up_m
            out[k] = corner.entry_m - run_up
            continue
        behind = exit_behind(corners[k - 1], corner, length)
        begun = np.array([_slows_at(trace, behind, corner) for trace in traces])
        seen = begun[np.isfinite(begun)]
        early = np.quantile(seen, _EARLY) if 2 * len(seen) >= len(begun) else corner.entry_m
        out[k] = np.clip(early, behind, corner.entry_m)
    return out


def _slows_at(trace: LapTrace, behind_m: float, corner: Corner) -> float:
    """Where one lap begins to slow for a corner; NaN where it does not, or it was not seen."""
    # Where the run-up lies before the line, a lap shows it at its end as well.
    turn = trace.length_m if behind_m < trace.station_m[0] else 0.0
    part = trace.within(behind_m + turn, corner.apex_m + turn)
    if part.stop - part.start < 3:
        return np.nan
    speed = trace.speed_mps[part]
    brakings = flag_runs(trace.accel_long_mps2[part] < _BRAKING_MPS2)
    if brakings:
        first, last = np.array(brakings).T
        main = int(np.argmax(speed[first] - speed[last]))
        k, dropped = int(first[main]), float(speed[first[main]] - speed[last[main]])
    else:
        k = int(np.argmax(speed))
        dropped = float(speed[k] - speed[k:].min())
    if dropped < _MIN_DROP_MPS or trace.unseen(float(trace.time_s[part.start + k])):
        return np.nan
    return float(trace.station_m[part.start + k] - _ONSET_S * speed[k] - turn)
