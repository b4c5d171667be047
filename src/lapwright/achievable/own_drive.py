"""
The car's own acceleration by speed: grip of the driven wheels, power, drag.

    a = g min(T, P / v) - k v²

with g what cornering leaves of the grip.  T holds below the speed at which power takes over, so
for each such speed the law is linear in T and k; some are tried and the best one is kept.  Each is
fitted to the clean laps with samples that do not fit weighing less, as a slope or a gear change is
not the engine.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.achievable.solver import ellipse
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zones import Zones

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Acceleration has begun with half of its hardest, and so long after it pedal and car have settled.
# Common practice, no source. [s]
_BEGUN, _SETTLED_S = 0.5, 0.3
# Of the square of speed gained between two corners: up to where nobody lifts yet.
_UNTIL = 0.9
# Where cornering leaves less of the grip than this, it says little of the engine.
_LEAST_GRIP = 0.6
# Half the density of air times drag area by mass, for a car of 1 t with 1.1 m2 (from memory, of
# the order in Gillespie, ch. 4); as good as unknown. [1/m]
_DRAG_PER_M = 7e-4
# Acceleration that is off by more has another reason. [m/s2]
_OFF_MPS2 = 0.3
_TRIED, _ROUNDS = 12, 5
_MIN_SAMPLES, _LEAST_STEPS = 40, 3


@dataclass(frozen=True, slots=True)
class OwnDrive:
    """
    Acceleration by speed, as driven.

    Attributes
    ----------
    traction_mps2, power_wpkg, drag_per_m : float
        [m/s²], [W/kg], [1/m]
    """

    traction_mps2: float
    power_wpkg: float
    drag_per_m: float

    def push_mps2(self, square_m2ps2: Floats) -> Floats:
        """What the wheels push straight ahead at some squares of speed."""
        speed = np.sqrt(np.maximum(square_m2ps2, 1.0))
        return np.asarray(np.minimum(self.traction_mps2, self.power_wpkg / speed))


def own_drive(line: UsualLine, zones: Zones, lateral_mps2: Floats) -> OwnDrive | None:
    """
    Fit the acceleration of the clean laps.

    Parameters
    ----------
    line : UsualLine
    zones : Zones
    lateral_mps2 : ndarray, shape (k,)
        Cornering that grip allows, by zone.

    Returns
    -------
    OwnDrive or None
        None where the car hardly accelerates anywhere.
    """
    speed, along, grip = _samples(line, zones, lateral_mps2)
    if len(speed) < _MIN_SAMPLES:
        return None
    best, least = None, np.inf
    low, high = np.quantile(speed, [0.05, 1.0])
    for taken_over in np.geomspace(low, 1.1 * high, _TRIED).tolist():
        traction, drag, cost = _fit(speed, along, grip, taken_over)
        if cost < least and traction > 0.0:
            best, least = OwnDrive(traction, traction * taken_over, drag), cost
    return best


def _samples(line: UsualLine, zones: Zones, lateral_mps2: Floats) -> tuple[Floats, Floats, Floats]:
    """Speed, acceleration and grip left, at full throttle between the corners."""
    count = len(line.step_m)
    parts: list[Floats] = []
    until = np.append(zones.fast[1:], zones.fast[0] + count)
    for a, b, lateral in zip(zones.slow, until, lateral_mps2, strict=True):
        if b - a < _LEAST_STEPS:
            continue
        step = np.arange(a, b) % count
        square = line.speed_mps[:, step] ** 2
        low, top = square.min(axis=1, keepdims=True), square.max(axis=1, keepdims=True)
        # By each lap's own gain: where one waits, the others are not held back by it.
        gained = (square - low) / np.maximum(top - low, 1e-9)
        grip = ellipse(np.abs(line.curvature_per_m[step]) * square / lateral)
        along = line.accel_long_mps2[:, step]
        keep = on_throttle(along, line.step_s[:, step], square) & (gained < _UNTIL)
        keep &= grip > _LEAST_GRIP
        parts.append(np.stack([np.sqrt(square), along, grip])[:, keep])
    if not parts:
        return (np.zeros(0),) * 3
    v, a_long, g = np.concatenate(parts, axis=1)
    return v, a_long, g


def on_throttle(along_mps2: Floats, step_s: Floats, square_m2ps2: Floats) -> Flags:
    """
    Where each lap is well into its acceleration out of a corner.

    Parameters
    ----------
    along_mps2, step_s, square_m2ps2 : ndarray, shape (l, n)
        Acceleration, time and square of speed in steps from the slowest place on.

    Returns
    -------
    ndarray of bool, shape (l, n)
        From a moment after it first reached half of its hardest, behind its own slowest step.
    """
    column = np.arange(along_mps2.shape[1])
    behind = column >= square_m2ps2.argmin(axis=1)[:, None]
    hardest = np.where(behind, along_mps2, 0.0).max(axis=1, keepdims=True)
    begun = np.maximum.accumulate(behind & (along_mps2 > _BEGUN * hardest), axis=1)
    return np.asarray(np.cumsum(step_s * begun, axis=1) > _SETTLED_S)


def _fit(
    speed: Floats, along: Floats, grip: Floats, taken_over: float
) -> tuple[float, float, float]:
    """Traction, drag and what is left over, for one speed at which power takes over."""
    push = grip * np.minimum(1.0, taken_over / speed)
    # The last row is what is known of drag beforehand: as much again.
    a = np.stack([np.append(push, 0.0), np.append(-(speed**2), 1.0 / _DRAG_PER_M)])
    b = np.append(along, 1.0)
    weight = np.ones(len(b))
    traction, drag = 0.0, _DRAG_PER_M
    for _ in range(_ROUNDS):
        aw = a * weight
        traction, drag = np.linalg.solve(aw @ a.T, aw @ b).tolist()
        if drag < 0.0:
            traction, drag = float((aw[0] @ b) / (aw[0] @ a[0])), 0.0
        off = (b - traction * a[0] - drag * a[1]) / _OFF_MPS2
        weight = 1.0 / np.sqrt(1.0 + off * off)
    cost = float(np.sum(np.sqrt(1.0 + off * off) - 1.0))
    return traction, drag, cost
