"""Shapes with known lengths and curvatures."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from lapwright.geometry import ReferencePath

Floats = NDArray[np.float64]


@pytest.fixture
def traced() -> Callable[..., tuple[Floats, Floats]]:
    """
    Vertices along pieces (length, curvature at its start, at its end), curvature linear between.

    Positions are integrated with Gauss-Legendre quadrature, 16 nodes a step, and
    begin at the origin heading east.
    """

    def trace(pieces: Sequence[tuple[float, float, float]], step: float) -> tuple[Floats, Floats]:
        nodes, weights = np.polynomial.legendre.leggauss(16)
        east, north, heading = [0.0], [0.0], 0.0
        for length, begin, end in pieces:
            count = max(1, round(length / step))
            h = length / count
            slope = (end - begin) / length
            for k in range(count):
                s = (k + (nodes + 1.0) / 2.0) * h
                angle = heading + begin * s + slope * s**2 / 2.0
                east.append(east[-1] + h / 2.0 * float(weights @ np.cos(angle)))
                north.append(north[-1] + h / 2.0 * float(weights @ np.sin(angle)))
            heading += (begin + end) / 2.0 * length
        # Closed: the last point is the first again.
        assert np.hypot(east[-1], north[-1]) < 1e-6 * (1.0 + sum(p[0] for p in pieces))
        return np.array(east[:-1]), np.array(north[:-1])

    return trace


@pytest.fixture
def ellipse() -> Callable[..., tuple[Floats, Floats]]:
    """Vertices of an ellipse with semi-axes a (east) and b (north), anticlockwise."""

    def draw(a: float, b: float, count: int) -> tuple[Floats, Floats]:
        angle = np.arange(count) * (2.0 * np.pi / count)
        return a * np.cos(angle), b * np.sin(angle)

    return draw


@pytest.fixture
def twice_round(traced: Callable[..., tuple[Floats, Floats]]) -> ReferencePath:
    """
    A circuit that goes round twice before it closes, its second round 8 m inside the first.

    Straights of 600 m and bends of radius 60 m; the rounds cross on the way to and fro along
    the back straight, and the main straights run side by side in the same direction.
    """
    bend = (np.pi * 60.0, 1.0 / 60.0, 1.0 / 60.0)
    straight = (600.0, 0.0, 0.0)
    once = ReferencePath(*traced([straight, bend, straight, bend], step=2.0))
    station = np.arange(0.0, 2.0 * once.length_m, 3.0)
    back = 600.0 + np.pi * 60.0 + 100.0

    def rises(from_m: float) -> Floats:
        share = np.clip((station - from_m) / 400.0, 0.0, 1.0)
        return share**2 * (3.0 - 2.0 * share)

    return ReferencePath(*once.beside(station, 8.0 * (rises(back) - rises(back + once.length_m))))


@pytest.fixture
def narrow(traced) -> ReferencePath:
    """Two straights 8 m apart, driven in opposite directions, joined by loops of radius 30 m."""
    # A loop turns away by a, round by pi + 2a and back by a; its middle is halfway between the
    # straights if cos a = (4 + R)/2R.
    away, bend = np.arccos(34.0 / 60.0), 1.0 / 30.0
    loop = [
        (30.0 * away, -bend, -bend),
        (30.0 * (np.pi + 2.0 * away), bend, bend),
        (30.0 * away, -bend, -bend),
    ]
    straight = [(400.0, 0.0, 0.0)]
    return ReferencePath(*traced([*straight, *loop, *straight, *loop], step=2.0))
