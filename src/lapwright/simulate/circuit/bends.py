"""Corners of a closed line, found from its curvature: how the truth numbers them."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


class Bend(NamedTuple):
    """A corner of the usual line: begin, tightest point and end, and how far it turns."""

    order: int
    direction: str
    entry_m: float
    apex_m: float
    exit_m: float
    radius_m: float
    turn_deg: float


def find_bends(station_m: Floats, curvature_per_m: Floats, length_m: float) -> tuple[Bend, ...]:
    """
    Corners of a closed line from its curvature.

    A corner is a stretch that bends to one side with a radius under 250 m; it is cut
    in two where the curvature falls below half of the lower of two peaks.  Stretches
    that turn less than 12 degrees are no corners.
    """
    step = length_m / len(station_m)
    tight = np.abs(curvature_per_m) > 1 / 250
    side = np.where(tight, np.sign(curvature_per_m), 0.0)
    quiet = np.flatnonzero(~tight)
    if len(quiet) == 0:
        return ()
    roll = int(quiet[0])
    side, kappa = np.roll(side, -roll), np.roll(np.abs(curvature_per_m), -roll)
    edges = np.flatnonzero(np.diff(np.r_[0.0, side, 0.0]) != 0)
    pieces: list[tuple[int, int]] = []
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        if side[a] != 0:
            pieces += _cut(kappa, a, b)
    found = []
    for a, b in pieces:
        turn = float(np.degrees(np.sum(kappa[a:b]) * step))
        if turn < 12:
            continue
        apex = a + int(np.argmax(kappa[a:b]))
        at = [float((roll + k) * step % length_m) for k in (a, apex, b)]
        found.append((at, "left" if side[apex] > 0 else "right", float(1 / kappa[apex]), turn))
    found.sort(key=lambda f: f[0][1])
    return tuple(
        Bend(i + 1, direction, at[0], at[1], at[2], radius, turn)
        for i, (at, direction, radius, turn) in enumerate(found)
    )


def _cut(kappa: Floats, a: int, b: int) -> list[tuple[int, int]]:
    """Split [a, b) at the deepest hollow between two peaks, again and again."""
    inside = kappa[a:b]
    before, after = np.maximum.accumulate(inside), np.maximum.accumulate(inside[::-1])[::-1]
    depth = inside / np.minimum(before, after)
    k = int(np.argmin(depth))
    if depth[k] > 0.5 or k < 8 or b - a - k < 8:
        return [(a, b)]
    return _cut(kappa, a, a + k) + _cut(kappa, a + k, b)
