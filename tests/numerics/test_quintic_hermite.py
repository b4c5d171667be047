"""Quintics that join what they are given."""

import numpy as np
import pytest

from lapwright.numerics.quintic_hermite import quintic, quintic_cells


def test_a_circle_in_quintics() -> None:
    # Twelve cells of a unit circle, a twelfth of 2 pi long; the error of the two-point Taylor
    # interpolation is at most h^6 / (6! 4^3) = 4.5e-7 (Davis, Interpolation and Approximation,
    # sec. 3.1, for a function whose sixth derivative is at most 1).
    count = 12
    h = 2.0 * np.pi / count
    angle = h * np.arange(count)
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    tangent = np.stack([-np.sin(angle), np.cos(angle)], axis=1)
    cells = quintic_cells(circle, tangent, -circle, h)
    assert cells.shape == (6, 2, count)
    along = np.linspace(0.0, 2.0 * np.pi, 500, endpoint=False)
    index = (along / h).astype(int)
    bound = h**6 / (720.0 * 64.0)
    for axis, (value, slope, bend) in enumerate(
        quintic(cells[:, axis], index, along - h * index) for axis in (0, 1)
    ):
        expected = np.cos(along) if axis == 0 else np.sin(along)
        derivative = -np.sin(along) if axis == 0 else np.cos(along)
        assert np.abs(value - expected).max() < bound
        assert slope == pytest.approx(derivative, abs=1e-5)
        assert bend == pytest.approx(-expected, abs=1e-3)
