"""
How hard every lap braked into, and accelerated out of, each slowest place: means over the zones.

A mean over a zone is the energy taken off or added, less what the air did, over the way times what
cornering left of the grip; single moments would be noise.  It runs from where a lap has lost (or
gained) a set share of its own squares of speed to another, so braking early and rolling, or waiting
with the throttle, neither counts as braking gently nor as accelerating gently.
"""

import numpy as np
import numpy.typing as npt

from lapwright.achievable.own_drive import OwnDrive, on_throttle
from lapwright.achievable.solver import ellipse
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zones import Zones

Floats = npt.NDArray[np.float64]

_BRAKED = (0.2, 0.8)
_DRIVEN = (0.0, 0.85)
# A shorter zone is over before pedal and car have settled. [s]
_SHORTEST_BRAKING_S, _SHORTEST_DRIVE_S = 0.6, 0.8
# Squares of speed that differ by less tell nothing. [m2/s2]
_LEAST_M2PS2 = 30.0
_LEAST_STEPS = 4


def braking_runs(line: UsualLine, zones: Zones, lateral_mps2: Floats, drag_per_m: float) -> Floats:
    """
    Mean braking of every lap into each slowest place, as in a straight line.

    Parameters
    ----------
    line : UsualLine
    zones : Zones
    lateral_mps2 : ndarray, shape (k,)
        Cornering that grip allows.
    drag_per_m : float

    Returns
    -------
    ndarray, shape (l, k)
        NaN where a lap hardly braked. [m/s²]
    """
    out = np.full((len(line.lap), len(zones)), np.nan)
    for k, (a, b) in enumerate(zip(zones.fast.tolist(), zones.slow.tolist(), strict=True)):
        if b - a < _LEAST_STEPS:
            continue
        square, way, bend = _part(line, a, b)
        top, low = square.max(axis=1, keepdims=True), square.min(axis=1, keepdims=True)
        lost = (top - square) / np.maximum(top - low, 1e-9)
        inside, taken, spent = _between(lost, _BRAKED, square, way)
        known = (spent > _SHORTEST_BRAKING_S) & ((top - low)[:, 0] > _LEAST_M2PS2)
        air = np.sum(drag_per_m * square * way * inside, axis=1)
        grip = np.sum(ellipse(bend * square / lateral_mps2[k]) * way * inside, axis=1)
        out[:, k] = np.where(known, (-0.5 * taken - air) / np.maximum(grip, 1e-9), np.nan)
    return np.where(out > 0.0, out, np.nan)


def drive_runs(line: UsualLine, zones: Zones, lateral_mps2: Floats, drive: OwnDrive) -> Floats:
    """
    Mean acceleration of every lap out of each slowest place, over that of the car elsewhere.

    Parameters
    ----------
    line : UsualLine
    zones : Zones
    lateral_mps2 : ndarray, shape (k,)
    drive : OwnDrive

    Returns
    -------
    ndarray, shape (l, k)
        NaN where a lap hardly accelerated. [1]
    """
    out = np.full((len(line.lap), len(zones)), np.nan)
    until = np.append(zones.fast[1:], zones.fast[:1] + len(line.step_m))
    for k, (a, b) in enumerate(zip(zones.slow.tolist(), until.tolist(), strict=True)):
        if b - a < _LEAST_STEPS:
            continue
        square, way, bend = _part(line, a, b)
        top, low = square.max(axis=1, keepdims=True), square.min(axis=1, keepdims=True)
        gained = (square - low) / np.maximum(top - low, 1e-9)
        step = np.arange(a, b + 1) % len(line.step_m)
        on = on_throttle(line.accel_long_mps2[:, step], line.step_s[:, step], square)
        inside, added, spent = _between(np.where(on, gained, 0.0), _DRIVEN, square, way)
        known = (spent > _SHORTEST_DRIVE_S) & ((top - low)[:, 0] > _LEAST_M2PS2)
        air = np.sum(drive.drag_per_m * square * way * inside, axis=1)
        push = drive.push_mps2(square) * ellipse(bend * square / lateral_mps2[k])
        pushed = np.sum(push * way * inside, axis=1)
        out[:, k] = np.where(known, (0.5 * added + air) / np.maximum(pushed, 1e-9), np.nan)
    return np.where(out > 0.0, out, np.nan)


def _part(line: UsualLine, first: int, last: int) -> tuple[Floats, Floats, Floats]:
    """Squares of speed and ways of all laps, and the bend of the line, from one step to another."""
    steps = np.arange(first, last + 1) % len(line.step_m)
    return (
        line.speed_mps[:, steps] ** 2, line.way_m[:, steps], np.abs(line.curvature_per_m[steps])
    )  # fmt: skip


def _between(
    share: Floats, ends: tuple[float, float], square: Floats, way: Floats
) -> tuple[Floats, Floats, Floats]:
    """Steps between two shares, the change of the squares over them, and the time they took."""
    column, lap = np.arange(share.shape[1]), np.arange(len(share))
    first = np.argmax(share > ends[0], axis=1)
    last = np.argmax((share > ends[1]) & (column > first[:, None]), axis=1)
    inside = ((column >= first[:, None]) & (column < last[:, None])).astype(np.float64)
    spent = np.sum(way / np.sqrt(square) * inside, axis=1)
    return inside, square[lap, last] - square[lap, first], spent
