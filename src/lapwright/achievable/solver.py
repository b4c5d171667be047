"""
The quickest way round a closed line within given limits: the quasi-steady-state lap.

At every station the corner limits the speed; a run against the driving direction limits it to what
the brakes take off in time, one along it to what the engine adds.  Cornering and braking or driving
share one friction ellipse.  The state is the square of speed, which both change evenly with
distance; steps are taken by the midpoint rule, in which the closed forms come out to 0.5 %.

A lap closes on itself: both runs go round until the speed at their start no longer moves, which
takes one round where they start at a place that the corner limits.

The recursion is sequential by nature.  Several variants of the limits are solved side by side, one
in each column, so an interval costs little more than the lap.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Where the line hardly bends nothing but power limits the speed. [m/s]
_UNLIMITED_MPS = 150.0
_STRAIGHT_PER_M = 1e-9
# Slower than this a car is standing: power over speed means nothing, and no lap would end. [m2/s2]
_LEAST_M2PS2 = 1.0
# From a standing start a lap with no corner that limits it takes some rounds to settle.
_MAX_ROUNDS = 12
_SETTLED_M2PS2 = 1e-3


@dataclass(frozen=True, eq=False, slots=True)
class Limits:
    """
    What holds at each of n stations of a closed lap, in m variants.

    Attributes
    ----------
    lateral_mps2, braking_mps2, traction_mps2, power_wpkg : ndarray, shape (n, m)
        Cornering, braking and driving that grip allows; power by mass.
    drag_per_m : float
        Deceleration by air over the square of speed. [1/m]
    """

    lateral_mps2: Floats
    braking_mps2: Floats
    traction_mps2: Floats
    power_wpkg: Floats
    drag_per_m: float


def steady_lap(step_m: Floats, curvature_per_m: Floats, limits: Limits) -> Floats:
    """
    Speed at the stations of a closed lap.

    Parameters
    ----------
    step_m : ndarray, shape (n,)
        From each station to the next, the last to the first. [m]
    curvature_per_m : ndarray, shape (n,)
        Of the line driven, of either sign. [1/m]
    limits : Limits

    Returns
    -------
    speed_mps : ndarray, shape (n, m)

    References
    ----------
    W. F. Milliken and D. L. Milliken, "Race Car Vehicle Dynamics", SAE, 1995, on the friction
    ellipse and on lap times from steady states; from memory.
    """
    bend = np.maximum(np.abs(curvature_per_m), _STRAIGHT_PER_M)[:, None]
    share = bend / limits.lateral_mps2
    limit = np.minimum(1.0 / share, _UNLIMITED_MPS**2)
    first = int(np.argmin(limit.min(axis=1)))
    step, share, top, braking, traction, power = (
        np.roll(a, -first, axis=0)
        for a in (
            step_m, share, limit, limits.braking_mps2, limits.traction_mps2, limits.power_wpkg
        )
    )  # fmt: skip
    _driven(top, step, share, traction, power, limits.drag_per_m)
    _braked(top, step, share, braking, limits.drag_per_m)
    return np.asarray(np.roll(np.sqrt(top), first, axis=0))


def lap_times(step_m: Floats, speed_mps: Floats) -> Floats:
    """
    Time of every step of a closed lap, the acceleration in it being constant.

    Parameters
    ----------
    step_m : ndarray, shape (n,)
    speed_mps : ndarray, shape (n, m)

    Returns
    -------
    ndarray, shape (n, m)
        [s]
    """
    return np.asarray(2.0 * step_m[:, None] / (speed_mps + np.roll(speed_mps, -1, axis=0)))


def ellipse(share: Floats) -> Floats:
    """What the friction ellipse leaves along the way where `share` of it is used across."""
    return np.asarray(np.sqrt(np.maximum(1.0 - share * share, 0.0)))


def _driven(
    top: Floats, step: Floats, share: Floats, traction: Floats, power: Floats, drag: float
) -> None:
    """Lower the squares of speed to what can be accelerated up to, in place."""
    middle = 0.5 * (share + np.roll(share, -1, axis=0))

    def gain(w: Floats, used: Floats, i: int) -> Floats:
        push = np.minimum(traction[i], power[i] / np.sqrt(np.maximum(w, _LEAST_M2PS2)))
        used = used * w
        return np.asarray(push * np.sqrt(np.maximum(1.0 - used * used, 0.0)) - drag * w)

    n, steps = len(top), step.tolist()
    for _ in range(_MAX_ROUNDS):
        begin = top[0].copy()
        before = top[0]
        for i in range(n):
            half = before + steps[i] * gain(before, share[i], i)
            reach = before + 2.0 * steps[i] * gain(half, middle[i], i)
            after = top[(i + 1) % n]
            np.minimum(after, np.maximum(reach, _LEAST_M2PS2), out=after)
            before = after
        if np.all(begin - top[0] < _SETTLED_M2PS2):
            return


def _braked(top: Floats, step: Floats, share: Floats, braking: Floats, drag: float) -> None:
    """Lower the squares of speed to what can be braked down from, in place."""
    middle = 0.5 * (share + np.roll(share, -1, axis=0))

    def loss(w: Floats, used: Floats, i: int) -> Floats:
        used = used * w
        return np.asarray(braking[i] * np.sqrt(np.maximum(1.0 - used * used, 0.0)) + drag * w)

    n, steps = len(top), step.tolist()
    for _ in range(_MAX_ROUNDS):
        begin = top[0].copy()
        after = top[0]
        for i in range(n - 1, -1, -1):
            half = after + steps[i] * loss(after, share[(i + 1) % n], i)
            reach = after + 2.0 * steps[i] * loss(half, middle[i], i)
            np.minimum(top[i], reach, out=top[i])
            after = top[i]
        if np.all(begin - top[0] < _SETTLED_M2PS2):
            return
