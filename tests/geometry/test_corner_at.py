"""A corner from one point."""

import numpy as np
import pytest

from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.geometry.corner_at import corner_at
from lapwright.geometry.corner_list import measured
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)
# A kink of 12 degrees at 200 m between two straights of 400 m; arcs of 60 m and a straight.
KINK_M = np.deg2rad(12.0) * 200.0
KINK_MIDDLE_M = 400.0 + KINK_M / 2


@pytest.fixture(scope="module")
def path() -> ReferencePath:
    bends = np.array([0.0, 1 / 200.0, 0.0, 1 / 60.0, 0.0, 1 / 60.0])
    arc_m, fine_m = np.deg2rad(174.0) * 60.0, 0.05

    def shape(last_m: float):
        edges = np.cumsum([400.0, KINK_M, 400.0, arc_m, last_m, arc_m])
        s = np.arange(fine_m / 2, edges[-1], fine_m)
        return np.cumsum(np.exp(1j * np.cumsum(bends[np.searchsorted(edges, s)]) * fine_m)) * fine_m

    # What is missing lies along the last straight: the two halves are mirror images.
    points = shape(abs(shape(0.0)[-1]))[:: round(2.0 / fine_m)]
    return ReferencePath(points.real, points.imag)


@pytest.fixture(scope="module")
def track(path: ReferencePath) -> Track:
    line = path.at(100.0)
    gate = Gate.across((float(line.east_m), float(line.north_m)), float(line.heading_rad), 20.0)
    return Track("Kinked", PLANE, gate, path=path)


@pytest.mark.parametrize("off_m", [-35.0, 0.0, 30.0])
def test_a_point_near_a_bend_is_that_bend(path: ReferencePath, off_m: float) -> None:
    corner = corner_at(path, (), "Kink", KINK_MIDDLE_M + off_m)
    assert (corner.name, corner.direction) == ("Kink", "left")
    assert corner.apex_m == pytest.approx(KINK_MIDDLE_M, abs=3.0)
    # Smoothed over 10 m, the bend of 42 m is a little longer, and a little wider at its top.
    assert corner.entry_m == pytest.approx(400.0, abs=12.0)
    assert corner.exit_m == pytest.approx(400.0 + KINK_M, abs=12.0)
    assert corner.radius_m == pytest.approx(200.0, rel=0.1)


def test_a_point_on_a_straight_is_a_short_stretch_about_it(path: ReferencePath) -> None:
    corner = corner_at(path, (), "Bump", 200.0)
    assert (corner.entry_m, corner.apex_m, corner.exit_m) == pytest.approx((160.0, 200.0, 240.0))
    assert corner.radius_m > 1000.0


def test_a_corner_ends_where_its_neighbours_begin(path: ReferencePath) -> None:
    before = measured(path, "A", 150.0, 180.0)
    after = measured(path, "B", 215.0, 260.0)
    corner = corner_at(path, [before, after], "Bump", 200.0)
    assert (corner.entry_m, corner.exit_m) == pytest.approx((180.0, 215.0))
    kink = corner_at(path, [measured(path, "C", 360.0, 410.0)], "Kink", 425.0)
    assert kink.entry_m >= 410.0
    assert kink.direction == "left"


@pytest.mark.parametrize(
    ("at_m", "message"),
    [
        (170.0, r"corner 'X' lies in corner 'A', which reaches from 150 to 180 m; rename,"),
        (184.0, r"corner 'X': there are only 8 m between its neighbours"),
        (float("nan"), r"corner 'X': its place must be a number of metres, not nan"),
    ],
)
def test_a_place_that_can_be_no_corner(path: ReferencePath, at_m: float, message: str) -> None:
    corners = [measured(path, "A", 150.0, 180.0), measured(path, "B", 188.0, 260.0)]
    with pytest.raises(ValueError, match=message) as caught:
        corner_at(path, corners, "X", at_m)
    assert "\n" not in str(caught.value)


def test_a_corner_is_added_at_a_station_or_a_place(track: Track) -> None:
    # Stations of the track count from its line, 100 m on.
    by_station = track.add_corner("Kink", at=KINK_MIDDLE_M - 100.0)
    place_deg = by_station.apex_deg(by_station.corners[0])
    by_place = track.add_corner("Kink", at=place_deg)
    for one in (by_station, by_place):
        assert [c.name for c in one.corners] == ["Kink"]
        assert one.corners[0].apex_m == pytest.approx(KINK_MIDDLE_M - 100.0, abs=3.0)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({}, "corner 'X': give entry_m and exit_m, or instead of them one place as at"),
        ({"entry_m": 10.0}, "give entry_m and exit_m"),
        ({"entry_m": 10.0, "exit_m": 50.0, "at": 30.0}, "give entry_m and exit_m"),
        ({"at": (52.0, 5.02)}, r"corner 'X' is \d+ m away from the path; put the point on the"),
        ({"at": (5.0, 52.0)}, "they look swapped: latitude comes first"),
    ],
)
def test_what_cannot_be_added_is_said_in_one_line(track: Track, given, message: str) -> None:
    with pytest.raises(ValueError, match=message) as caught:
        track.add_corner("X", **given)
    assert "\n" not in str(caught.value)
