"""A track as a value: the line is station 0, and every change gives a new track."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from lapwright.geometry import Corner, Gate, ReferencePath, Track
from lapwright.geometry.corner import CornerMark
from lapwright.geometry.corner_list import measured
from lapwright.plane import Plane

STRAIGHT, BEND = 84.39, np.pi * 36.80
PLANE = Plane(51.2, -1.4, 120.0)


@pytest.fixture
def path(traced) -> ReferencePath:
    """The athletics track, anticlockwise, from the start of the southern straight."""
    bend = (BEND, 1 / 36.80, 1 / 36.80)
    return ReferencePath(
        *traced([(STRAIGHT, 0.0, 0.0), bend, (STRAIGHT, 0.0, 0.0), bend], step=1.0)
    )


@pytest.fixture
def track(path) -> Track:
    """Line 20 m along the southern straight, one sector line on the northern one."""
    return Track(
        name="Wren Hollow",
        plane=PLANE,
        start_finish=Gate((20.0, 6.0), (20.0, -6.0)),
        sectors=(Gate((50.0, 2 * 36.8 - 6.0), (50.0, 2 * 36.8 + 6.0)),),
        path=path,
        corners=(
            measured(path, "", STRAIGHT, STRAIGHT + BEND),
            measured(path, "Kiln", 2 * STRAIGHT + BEND, 2 * (STRAIGHT + BEND) - 0.01),
        ),
    )


def test_the_line_is_station_0(track, path) -> None:
    here = track.path.at(0.0)
    assert (float(here.east_m), float(here.north_m)) == pytest.approx((20.0, 0.0), abs=1e-6)
    assert track.length_m == path.length_m
    # From 20 m along the one straight to (84.39 - 50) m along the other.
    sector = STRAIGHT - 20.0 + BEND + STRAIGHT - 50.0
    assert track.gate_stations_m == pytest.approx([0.0, sector], abs=1e-3)
    assert track.direction == "anticlockwise"
    # Corners came as stations on the path that was given.
    assert [(c.order, c.name) for c in track.corners] == [(1, "1"), (2, "Kiln")]
    assert track.corners[0].entry_m == pytest.approx(STRAIGHT - 20.0, abs=1e-5)


def test_building_it_again_changes_nothing(track) -> None:
    again = track.renamed("Fen Lane").renamed("Wren Hollow")
    assert again.path is track.path
    assert again.corners == track.corners
    assert again.sectors == track.sectors


def test_a_path_driven_against_the_line(track, path) -> None:
    with pytest.raises(ValueError, match="crosses the start/finish line the wrong way"):
        Track("", PLANE, track.start_finish, path=path.reversed())
    clockwise = Track("", PLANE, track.start_finish.reversed(), path=path.reversed())
    assert clockwise.direction == "clockwise"


def test_sector_lines_come_into_driving_order(track) -> None:
    south_end = Gate((70.0, 6.0), (70.0, -6.0))
    both = track.with_sectors([])
    assert both.gate_stations_m.tolist() == [0.0]
    mixed = Track("", PLANE, track.start_finish, (*track.sectors, south_end), track.path)
    assert mixed.sectors == (south_end, track.sectors[0])
    assert mixed.gate_stations_m[1] == pytest.approx(50.0, abs=1e-6)


def test_a_start_line_at_a_station(track) -> None:
    moved = track.with_start_line_at_station(100.0, width_m=14.0)
    assert moved.start_finish.width_m == pytest.approx(14.0)
    for ours, theirs in zip(moved.path.at([0.0, 50.0]), track.path.at([100.0, 150.0]), strict=True):
        assert ours == pytest.approx(theirs, abs=1e-6)
    # Within corner 1, before its middle or after it: the numbers follow, and the name stays.
    assert [c.name for c in moved.corners].count("Kiln") == 1
    assert moved.gate_stations_m[1] == pytest.approx(track.gate_stations_m[1] - 100.0, abs=1e-6)


def test_a_start_line_from_two_points_either_way_round(track) -> None:
    left, right = PLANE.point_deg((60.0, 5.0)), PLANE.point_deg((60.0, -5.0))
    for ends in ((left, right), (right, left)):
        moved = track.with_start_line(*ends)
        assert moved.start_finish.left_m == pytest.approx((60.0, 5.0), abs=1e-6)
        assert float(moved.path.at(0.0).east_m) == pytest.approx(60.0, abs=1e-6)


def test_a_start_line_from_a_point_and_a_compass_heading(path) -> None:
    # 30 km east of its origin, a plane's north is 0.3 degrees off; the heading is a true one.
    plane = Plane(51.2, -1.4)
    point = plane.point_deg((30_000.0, 0.0))
    track = Track("", plane, Gate((0.0, 1.0), (0.0, -1.0)))
    gate = track.with_start_line_at(*point, heading_deg=77.0, width_m=40.0).start_finish
    # The ends lie 20 m from the middle to the left (77 - 90) and right (77 + 90 degrees) of it:
    # azimuths by Karney's geodesics (geographiclib), read to 1e-6 degrees at 20 m.
    earth = Geodesic.WGS84
    for end, azimuth in ((gate.left_m, -13.0), (gate.right_m, 167.0)):
        line = earth.Inverse(*point, *plane.point_deg(end))
        assert line["azi1"] == pytest.approx(azimuth, abs=1e-4)
        # 30 km out the plane's scale is 1 + 11e-6.
        assert line["s12"] == pytest.approx(20.0, rel=2e-5)


def test_one_more_sector_at_a_station(track) -> None:
    more = track.with_sector_at(30.0)
    assert more.gate_stations_m == pytest.approx([0.0, 30.0, track.gate_stations_m[1]], abs=1e-6)
    assert len(track.sectors) == 1


def test_changes_to_corners(track) -> None:
    assert track.with_corner_names({1: "Mill"}).corners[0].name == "Mill"
    one = track.merge_corners(1, 2)
    assert [c.name for c in one.corners] == ["Kiln"]
    two = one.split_corner(1, 200.0, ("Mill", ""))
    assert [c.name for c in two.corners] == ["Mill", "2"]
    assert len(track.without_corner(1).corners) == 1
    three = track.add_corner("", 20.0, 40.0)
    assert [(c.order, c.name) for c in three.corners] == [(1, "1"), (2, "2"), (3, "Kiln")]


def test_a_new_path_keeps_the_names_of_a_files_marks(track, path) -> None:
    apex = tuple(float(v) for v in path.beside(STRAIGHT + BEND / 2, 3.0))
    bare = Track("", PLANE, track.start_finish, corner_marks=(CornerMark(1, "Mill", apex),))
    with pytest.raises(ValueError, match="no path yet"):
        _ = bare.length_m
    with pytest.raises(ValueError, match="no path yet"):
        _ = bare.gate_stations_m
    found = [measured(path, "", STRAIGHT, STRAIGHT + BEND)]
    whole = bare.with_path(path, found, length_sd_m=0.4)
    assert [(c.order, c.name) for c in whole.corners] == [(1, "Mill")]
    assert whole.corners[0].entry_m == pytest.approx(STRAIGHT - 20.0, abs=1e-5)
    assert whole.length_sd_m == 0.4


def test_on_a_higher_plane_everything_is_a_little_longer(track) -> None:
    # h/R: 1000 m higher makes 157 ppm.
    high = track.with_pit_lane(*PLANE.to_degrees([0.0, 40.0], [-12.0, -12.0])).on_plane(
        Plane(51.21, -1.41, 1120.0)
    )
    assert high.length_m / track.length_m - 1.0 == pytest.approx(157e-6, abs=2e-6)
    assert high.start_finish_deg == pytest.approx(np.array(track.start_finish_deg), abs=1e-9)
    assert float(high.corners[0].apex_m) == pytest.approx(
        track.corners[0].apex_m * (1 + 157e-6), abs=1e-3
    )
    assert high.apex_deg(high.corners[1]) == pytest.approx(
        track.apex_deg(track.corners[1]), abs=1e-7
    )
    assert high.pit_lane.shape == (2, 2)
    assert track.on_plane(PLANE) is track


def test_without_a_pit_lane(track) -> None:
    lane = track.with_pit_lane(*PLANE.to_degrees([0.0, 40.0], [-12.0, -12.0]))
    assert lane.pit_lane == pytest.approx(np.array([[0.0, -12.0], [40.0, -12.0]]), abs=1e-6)
    assert lane.with_pit_lane(None).pit_lane is None
    with pytest.raises(ValueError, match="read-only"):
        lane.pit_lane[0, 0] = 1.0


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"name": 5}, "a track's name is text, not 5; put it in quotes"),
        ({"direction": "left"}, "'clockwise' or 'anticlockwise', not 'left'"),
        ({"pit_lane": np.zeros((1, 2))}, "pit lane needs two or more"),
        ({"sectors": (Gate((500.0, 0.0), (500.0, 9.0)),)}, "does not cross sector line 1"),
        (
            {"sectors": (Gate((50.0, 6.0), (50.0, -6.0)), Gate((50.5, 6.0), (50.5, -6.0)))},
            "sector line 2 is at the same place as sector line 1",
        ),
        (
            {"sectors": (Gate((19.5, 6.0), (19.5, -6.0)),)},
            "sector line 1 is at the same place as the start/finish line",
        ),
        (
            {"sectors": (Gate((50.0, -6.0), (50.0, 6.0)),)},
            "crosses sector line 1 the wrong way",
        ),
    ],
)
def test_a_track_refuses_nonsense(track, fields, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Track(
            **{"name": "", "plane": PLANE, "start_finish": track.start_finish, "path": track.path}
            | fields
        )


def test_corners_are_where_the_track_file_says(track) -> None:
    corner = Corner(1, "Mill", "left", 60.0, 100.0, 160.0, 36.8)
    assert track.with_corners([corner]).corners == (corner,)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda t: t.with_start_line_at(-1.4, 51.2, 90.0), "51.2 are not near .* look swapped"),
        (lambda t: t.with_start_line((-1.4, 51.2), (-1.4, 51.3)), "look swapped"),
        (lambda t: t.with_start_line_at(51.2, 151.2, 90.0), "151.2 are not near the track$"),
        (lambda t: t.with_start_line_at(151.2, 1.4, 90.0), "latitude 151.2 .* the track$"),
        (lambda t: t.with_start_line_at(np.nan, 1.4, 90.0), "latitude nan"),
        (lambda t: t.with_start_line_at(51.2, -1.4, np.inf), "heading must be a number"),
        (lambda t: t.with_start_line_at(51.2, -1.4, 90.0, -2.0), "width of a gate"),
        (lambda t: t.with_sectors([((-1.4, 51.2), (-1.4, 51.3))]), "look swapped"),
        (lambda t: t.with_start_line_at_station(np.nan), "station must be a number"),
        (lambda t: t.with_sector_at(np.inf), "station must be a number"),
        (lambda t: t.with_sector_at(0.3), "same place as the start/finish line"),
        (lambda t: t.add_corner("", 50.0, 150.0), "after corner"),
    ],
)
def test_changes_that_make_no_sense(track, change, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        change(track)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda t: t.with_start_line(None, (51.2, -1.4)), "left_deg is None; give 2 values"),
        (lambda t: t.with_corner_names({1: 5}), "names is a dict; give a mapping"),
        (lambda t: t.renamed(None), "name is None; give text"),
    ],
)
def test_changes_of_the_wrong_kind(track, change, message: str) -> None:
    with pytest.raises(TypeError, match=message):
        change(track)
