"""The reference path against closed forms, real circuits and the same path seen otherwise."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe
from shapely import LinearRing, LineString, Point, is_ccw

from lapwright.geometry import ReferencePath

# Athletics track by the World Athletics rule: straights 84.39 m, running line of lane 1 at
# 36.80 m.  The curvature jumps at the four junctions.
STRAIGHT, BEND = 84.39, np.pi * 36.80
ATHLETICS = [
    (STRAIGHT, 0.0, 0.0),
    (BEND, 1 / 36.80, 1 / 36.80),
    (STRAIGHT, 0.0, 0.0),
    (BEND, 1 / 36.80, 1 / 36.80),
]
# Oval of clothoids: R 50 m, spirals of 40 m, straights of 300 m.  A bend turns by pi, so its arc
# is pi R less one spiral.
SPIRAL, ARC = 40.0, np.pi * 50.0 - 40.0
OVAL = 2 * [
    (300.0, 0.0, 0.0),
    (SPIRAL, 0.0, 1 / 50.0),
    (ARC, 1 / 50.0, 1 / 50.0),
    (SPIRAL, 1 / 50.0, 0.0),
]


@pytest.mark.parametrize("heading", [0.0, np.pi / 2, np.pi, -np.pi / 2])
@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_a_circle_of_100_m(heading: float, turn: float) -> None:
    # Closed form: length 2 pi R = 628.318531 m, curvature 0.01 /m, left positive (ISO 8855).
    angle = heading - turn * np.pi / 2 + turn * np.arange(400) * (2.0 * np.pi / 400)
    path = ReferencePath(100.0 * np.cos(angle), 100.0 * np.sin(angle))
    assert path.length_m == pytest.approx(628.318530718, rel=1e-6)
    point = path.at(np.linspace(0.0, 628.0, 1000))
    assert point.curvature_per_m == pytest.approx(turn * 0.01, rel=1e-4)
    assert np.cos(point.heading_rad[0] - heading) == pytest.approx(1.0, abs=1e-9)
    assert path.turning == turn
    assert path.direction == ("anticlockwise" if turn > 0 else "clockwise")
    assert path.signed_area_m2 == pytest.approx(turn * np.pi * 1e4, rel=1e-5)


def test_the_athletics_track_is_400_m(traced) -> None:
    # World Athletics: 2 x 84.39 m + 2 pi 36.80 m = 400.0012 m; curvature 0.027174 /m.
    path = ReferencePath(*traced(ATHLETICS, step=1.0))
    assert path.length_m == pytest.approx(400.0012, abs=1e-3)
    middle = STRAIGHT + BEND / 2
    # A spline through points h apart on a circle bends too much by h^2/12R^2, here 6e-5.
    assert path.at(middle).curvature_per_m == pytest.approx(0.027174, rel=1e-4)
    assert path.at(STRAIGHT / 2).curvature_per_m == pytest.approx(0.0, abs=1e-6)
    # Each straight is 84.39 m, each bend 115.6106 m: stations at the ends of the bends.
    ends = path.project([STRAIGHT, 0.0], [0.0, 2 * 36.80])[0]
    assert ends == pytest.approx([84.39, 2 * 84.39 + 115.6106], abs=2e-3)


@pytest.mark.parametrize(
    ("lane", "length"),
    # Printed in guides quoting the rule, staggers 7.04 to 53.03 m: lanes 2 to 8 lie
    # 1.12 + 1.22 (lane - 2) m outside lane 1's running line.
    [
        (2, 407.038),
        (3, 414.704),
        (4, 422.369),
        (5, 430.035),
        (6, 437.700),
        (7, 445.366),
        (8, 453.031),
    ],
)
def test_the_outer_lanes_of_the_athletics_track(traced, lane: int, length: float) -> None:
    path = ReferencePath(*traced(ATHLETICS, step=0.5))
    outside = 1.12 + 1.22 * (lane - 2)
    # Anticlockwise, so outside is to the right: a negative offset.
    east, north = path.beside(path.stations(0.5), -outside)
    assert ReferencePath(east, north).length_m == pytest.approx(length, abs=2e-3)


def test_the_clothoid_oval(traced) -> None:
    # Fresnel closed form: lap 994.159265 m, distance between the straights 102.651480 m,
    # area 42 734.004929 m^2.
    east, north = traced(OVAL, step=1.0)
    path = ReferencePath(east, north)
    assert path.length_m == pytest.approx(994.159265, abs=2e-6)
    assert path.signed_area_m2 == pytest.approx(42_734.004929, abs=1e-3)
    assert path.project([150.0], [102.651480180])[1] == pytest.approx(0.0, abs=1e-5)
    # Curvature grows linearly along a spiral: a quarter of the way, a quarter of 1/R.
    station = 300.0 + np.array([10.0, 20.0, 30.0, 40.0 + ARC / 2])
    expected = [0.005, 0.010, 0.015, 0.020]
    assert path.at(station).curvature_per_m == pytest.approx(expected, abs=2e-6)


def test_the_perimeter_and_curvature_of_an_ellipse(ellipse) -> None:
    # Elliptic integral 4 a E(e^2): 2301.311259566 m for semi-axes 500 and 200 m; curvature
    # a/b^2 = 0.0125 and b/a^2 = 0.0008 /m at the ends of the axes.
    assert 4.0 * 500.0 * ellipe(1.0 - 0.4**2) == pytest.approx(2301.311259566, abs=1e-9)
    path = ReferencePath(*ellipse(500.0, 200.0, 2000))
    assert path.length_m == pytest.approx(2301.311259566, rel=1e-8)
    quarter = path.length_m / 4.0
    assert path.at([0.0, quarter]).curvature_per_m == pytest.approx([0.0125, 0.0008], rel=1e-4)


def test_a_lap_turns_through_a_whole_circle(ellipse) -> None:
    # Hopf's Umlaufsatz: the integral of curvature is 2 pi for any simple closed path.
    path = ReferencePath(*ellipse(500.0, 200.0, 400))
    curvature = path.at(path.stations(0.01)).curvature_per_m
    # Sums over a curvature with kinks at the vertices are good to (0.01 m / 5.7 m)^2.
    assert np.mean(curvature) * path.length_m == pytest.approx(2.0 * np.pi, rel=1e-8)
    assert path.turning == 1
    assert path.reversed().turning == -1


def test_a_figure_of_eight_turns_not_at_all() -> None:
    angle = np.arange(500) * (2.0 * np.pi / 500)
    path = ReferencePath(300.0 * np.cos(angle), 150.0 * np.sin(2.0 * angle))
    assert path.turning == 0
    assert np.mean(path.at(path.stations(0.5)).curvature_per_m) == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize("offset", [-15.0, -3.0, 4.0, 12.0])
def test_a_parallel_path_is_shorter_by_2_pi_times_the_offset(ellipse, offset: float) -> None:
    # Steiner's formula, L(n) = L - 2 pi n times the turning number.
    path = ReferencePath(*ellipse(300.0, 150.0, 3000))
    parallel = ReferencePath(*path.beside(path.stations(0.5), offset))
    assert parallel.length_m == pytest.approx(path.length_m - 2.0 * np.pi * offset, rel=1e-7)


def test_the_spline_does_not_cut_corners_as_a_polyline_does() -> None:
    # Series: a polyline with vertices d apart on a circle of radius R is short by d^2/24R^2,
    # 4.2e-4 at R 20 m and d 2 m.
    count = round(2.0 * np.pi * 20.0 / 2.0)
    angle = np.arange(count) * (2.0 * np.pi / count)
    east, north = 20.0 * np.cos(angle), 20.0 * np.sin(angle)
    circumference = 2.0 * np.pi * 20.0
    short = 1.0 - LinearRing(np.stack([east, north], axis=1)).length / circumference
    assert short == pytest.approx(4.2e-4, rel=0.02)
    assert ReferencePath(east, north).length_m == pytest.approx(circumference, rel=1e-6)


def test_stations_are_arc_length(ellipse) -> None:
    # Chords of 1 mm between points a millimetre of station apart, anywhere; uneven vertices.
    angle = np.cumsum(np.random.default_rng(5).uniform(0.5, 1.5, 300))
    angle *= 2.0 * np.pi / angle[-1]
    path = ReferencePath(400.0 * np.cos(angle), 120.0 * np.sin(angle))
    station = np.linspace(0.0, path.length_m, 5000)
    ahead, here = path.at(station + 5e-4), path.at(station - 5e-4)
    chord = np.hypot(ahead.east_m - here.east_m, ahead.north_m - here.north_m)
    assert chord == pytest.approx(1e-3, rel=1e-5)
    # Over the whole lap, against a polyline so fine that its chords are 1e-9 short.
    fine = path.at(np.arange(400_000) * (path.length_m / 400_000))
    ring = LinearRing(np.stack([fine.east_m, fine.north_m], axis=1))
    assert ring.length == pytest.approx(path.length_m, rel=1e-8)


def test_direction_agrees_with_shapely(ellipse) -> None:
    east, north = ellipse(90.0, 60.0, 60)
    ring = LinearRing(np.stack([east, north], axis=1))
    assert is_ccw(ring)
    assert ReferencePath(east, north).direction == "anticlockwise"
    assert ReferencePath(east, north).reversed().direction == "clockwise"


def test_projection_agrees_with_shapely(ellipse) -> None:
    path = ReferencePath(*ellipse(300.0, 150.0, 600))
    fine = path.at(path.stations(0.005))
    line = LineString(np.stack([fine.east_m, fine.north_m], axis=1))
    rng = np.random.default_rng(3)
    station, offset = rng.uniform(10.0, path.length_m - 10.0, 60), rng.uniform(-40, 40, 60)
    east, north = path.beside(station, offset)
    ours, left = path.project(east, north)
    # The way there and back, and shapely's distance along a polyline with pieces of 5 mm, each
    # turning by 6e-5 rad: at 40 m its feet are up to 1.3 mm out.
    assert ours == pytest.approx(station, abs=1e-6)
    assert left == pytest.approx(offset, abs=1e-6)
    theirs = [line.project(Point(e, n)) for e, n in zip(east, north, strict=True)]
    assert ours == pytest.approx(theirs, abs=2e-3)


def test_projection_near_a_station_stays_there() -> None:
    # A circle of 100 m seen from near its middle: the foot is where one is told to look.
    angle = np.arange(400) * (2.0 * np.pi / 400)
    path = ReferencePath(100.0 * np.cos(angle), 100.0 * np.sin(angle))
    station, offset = path.project([40.0], [0.0], near_m=[3.0])
    assert station == pytest.approx(0.0, abs=1e-6) or station == pytest.approx(path.length_m)
    assert offset == pytest.approx(60.0)


@given(
    turn=st.floats(-4, 4),
    east=st.floats(-2000, 2000),
    north=st.floats(-2000, 2000),
    roll=st.integers(0, 119),
)
@settings(max_examples=40, deadline=None)
def test_the_same_path_elsewhere_and_from_another_start(
    turn: float, east: float, north: float, roll: int
) -> None:
    angle = np.arange(120) * (2.0 * np.pi / 120)
    radius = 300.0 + 60.0 * np.cos(3.0 * angle) + 20.0 * np.sin(5.0 * angle)
    shape = radius * np.exp(1j * angle)
    path = ReferencePath(shape.real, shape.imag)
    moved = np.roll(shape, -roll) * np.exp(1j * turn) + (east + 1j * north)
    other = ReferencePath(moved.real, moved.imag)
    assert other.length_m == pytest.approx(path.length_m, rel=1e-12)
    station = np.linspace(0.0, path.length_m, 97)
    start = path.vertex_stations_m[roll]
    expected = path.at(station + start)
    found = other.at(station)
    # The curve is laid down in other half-metre pieces, which the curvature shows most.
    assert found.curvature_per_m == pytest.approx(expected.curvature_per_m, abs=1e-5)

    assert np.cos(found.heading_rad - expected.heading_rad - turn) == pytest.approx(1.0)


def test_a_mirrored_world_swaps_left_and_right(traced) -> None:
    east, north = traced(OVAL, step=2.0)
    path, mirror = ReferencePath(east, north), ReferencePath(-east, north)
    station = np.linspace(0.0, path.length_m, 300)
    assert mirror.length_m == pytest.approx(path.length_m, rel=1e-12)
    assert mirror.at(station).curvature_per_m == pytest.approx(
        -path.at(station).curvature_per_m, abs=1e-9
    )
    points = path.beside(station, 6.0)
    assert mirror.project(-points[0], points[1])[1] == pytest.approx(-6.0, abs=1e-6)


def test_driven_the_other_way(traced) -> None:
    path = ReferencePath(*traced(OVAL, step=2.0)).shifted(123.0)
    back = path.reversed()
    station = np.linspace(0.0, path.length_m, 100)
    there, here = path.at(station), back.at(-station)
    assert here.east_m == pytest.approx(there.east_m, abs=1e-6)
    assert here.north_m == pytest.approx(there.north_m, abs=1e-6)
    assert here.curvature_per_m == pytest.approx(-there.curvature_per_m, abs=1e-6)
    assert np.cos(here.heading_rad - there.heading_rad) == pytest.approx(-1.0)


def test_shifting_changes_nothing_but_the_origin(traced) -> None:
    path = ReferencePath(*traced(OVAL, step=3.0))
    moved = path.shifted(417.3).shifted(-20.0)
    station = np.linspace(-2000.0, 2000.0, 501)
    for ours, theirs in zip(moved.at(station), path.at(station + 397.3), strict=True):
        assert ours == pytest.approx(theirs, abs=1e-8)
    assert moved.vertex_stations_m[0] == pytest.approx(path.length_m - 397.3)


def test_a_resampled_path_is_the_same_path(traced) -> None:
    path = ReferencePath(*traced(OVAL, step=4.0)).shifted(50.0)
    other = path.resampled(2.5)
    assert other.length_m == pytest.approx(path.length_m, rel=1e-7)
    station = np.linspace(0.0, 900.0, 200)
    assert other.at(station).east_m == pytest.approx(path.at(station).east_m, abs=2e-3)


def test_one_station_or_many() -> None:
    angle = np.arange(50) * (2.0 * np.pi / 50)
    path = ReferencePath(100.0 * np.cos(angle), 100.0 * np.sin(angle))
    assert path.at(0.0).east_m.shape == ()
    assert path.at(np.zeros((2, 3))).heading_rad.shape == (2, 3)
    assert float(path.at(path.length_m).east_m) == pytest.approx(100.0)
    assert pickle.loads(pickle.dumps(path)).length_m == path.length_m


@pytest.mark.parametrize(
    ("east", "north", "message"),
    [
        ([0, 1, 1, 0], [0, 0, 1, 1], "five or more vertices, not 4"),
        ([0, 1, 2, 1, 0], [0, 0, 1, 2], "as many east as north"),
        ([0, 1, np.nan, 1, 0], [0, 0, 1, 2, 1], "not finite"),
        ([0, 1, 2, 2, 1, 0], [0, 0, 1, 1, 2, 1], "vertex 3 of the path and the one after it"),
        ([0, 1, 2, 1, 0], [0, 0, 1, 2, 0], "vertex 5 of the path and the one after it"),
    ],
)
def test_a_path_refuses_nonsense(east: list, north: list, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        ReferencePath(east, north)


def test_whole_metres_are_metres() -> None:
    # A square of 100 m with its corners cut, in integers as a person may type them.
    east, north = (
        [0, 50, 100, 120, 120, 100, 50, 0, -20, -20],
        [0, 0, 0, 20, 60, 80, 80, 80, 60, 20],
    )
    path = ReferencePath(east, north)
    assert path.east_m.dtype == path.north_m.dtype == np.float64
    floats = ReferencePath(np.array(east, dtype=float), np.array(north, dtype=float))
    assert path.length_m == floats.length_m
