"""
Quasi-static speed along a path: as fast as grip, brakes and power allow.

One pass against the driving direction limits the speed to what the brakes can
take off in time, one pass along it to what the engine can add.  Lateral and
longitudinal acceleration share one friction ellipse.

The recursions are sequential by nature and run over plain floats, which for some
40 000 steps is quicker than anything clever.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# The ellipse never closes fully: at the very limit of lateral grip this share of
# braking is left, or a tightening bend could not be entered at all.
ELLIPSE_FLOOR = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Limits:
    """
    What holds at each of n nodes along a path.

    Attributes
    ----------
    lateral_mps2, braking_mps2, traction_mps2, power_wpkg : ndarray, shape (n,)
    cap_mps : ndarray, shape (n,)
        The driver's own limit; 0 where the car stops.
    drag_per_m : float
    """

    lateral_mps2: Floats
    braking_mps2: Floats
    traction_mps2: Floats
    power_wpkg: Floats
    cap_mps: Floats
    drag_per_m: float


def speed_profile(step_m: Floats, curvature_per_m: Floats, limits: Limits) -> Floats:
    """
    Speed at the nodes of a path.

    Parameters
    ----------
    step_m : ndarray, shape (n - 1,)
        Distance from each node to the next. [m]
    curvature_per_m : ndarray, shape (n,)
    limits : Limits

    Returns
    -------
    speed_mps : ndarray, shape (n,)
        Between nodes the acceleration is constant. [m/s]
    """
    share = (np.abs(curvature_per_m) / limits.lateral_mps2).tolist()
    bend = np.maximum(np.abs(curvature_per_m), 1e-9)
    squares = np.minimum(limits.cap_mps**2, limits.lateral_mps2 / bend).tolist()
    _backward(squares, step_m.tolist(), share, limits.braking_mps2.tolist())
    _forward(
        squares,
        step_m.tolist(),
        share,
        limits.traction_mps2.tolist(),
        limits.power_wpkg.tolist(),
        limits.drag_per_m,
    )
    return np.asarray(np.sqrt(np.array(squares)))


def _backward(
    squares: list[float], step_m: list[float], share: list[float], braking: list[float]
) -> None:
    """Lower the squares of speed to what can be braked down from."""
    after = squares[-1]
    for i in range(len(squares) - 2, -1, -1):
        used = share[i + 1] * after
        left = 1.0 - used * used
        grip = left**0.5 if left > ELLIPSE_FLOOR**2 else ELLIPSE_FLOOR
        reach = after + 2.0 * step_m[i] * braking[i] * grip
        if squares[i] > reach:
            squares[i] = reach
        after = squares[i]


def _forward(
    squares: list[float],
    step_m: list[float],
    share: list[float],
    traction: list[float],
    power: list[float],
    drag: float,
) -> None:
    """Lower the squares of speed to what can be accelerated up to."""
    before = squares[0]
    for i in range(len(squares) - 1):
        used = share[i] * before
        left = 1.0 - used * used
        push = traction[i]
        if before > 1.0 and power[i] < push * before**0.5:
            push = power[i] / before**0.5
        # Once the throttle is released for a habit there is only drag.
        accel = push * (left**0.5 if left > 0.0 else 0.0) - drag * before
        reach = before + 2.0 * step_m[i] * accel
        if reach < 0.0:
            reach = 0.0
        if squares[i + 1] > reach:
            squares[i + 1] = reach
        before = squares[i + 1]


def node_times(step_m: Floats, speed_mps: Floats) -> Floats:
    """
    Time at each node, the acceleration being constant between nodes.

    Raises
    ------
    ValueError
        If the car stands at two neighbouring nodes: it would never arrive.
    """
    both = speed_mps[1:] + speed_mps[:-1]
    if np.any(both <= 0):
        k = int(np.argmin(both))
        msg = f"the car stands still from node {k} to the next and never arrives"
        raise ValueError(msg)
    return np.asarray(np.r_[0.0, np.cumsum(2.0 * step_m / both)])
