"""Shapes: lengths, areas and turning against closed forms."""

import numpy as np
import pytest

from lapwright.simulate.circuit import shapes
from lapwright.simulate.circuit.circuits import Circuit


def _turning(east: np.ndarray, north: np.ndarray) -> float:
    z = east + 1j * north
    way = np.roll(z, -1) - z
    return float(np.sum(np.angle(np.roll(way, -1) / way)))


def test_clothoid_oval_against_fresnel_closed_form() -> None:
    # R 50 m, spirals 40 m, straights 300 m: lap 994.159265 m, straights 102.651480180 m
    # apart, overall 439.787612318 m, area 42 734.004929 m^2 (Fresnel integrals, mpmath;
    # closed to 1e-9 m by an independent integration).
    east, north = shapes.clothoid_oval(300.0, 40.0, 50.0)
    length = Circuit("oval", east, north).length_m
    # The spline through vertices 1 m apart rounds the kinks of curvature off: 2e-6 m.
    assert length == pytest.approx(994.159265, abs=4e-6)
    assert north.max() - north.min() == pytest.approx(102.651480180, abs=1e-6)
    fine_east, fine_north = shapes.even(east, north, 0.02)
    assert fine_east.max() - fine_east.min() == pytest.approx(439.787612318, abs=1e-5)
    area = 0.5 * np.sum(fine_east * np.roll(fine_north, -1) - fine_north * np.roll(fine_east, -1))
    assert area == pytest.approx(42734.004929, abs=0.01)  # chords of 2 cm
    assert _turning(east, north) == pytest.approx(2 * np.pi, abs=1e-9)


def test_clothoid_oval_refuses_spirals_that_turn_too_far() -> None:
    with pytest.raises(ValueError, match="more than half a circle"):
        shapes.clothoid_oval(300.0, 200.0, 50.0)


@pytest.mark.parametrize("clockwise", [False, True])
def test_circle(clockwise: bool) -> None:
    # 2 pi 100 m = 628.318531 m.
    circuit = Circuit("c", *shapes.circle(100.0, clockwise))
    assert circuit.length_m == pytest.approx(628.318531, abs=1e-4)
    kappa = circuit.curvature(np.linspace(0, 628, 50))
    np.testing.assert_allclose(kappa, -0.01 if clockwise else 0.01, rtol=1e-4)


def test_even_keeps_ellipse_length() -> None:
    # Ellipse 500 x 200 m: 2301.311259566 m (complete elliptic integral, mpmath).
    angle = np.sort(np.random.default_rng(1).uniform(0, 2 * np.pi, 4000))
    east, north = shapes.even(500 * np.cos(angle), 200 * np.sin(angle))
    steps = np.hypot(np.roll(east, -1) - east, np.roll(north, -1) - north)
    # Chords are shorter than their arcs by d^2/(24 R^2), 7e-6 at the ends.
    np.testing.assert_allclose(steps, 2301.311259566 / len(steps), rtol=1e-5)


def test_figure_of_eight_turns_as_much_left_as_right() -> None:
    # Turning number of a figure of eight: 0 (Hopf's Umlaufsatz is for simple curves).
    assert _turning(*shapes.figure_of_eight()) == pytest.approx(0.0, abs=1e-9)
    with pytest.raises(ValueError, match="farther than the radius"):
        shapes.figure_of_eight(100.0, 90.0)


def test_parallel_straights_are_eight_metres_apart() -> None:
    east, north = shapes.parallel_straights(8.0)
    middle = (east > 150) & (east < 250) & (np.abs(north) < 10)
    np.testing.assert_allclose(np.abs(north[middle]), 4.0, rtol=0, atol=1e-6)
    assert {True, False} == set((north[middle] > 0).tolist())
    assert _turning(east, north) == pytest.approx(2 * np.pi)


def test_rounded_polygon_refuses_arcs_that_do_not_fit() -> None:
    square = [(0.0, 0.0, 60.0), (100.0, 0.0, 60.0), (100.0, 100.0, 60.0), (0.0, 100.0, 60.0)]
    with pytest.raises(ValueError, match=r"need 120\.0 m of 100\.0 m"):
        shapes.rounded_polygon(square)


def test_rounded_square_length() -> None:
    # 4 sides of 200 m less 2 x 40 m each, and a circle of 40 m: 480 + 251.327 m; smoothing
    # by 2 m takes about sd^2 / 2 R from each radius, 2 pi 0.05 m in all.
    square = [(0.0, 0.0, 40.0), (200.0, 0.0, 40.0), (200.0, 200.0, 40.0), (0.0, 200.0, 40.0)]
    circuit = Circuit("square", *shapes.rounded_polygon(square, sd_m=2.0))
    assert circuit.length_m == pytest.approx(480 + 80 * np.pi, abs=0.5)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_random_shapes_are_closed_simple_and_repeatable(seed: int) -> None:
    east, north = shapes.random_shape(seed, 2400.0)
    again = shapes.random_shape(seed, 2400.0)
    np.testing.assert_array_equal(east, again[0])
    assert len(east) == pytest.approx(2400, rel=0.01)
    assert abs(_turning(east, north)) == pytest.approx(2 * np.pi, abs=1e-6)
