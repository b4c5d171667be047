"""How the steering was used in one run through a corner: how far, and how often corrected."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lapwright.corners.driver_inputs import Channel
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]

# Straight ahead: so little lateral acceleration at more than a walking pace [m/s2, m/s].
_STRAIGHT_MPS2, _MOVING_MPS = 0.5, 10.0
_MIN_STRAIGHT = 20
# A turn of the wheel is one where it moves by more than the noise of the difference of two values
# can do (six of its standard deviations are rare in a session's samples), and than this share of
# the session's range: hands are never still (common practice, no source).
_NOISE_TIMES, _LEAST = 6.0 * 2.0**0.5, 0.03


def straight_ahead(steering: Channel, traces: Sequence[LapTrace]) -> float:
    """
    What the channel reads where the car goes straight, on its scaled range.

    Parameters
    ----------
    steering : Channel
    traces : sequence of LapTrace

    Returns
    -------
    float
        The median; NaN where the laps hold too little of that.
    """
    read = []
    for trace in traces:
        lap = trace.inside
        ahead = np.abs(trace.accel_lat_mps2[lap]) < _STRAIGHT_MPS2
        ahead &= trace.speed_mps[lap] > _MOVING_MPS
        read.append(steering.at(trace.time_s[lap][ahead]))
    values = np.concatenate(read) if read else np.zeros(0)
    values = values[np.isfinite(values)]
    if len(values) < _MIN_STRAIGHT:
        return np.nan
    return float((np.median(values) - steering.zero) / steering.span)


def steering_use(
    steering: Channel, start_s: float, end_s: float, ahead: float
) -> tuple[float, float]:
    """
    Describe the steering between two moments.

    Parameters
    ----------
    steering : Channel
    start_s, end_s : float
    ahead : float
        See `straight_ahead`.

    Returns
    -------
    peak : float
        How far it was turned from straight ahead at most, in its own unit.
    corrections : float
        How often it was turned back, beyond the once that every corner takes.
        Both NaN where the channel has a hole.
    """
    value = steering.value[steering.part(start_s, end_s)]
    if len(value) < 3 or not steering.whole(start_s, end_s):
        return np.nan, np.nan
    peak = float(np.abs(value - ahead).max()) * abs(steering.span)
    least = max(_LEAST, _NOISE_TIMES * steering.noise)
    return peak, float(max(reversals(value, least) - 1, 0))


def reversals(value: Floats, least: float) -> int:
    """
    Count how often a signal turns back by more than an amount.

    Parameters
    ----------
    value : ndarray, shape (n,)
    least : float
        A smaller movement is no movement.

    Returns
    -------
    int

    Examples
    --------
    >>> reversals(np.array([0.0, 5.0, 4.9, 6.0, 2.0, 3.0, 0.0]), 0.5)
    3
    """
    # A flat top is one turn, not none.
    value = value[np.r_[True, np.diff(value) != 0.0]]
    step = np.diff(value)
    turning = np.flatnonzero(step[1:] * step[:-1] < 0.0) + 1
    # Only where it turns, and at its ends: far fewer than there are samples.
    corners = value[np.r_[0, turning, len(value) - 1]]
    low = high = far = float(corners[0])
    way = turns = 0
    for v in corners[1:]:
        if way == 0:
            low, high = min(low, v), max(high, v)
            way = 1 if v - low > least else (-1 if high - v > least else 0)
            far = float(v)
        elif way * (v - far) > 0.0:
            far = float(v)
        elif way * (far - v) > least:
            way, far, turns = -way, float(v), turns + 1
    return turns
