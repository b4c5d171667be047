"""The closed spline against scipy's, and the length of its pieces."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from lapwright.numerics.periodic_spline import periodic_spline


@pytest.mark.parametrize("count", [3, 4, 5, 7, 64, 1000])
def test_the_curve_is_that_of_scipy(count: int) -> None:
    # scipy.interpolate.CubicSpline(bc_type="periodic"), an independent implementation.
    rng = np.random.default_rng(count)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, count))
    points = 300.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1) + rng.normal(size=(count, 2))
    spline = periodic_spline(points)
    other = CubicSpline(spline.knots_m, np.vstack([points, points[:1]]), bc_type="periodic")
    piece = np.repeat(np.arange(count), 5)
    ahead = np.tile(np.linspace(0.0, 1.0, 5), count) * np.diff(spline.knots_m)[piece]
    at = spline.knots_m[piece] + ahead
    for ours, order in zip(spline.derivatives(piece, ahead), range(3), strict=True):
        # The second derivative jumps nowhere, but is of the size 1e-2.
        assert ours == pytest.approx(other(at, order), rel=1e-9, abs=1e-9)


def test_the_length_of_a_circle_of_a_hundred_points() -> None:
    # 2 pi R; a cubic spline through points h apart misses it by about (h/R)^4/720... here
    # 2e-8, so 1e-7 is the method's own error.
    angle = np.arange(100) * (2.0 * np.pi / 100)
    spline = periodic_spline(100.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    length = spline.arc_length(np.arange(100), np.diff(spline.knots_m)).sum()
    assert length == pytest.approx(2.0 * np.pi * 100.0, rel=1e-7)
