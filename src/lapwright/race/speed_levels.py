"""
When a car passes a speed, and when it got away or came to rest.

Nobody sees a standstill end in a log: at the first moment a car moves by less than any receiver
resolves.  So the moment is taken from where the speed has passed 1 and 3 m/s, by the straight line
through the two back to zero.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# Above a receiver's noise at rest, and passed within the first second of any start; common
# practice, no source.
LOW_MPS, HIGH_MPS = 1.0, 3.0
# A straight line through the two levels, taken back to zero: the weights of their moments.
BACK_TO_REST = np.array([HIGH_MPS, -LOW_MPS]) / (HIGH_MPS - LOW_MPS)
# A car that takes longer from one level to the other is manoeuvring, not starting or stopping.
_MANOEUVRING_S = 4.0
_STEP_S = 0.01
# Of a standstill's edge by the square of the step from fix to fix. [1/s]
_ROUNDED_PER_S = 0.7
# Less acceleration than this leaves the moment of a speed to the noise.
_LEAST_ACCEL_MPS2 = 0.3


@dataclass(frozen=True, eq=False)
class Moments:
    """
    Moments at which the car passed some speeds.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
    weights : ndarray, shape (k, 6)
        Functionals of the motion that turn its errors into those of the moments, see
        `lapwright.motion.Motion.posterior`.
    """

    time_s: Floats
    weights: Floats

    def and_(self, other: "Moments") -> "Moments":
        """Both, one after the other."""
        return Moments(
            np.concatenate([self.time_s, other.time_s]),
            np.concatenate([self.weights, other.weights]),
        )


def rest_edge(motion: Motion, mapped: TrackMapping, rest_s: float, *, leaves: bool) -> Moments:
    """
    Moments at which the speed passed 1 and 3 m/s next to a standstill.

    Parameters
    ----------
    motion : Motion
    mapped : TrackMapping
    rest_s : float
        A moment at which the car stood.
    leaves : bool
        Whether the end of the standstill is meant, or its begin.

    Returns
    -------
    Moments
        Of the two levels, the lower one first; none where the car never gets as fast, or takes so
        long that it was manoeuvring.  `BACK_TO_REST` makes the moment itself of them.
    """
    fast = mapped.speed_mps > HIGH_MPS
    if leaves:
        found = np.flatnonzero(fast & (mapped.time_s > rest_s))[:1]
    else:
        found = np.flatnonzero(fast & (mapped.time_s < rest_s))[-1:]
    if not len(found):
        return _none()
    quick_s = float(mapped.time_s[found[0]])
    far_s = max(rest_s, quick_s - _MANOEUVRING_S) if leaves else min(
        rest_s, quick_s + _MANOEUVRING_S
    )  # fmt: skip
    # From the moving car back to the standing one.
    steps = max(2, round(abs(quick_s - far_s) / _STEP_S))
    time_s = np.linspace(quick_s, far_s, steps + 1)
    state = motion.at(time_s)
    along = state.velocity_mps @ state.direction[0]
    moments = [_first_below(time_s, along, level) for level in (LOW_MPS, HIGH_MPS)]
    if not np.isfinite(moments).all():
        return _none()
    return _moments(motion, np.array(moments), state.direction[0])


def reaches(
    motion: Motion, mapped: TrackMapping, from_s: float, until_s: float, speed_mps: float
) -> Moments:
    """
    First moment at which the car goes as fast as this.

    Parameters
    ----------
    motion : Motion
    mapped : TrackMapping
    from_s, until_s : float
        Between which it is looked for.
    speed_mps : float

    Returns
    -------
    Moments
        One, or none where the car does not get as fast.
    """
    part = mapped.between(from_s, until_s)
    found = np.flatnonzero(mapped.speed_mps[part] >= speed_mps)
    at = part.start + int(found[0]) if len(found) else 0
    if not len(found) or at == 0:
        return _none()
    low_s = max(float(mapped.time_s[at - 1]), from_s)
    time_s = np.linspace(float(mapped.time_s[at]), low_s, 21)
    state = motion.at(time_s)
    moment = _first_below(time_s, state.speed_mps, speed_mps)
    if not np.isfinite(moment):
        return _none()
    return _moments(motion, np.array([moment]), state.direction[0])


def edge_sd_s(mapped: TrackMapping) -> float:
    """
    What the fixes miss of a standstill's edge, on top of their noise.

    The motion bends no more sharply than the fixes show: the corner between rest and motion is
    rounded over a step, and its error grows with the step's square: 7 ms at 10 Hz, 0.7 s at
    1 Hz.  Measured on simulated starts, see the tests; no source.

    Parameters
    ----------
    mapped : TrackMapping

    Returns
    -------
    float
        [s]
    """
    return _ROUNDED_PER_S * mapped.usual_step_s**2


def _none() -> Moments:
    return Moments(np.zeros(0), np.zeros((0, 6)))


def _first_below(time_s: Floats, along_mps: Floats, level_mps: float) -> float:
    """Where a speed first falls below a level, by the straight line between two samples."""
    below = np.flatnonzero(along_mps < level_mps)
    if not len(below) or below[0] == 0:
        return np.nan
    k = int(below[0])
    share = (along_mps[k - 1] - level_mps) / (along_mps[k - 1] - along_mps[k])
    return float(time_s[k - 1] + share * (time_s[k] - time_s[k - 1]))


def _moments(motion: Motion, time_s: Floats, direction: Floats) -> Moments:
    """Say what an error of the velocity does to the moments: faster is earlier."""
    accel = motion.at(time_s).accel_mps2 @ direction
    accel = np.where(accel < 0.0, -1.0, 1.0) * np.maximum(np.abs(accel), _LEAST_ACCEL_MPS2)
    weights = np.zeros((len(time_s), 6))
    weights[:, 2:4] = -direction / accel[:, None]
    return Moments(time_s, weights)
