import numpy as np
import pytest

from lapwright.discovery.loop.ring import (
    cyclic_interpolate,
    nearest_foot,
    ring_from_points,
    smooth_cyclic,
)


def ellipse(count: int = 400):
    angle = np.arange(count) * (2 * np.pi / count)
    return 500 * np.cos(angle), 200 * np.sin(angle)


def test_ellipse_has_its_perimeter_and_curvatures() -> None:
    # Semi-axes 500 and 200 m: perimeter 2301.311259566 m, curvature a/b^2 = 0.0125 and
    # b/a^2 = 0.0008 /m at the ends of the axes (elliptic integral; closed form).
    ring = ring_from_points(*ellipse())
    assert ring.length_m == pytest.approx(2301.311259566, abs=1e-6)
    assert ring.curvature_per_m.max() == pytest.approx(0.0125, rel=1e-3)
    assert ring.curvature_per_m.min() == pytest.approx(0.0008, rel=1e-3)
    assert ring.turning == 1.0
    steps = np.hypot(np.diff(ring.east_m), np.diff(ring.north_m))
    assert np.ptp(steps) < 1e-3 * ring.spacing_m


def test_interpolation_meets_a_wave() -> None:
    values = np.sin(np.arange(40) * 2 * np.pi / 40)
    at = np.array([-3.3, 0.0, 12.7, 55.2])
    # Cubic pieces over a wave of 40 steps: error of order (2 pi / 40)^4 / 384.
    assert cyclic_interpolate(values, at) == pytest.approx(np.sin(at * 2 * np.pi / 40), abs=4e-6)


@pytest.mark.parametrize("wave", [10.0, 20.0, 40.0])
def test_smoothing_keeps_the_share_of_a_wave_it_says(wave) -> None:
    # Half of the height at the cut-off, 1 / (1 + (cutoff / wave)^6) elsewhere; a difference
    # of a wave is 2 sin(pi / wave) of it, a little less than the derivative's 2 pi / wave.
    count, cutoff = 400, 20.0
    values = np.cos(np.arange(count) * 2 * np.pi / wave)[:, None]
    smooth = smooth_cyclic(values, np.ones(count), cutoff)
    share = 1 / (1 + (cutoff / np.pi * np.sin(np.pi / wave)) ** 6)
    assert smooth.max() == pytest.approx(share, rel=1e-6)
    assert share == pytest.approx(1 / (1 + (cutoff / wave) ** 6), rel=0.11)


def test_smoothing_bridges_what_has_no_weight_and_solves_its_equations() -> None:
    count = 60
    rng = np.random.default_rng(4)
    values = rng.normal(size=(count, 1))
    weights = rng.random(count) * (rng.random(count) > 0.4)
    smooth = smooth_cyclic(values, weights, 8.0, order=3, tolerance=1e-12)
    # The same least squares, as one dense system.
    difference = np.linalg.matrix_power(np.roll(np.eye(count), 1, axis=1) - np.eye(count), 3)
    stiff = (8.0 / (2 * np.pi)) ** 6 * weights.mean()
    system = np.diag(weights) + stiff * difference.T @ difference
    dense = np.linalg.solve(system, weights * values[:, 0])
    assert smooth[:, 0] == pytest.approx(dense, abs=1e-6)


def test_feet_of_points_beside_a_circle() -> None:
    angle = np.arange(300) * (2 * np.pi / 300)
    ring = ring_from_points(40 * np.cos(angle), 40 * np.sin(angle))
    true_m = np.array([10.0, 100.0, 240.0])
    radius = 40.0 - np.array([3.0, -2.0, 0.5])  # left of an anticlockwise circle is inside
    east, north = radius * np.cos(true_m / 40), radius * np.sin(true_m / 40)
    station_m, offset_m = nearest_foot(ring, true_m + np.array([4.0, -5.0, 2.0]), east, north)
    assert station_m == pytest.approx(true_m, abs=0.01)
    assert offset_m == pytest.approx([3.0, -2.0, 0.5], abs=0.01)
