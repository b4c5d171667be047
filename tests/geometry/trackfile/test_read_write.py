"""Track files: there and back, valid for other programs, and every way they can be broken."""

import copy
import json
import os
import re
import stat
from pathlib import Path

import geojson
import numpy as np
import pytest
import shapely.geometry
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from lapwright.errors import OutputError, TrackError
from lapwright.geometry import Gate, ReferencePath, Track, read_track, write_track
from lapwright.geometry.corner_list import measured
from lapwright.geometry.trackfile.read_write import track_geojson
from lapwright.plane import Plane


def egg(plane: Plane, direction: int = 1) -> Track:
    """A circuit of 1.7 km with two sectors, two corners and a pit lane around a plane's origin."""
    angle = direction * np.arange(240) * (2.0 * np.pi / 240)
    path = ReferencePath(360.0 * np.cos(angle) * (1.0 + 0.2 * np.sin(angle)), 170.0 * np.sin(angle))

    def gate(station: float) -> Gate:
        point = path.at(station)
        centre = (float(point.east_m), float(point.north_m))
        return Gate.across(centre, float(point.heading_rad), 24.0)

    return Track(
        name="Möwe Ring",
        plane=plane,
        start_finish=gate(111.0),
        sectors=(gate(600.0), gate(1100.0)),
        path=path,
        corners=(measured(path, "Kiln", 700.0, 950.0), measured(path, "", 1500.0, 1700.0)),
        pit_lane=np.stack(path.beside(np.linspace(20.0, 220.0, 9), -14.0), axis=1),
        length_sd_m=0.312,
    )


PLACES = [
    Plane(51.2, -1.4, 120.0),
    Plane(-37.8, 144.9),
    Plane(-16.5, 180.0, 40.0),
    Plane(0.0, 179.9995),
]


@pytest.mark.parametrize("plane", PLACES)
@pytest.mark.parametrize("direction", [1, -1])
def test_there_and_back(tmp_path: Path, plane: Plane, direction: int) -> None:
    track = egg(plane, direction)
    file = tmp_path / "egg.geojson"
    write_track(track, file)
    back = read_track(file)
    assert (back.name, back.source, back.direction) == ("Möwe Ring", "file", track.direction)
    assert back.plane.height_m == plane.height_m
    # Nine decimals of a degree: half of 0.11 mm a coordinate.
    assert back.length_m == pytest.approx(track.length_m, abs=1e-3)
    assert back.gate_stations_m == pytest.approx(track.gate_stations_m, abs=1e-3)
    assert np.array(back.start_finish_deg) == pytest.approx(
        np.array(track.start_finish_deg), abs=1e-9
    )
    stations = np.linspace(0.0, 1600.0, 50)
    here, there = back.path.at(stations), track.path.at(stations)
    assert here.curvature_per_m == pytest.approx(there.curvature_per_m, abs=1e-4)
    for ours, theirs in zip(back.corners, track.corners, strict=True):
        assert (ours.order, ours.name, ours.direction) == (
            theirs.order,
            theirs.name,
            theirs.direction,
        )
        for field in ("entry_m", "apex_m", "exit_m", "radius_m"):
            assert getattr(ours, field) == pytest.approx(getattr(theirs, field), abs=2e-3)
    lane = back.on_plane(plane).pit_lane
    assert lane == pytest.approx(track.pit_lane, abs=1e-3)
    assert back.length_sd_m == 0.312
    # Written again, the file is the same to the byte.
    again = tmp_path / "again.geojson"
    write_track(back, again)
    first, second = json.loads(file.read_text("utf-8")), json.loads(again.read_text("utf-8"))
    for one, two in zip(first["features"], second["features"], strict=True):
        if one["properties"]["role"] != "corner":
            assert one == two


@pytest.mark.parametrize("plane", PLACES)
def test_other_programs_can_read_it(tmp_path: Path, plane: Plane) -> None:
    file = tmp_path / "egg.geojson"
    track = egg(plane)
    write_track(track, file)
    document = geojson.loads(file.read_text("utf-8"))
    # The geojson package's checks of RFC 7946.
    assert document.is_valid, document.errors()
    assert all(feature.is_valid for feature in document["features"])
    assert "crs" not in document
    geod, metres = Geod(ellps="WGS84"), 0.0
    for feature in json.loads(file.read_text("utf-8"))["features"]:
        shape = shapely.geometry.shape(feature["geometry"])
        assert shape.is_valid
        west, _, east, _ = shape.bounds
        assert -180.0 <= west <= east <= 180.0
        # Nothing is drawn the long way round the earth (RFC 7946, 3.1.9).
        parts = getattr(shape, "geoms", [shape])
        assert all(part.bounds[2] - part.bounds[0] < 0.1 for part in parts)
        if feature["properties"]["role"] == "path":
            metres = geod.geometry_length(shape)
    # The geodesic length of the polyline at height 0: chords of 7 m on radii above 60 m are
    # short by d^2/24R^2 < 6e-4, and h/R is 2e-5.
    assert metres == pytest.approx(track.length_m, rel=7e-4)


def test_a_path_over_the_180_degree_meridian_is_cut(tmp_path: Path) -> None:
    file = tmp_path / "egg.geojson"
    write_track(egg(Plane(-16.5, 180.0)), file)
    by_role = {f["properties"]["role"]: f for f in json.loads(file.read_text("utf-8"))["features"]}
    path = by_role["path"]["geometry"]
    assert path["type"] == "MultiLineString"
    # The egg crosses twice: three parts from the line round to the line.
    assert len(path["coordinates"]) == 3
    for before, after in zip(path["coordinates"][:-1], path["coordinates"][1:], strict=True):
        assert abs(before[-1][0]) == 180.0
        assert before[-1] == [-after[0][0], after[0][1]]
    assert path["coordinates"][0][0] == path["coordinates"][-1][-1]


def test_the_file_is_easy_to_edit(tmp_path: Path) -> None:
    file = tmp_path / "egg.geojson"
    write_track(egg(PLACES[0]), file)
    lines = file.read_text("utf-8").splitlines()
    assert ' "name": "Möwe Ring",' in lines
    assert ' "direction": "anticlockwise",' in lines
    # One position a line.
    assert sum(bool(re.fullmatch(r" *\[-?[\d.]+, -?[\d.]+\].*", line)) for line in lines) > 240
    assert max(map(len, lines)) < 200


MINIMAL = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"role": "start_finish"},
            "geometry": {"type": "LineString", "coordinates": [[-1.0, 51.0], [-0.9998, 51.0]]},
        }
    ],
}


def saved(tmp_path: Path, document: object) -> Path:
    file = tmp_path / "hand.geojson"
    file.write_text(json.dumps(document), encoding="utf-8")
    return file


def test_a_start_finish_line_is_enough(tmp_path: Path) -> None:
    track = read_track(saved(tmp_path, MINIMAL))
    assert track.path is None
    assert track.direction is None
    assert (track.name, track.sectors, track.corners, track.pit_lane) == ("", (), (), None)
    # 0.0002 degrees of longitude at 51 N, where a degree is 70 198 m (WGS 84, closed form).
    assert track.start_finish.width_m == pytest.approx(2e-4 * 70_198, abs=0.01)
    # The left end is the western one: the driver goes north.
    assert track.start_finish.forward == pytest.approx((0.0, 1.0), abs=1e-5)


def test_what_a_person_or_another_program_adds_does_no_harm(tmp_path: Path) -> None:
    document = copy.deepcopy(MINIMAL) | {
        "name": "Fen Lane",
        "direction": "clockwise",
        "crs": {"type": "name"},
        "bbox": [-1, 51, 0, 52],
        "copied_from": "the club's map",
    }
    document["features"] += [
        {"type": "Feature", "properties": None, "geometry": None},
        {"type": "Feature", "properties": {"name": "tea"}, "geometry": None},
        {
            "type": "Feature",
            "properties": {"role": "corner", "order": 2, "name": "Mill", "colour": "#fff"},
            "geometry": {"type": "Point", "coordinates": [-1.001, 51.002, 80.0]},
        },
        {
            "type": "Feature",
            "properties": {"role": "corner", "order": 1},
            "geometry": {"type": "Point", "coordinates": [-1.002, 51.002]},
        },
    ]
    file = tmp_path / "hand.geojson"
    # With the byte order mark that some editors put in front.
    file.write_bytes(b"\xef\xbb\xbf" + json.dumps(document).encode())
    track = read_track(file)
    assert (track.name, track.direction) == ("Fen Lane", "clockwise")
    assert [(mark.order, mark.name) for mark in track.corner_marks] == [(1, "1"), (2, "Mill")]
    # Marks without a path are written again as they were.
    write_track(track, file)
    again = read_track(file)
    assert [mark.name for mark in again.corner_marks] == ["1", "Mill"]
    assert again.direction == "clockwise"
    # What is not ours is kept, also where the track is changed.
    write_track(again.on_plane(Plane(51.0, -1.0, 80.0)).renamed("Fen"), file)
    written = json.loads(file.read_text("utf-8"))
    assert (written["name"], written["copied_from"]) == ("Fen", "the club's map")
    assert "bbox" not in written
    others = [f for f in written["features"] if "role" not in (f["properties"] or {})]
    assert others == document["features"][1:3]


def test_heights_of_positions_set_the_plane(tmp_path: Path) -> None:
    document = copy.deepcopy(MINIMAL)
    document["features"][0]["geometry"]["coordinates"] = [[-1, 51, 300], [-0.9998, 51, 302]]
    assert read_track(saved(tmp_path, document)).plane.height_m == 301.0
    assert read_track(saved(tmp_path, document | {"height_m": 12})).plane.height_m == 12.0


def test_a_path_left_open_by_one_step_is_closed(tmp_path: Path) -> None:
    file = tmp_path / "egg.geojson"
    write_track(egg(PLACES[0]), file)
    document = json.loads(file.read_text("utf-8"))
    coordinates = document["features"][-1]["geometry"]["coordinates"]
    coordinates.pop()
    coordinates.insert(5, coordinates[5])
    assert read_track(saved(tmp_path, document)).length_m == pytest.approx(
        read_track(file).length_m, abs=1e-6
    )


def test_a_kink_drawn_by_hand_is_rounded_off(tmp_path: Path) -> None:
    write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    document = json.loads((tmp_path / "egg.geojson").read_text("utf-8"))
    # 5 m to the north between neighbours some 7 m apart.
    document["features"][-1]["geometry"]["coordinates"][100][1] += 4.5e-5
    track = read_track(saved(tmp_path, document))
    curvature = track.path.at(track.path.stations(0.25)).curvature_per_m
    assert np.abs(curvature).max() <= 1.0 / 7.9


def change(document: dict, path: list, value: object) -> None:
    for key in path[:-1]:
        document = document[key]
    if value is ...:
        del document[path[-1]]
    else:
        document[path[-1]] = value


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (["type"], "Feature", "member 'type' is not 'FeatureCollection'"),
        (["features"], {}, "member 'features' is missing or not a list"),
        (["features", 0], [], "feature 1: member 'type' is not 'Feature'"),
        (["features", 0, "properties", "role"], "finish", "feature 1: member 'role' is 'finish'"),
        (["features", 0, "properties"], ..., "no feature has the role 'start_finish'"),
        (
            ["features", 0, "geometry"],
            None,
            r"feature 1 \(start_finish\): member 'geometry' is missing",
        ),
        (
            ["features", 0, "geometry", "type"],
            "Point",
            r"feature 1 \(start_finish\): member 'geometry' is a Point",
        ),
        (
            ["features", 0, "geometry", "coordinates", 1],
            [51.0, -200.0],
            r"feature 1 \(start_finish\): coordinates\[1\] has longitude 51.0 and latitude -200.0. "
            "GeoJSON puts longitude first",
        ),
        (
            ["features", 0, "geometry", "coordinates"],
            [[-1.4, 51.2], [-1.4, 51.2]],
            r"feature 1 \(start_finish\): member 'coordinates' has both ends at the same point\. "
            "Give the left end, then the right end",
        ),
        (
            ["features", 1, "geometry", "coordinates"],
            [[-1.4, 51.2], [-1.41, 51.2], [-1.42, 51.2]],
            r"feature 2 \(sector, order 1\): member 'coordinates' has 3 positions, not 2",
        ),
        (
            ["features", 1, "properties", "order"],
            ...,
            r"feature 2 \(sector\): member 'order' is None. Number them 1, 2",
        ),
        (
            ["features", 2, "properties", "order"],
            1,
            r"feature 3 \(sector, order 1\): member 'order' is 1 for the second time",
        ),
        (
            ["features", 2, "properties", "order"],
            "second",
            r"feature 3 \(sector, order second\): member 'order' is 'second', not a number",
        ),
        (
            ["features", 2, "properties", "order"],
            1.5,
            r"feature 3 \(sector, order 1.5\): member 'order' is 1.5",
        ),
        (
            ["features", 2, "properties", "role"],
            "start_finish",
            "there is a second feature of the role 'start_finish'",
        ),
        (
            ["features", 3, "properties", "name"],
            7,
            r"feature 4 \(corner, order 1\): member 'name' is 7, not text",
        ),
        (
            ["features", 3, "properties", "exit_m"],
            1.0,
            r"feature 4 \(corner, order 1\): corner 'Kiln': entry",
        ),
        (
            ["features", 3, "geometry", "coordinates"],
            [200.0, 51.0],
            r"feature 4 \(corner, order 1\): coordinates has longitude 200.0",
        ),
        (
            ["features", 6, "geometry", "coordinates", 10],
            [12.0, 51.0],
            r"feature 7 \(path\): coordinates\[10\] is far from the start/finish line",
        ),
        (["direction"], "left", "member 'direction' is 'left'. It may be 'clockwise'"),
        (
            ["direction"],
            "clockwise",
            "member 'direction' is 'clockwise', but the path runs anticlockwise",
        ),
        (["name"], 5, "hand.geojson: member 'name' is 5, not text. Put it in quotes$"),
        (
            ["features", 3, "properties", "direction"],
            "links",
            r"feature 4 \(corner, order 1\): member 'direction' is 'links'. It may be 'left' or",
        ),
        (["features", 1, "properties"], [1], r"feature 2: member 'properties' is \[1\], not an"),
        (
            ["features", 6, "properties", "length_sd_m"],
            -5,
            r"feature 7 \(path\): member 'length_sd_m' is -5",
        ),
        (["height_m"], "low", "member 'height_m' is 'low'. Give the height of the circuit"),
        (["height_m"], True, "member 'height_m' is True. Give the height"),
        (["height_m"], 1e6, "member 'height_m' is 1000000.0. Give the height"),
    ],
)
def test_every_way_to_break_it(tmp_path: Path, path: list, value: object, message: str) -> None:
    write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    document = json.loads((tmp_path / "egg.geojson").read_text("utf-8"))
    change(document, path, value)
    file = saved(tmp_path, document)
    with pytest.raises(TrackError, match=message) as caught:
        read_track(file)
    # One line that names the file first.
    assert str(caught.value).startswith(f"{file}: ")
    assert "\n" not in str(caught.value)


def test_lines_that_do_not_fit_the_path(tmp_path: Path) -> None:
    write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    document = json.loads((tmp_path / "egg.geojson").read_text("utf-8"))
    swapped = copy.deepcopy(document)
    swapped["features"][0]["geometry"]["coordinates"].reverse()
    with pytest.raises(
        TrackError, match=r"feature 1 \(start_finish\): member 'coor.*line the wrong way\. Swap"
    ):
        read_track(saved(tmp_path, swapped))
    astray = copy.deepcopy(document)
    for place in astray["features"][2]["geometry"]["coordinates"]:
        place[1] += 0.01
    with pytest.raises(
        TrackError, match=r"feature 3 \(sector, order 2\).*not cross sector line 2\. Draw"
    ):
        read_track(saved(tmp_path, astray))
    half = copy.deepcopy(document)
    half["features"][-1]["geometry"]["coordinates"][120:] = []
    with pytest.raises(TrackError, match=r"\(path\): the path is not closed, \d+ m are missing"):
        read_track(saved(tmp_path, half))
    short = copy.deepcopy(document)
    short["features"][-1]["geometry"]["coordinates"][:] = [
        short["features"][-1]["geometry"]["coordinates"][i] for i in (0, 80, 160, 0)
    ]
    with pytest.raises(TrackError, match=r"\(path\): the path has 3 different positions"):
        read_track(saved(tmp_path, short))


def test_a_line_of_one_position(tmp_path: Path) -> None:
    write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    document = json.loads((tmp_path / "egg.geojson").read_text("utf-8"))
    document["features"][-1]["geometry"]["coordinates"][1:] = []
    with pytest.raises(TrackError, match=r"has 1 positions\. A line needs two or more"):
        read_track(saved(tmp_path, document))


@pytest.mark.parametrize("left_out", [1, 2])
def test_a_path_that_ends_a_little_early(tmp_path: Path, left_out: int) -> None:
    # Without the repeated position, and without the one before it: the gap is one or two steps of
    # 240, where a gap of three of the longest is still a lap.
    write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    document = json.loads((tmp_path / "egg.geojson").read_text("utf-8"))
    places = document["features"][-1]["geometry"]["coordinates"]
    assert places[-1] == places[0]
    document["features"][-1]["geometry"]["coordinates"] = places[:-left_out]
    back = read_track(saved(tmp_path, document))
    whole = read_track(tmp_path / "egg.geojson")
    assert back.path is not None
    assert whole.path is not None
    assert len(back.path.east_m) == 241 - left_out
    # Smooth through what is missing, to a millimetre.
    assert back.path.length_m == pytest.approx(whole.path.length_m, abs=2e-3)


def test_a_path_drawn_in_small_steps_keeps_them(tmp_path: Path) -> None:
    # A circle of 30 m radius in steps of 0.5 m; its ring through 377 points is 188.496 m long.
    angle = np.arange(377) * (2.0 * np.pi / 377)
    path = ReferencePath(30.0 * np.cos(angle), 30.0 * np.sin(angle))
    point = path.at(10.0)
    line = Gate.across((float(point.east_m), float(point.north_m)), float(point.heading_rad), 20.0)
    write_track(Track("Ring", PLACES[0], line, path=path), tmp_path / "ring.geojson")
    back = read_track(tmp_path / "ring.geojson")
    assert back.path is not None
    assert len(back.path.east_m) == 377
    assert back.path.length_m == pytest.approx(2.0 * np.pi * 30.0, abs=1e-3)


def document_of(track: Track, tmp_path: Path) -> dict:
    write_track(track, tmp_path / "egg.geojson")
    return json.loads((tmp_path / "egg.geojson").read_text("utf-8"))


def test_the_same_line_twice(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    twice = copy.deepcopy(document)
    twice["features"][2]["geometry"] = twice["features"][1]["geometry"]
    with pytest.raises(TrackError, match=r"\(sector, order 2\).* same line as feature 2 \(sector"):
        read_track(saved(tmp_path, twice))
    start = copy.deepcopy(document)
    start["features"][1]["geometry"] = start["features"][0]["geometry"]
    with pytest.raises(TrackError, match=r"order 1\).* same line as feature 1 \(start_finish\)"):
        read_track(saved(tmp_path, start))
    # Without a path the ends tell, also the other way round.
    bare = copy.deepcopy(twice)
    bare["features"] = bare["features"][:3]
    bare["features"][2]["geometry"] = {
        "type": "LineString",
        "coordinates": bare["features"][1]["geometry"]["coordinates"][::-1],
    }
    with pytest.raises(TrackError, match="the same line"):
        read_track(saved(tmp_path, bare))


def test_corners_over_each_other(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    kiln, other = (document["features"][k]["properties"] for k in (3, 4))
    # Whoever draws corners by hand may let them share some metres.
    kiln["exit_m"] = other["entry_m"] + 15.0
    assert len(read_track(saved(tmp_path, document)).corners) == 2
    kiln["exit_m"] = other["entry_m"] + 30.0
    message = r"feature 5 \(corner, order 2\): .* over those of feature 4 \(corner.* by 30 m"
    with pytest.raises(TrackError, match=message):
        read_track(saved(tmp_path, document))


def test_a_corner_that_was_copied(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    double = copy.deepcopy(document["features"][4])
    double["properties"] |= {"order": 3, "entry_m": double["properties"]["apex_m"] - 2.0}
    document["features"].append(double)
    with pytest.raises(TrackError, match=r"\(corner, order 3\): .* over those of feature 5"):
        read_track(saved(tmp_path, document))


def test_a_line_moved_by_hand_takes_the_stations_with_it(tmp_path: Path) -> None:
    track = egg(PLACES[0])
    document = document_of(track, tmp_path)
    # A person moves the line alone: by 8 m, by 900 m past both corners, by 30 m back.
    for by_m in (8.0, 900.0, track.length_m - 30.0):
        moved = track.with_start_line_at_station(by_m)
        by_hand = copy.deepcopy(document)
        by_hand["features"][0] = document_of(moved, tmp_path)["features"][0]
        read = read_track(saved(tmp_path, by_hand))
        assert [c.name for c in read.corners] == [c.name for c in moved.corners]
        for ours, theirs in zip(read.corners, moved.corners, strict=True):
            for member in ("entry_m", "apex_m", "exit_m"):
                assert getattr(ours, member) == pytest.approx(getattr(theirs, member), abs=0.01)
        # Written again it is a sound file.
        write_track(read, tmp_path / "again.geojson")
        again = read_track(tmp_path / "again.geojson")
        assert [c.apex_m for c in again.corners] == pytest.approx(
            [c.apex_m for c in read.corners], abs=0.01
        )


def test_points_moved_a_little_by_hand_leave_the_stations(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    before = read_track(tmp_path / "egg.geojson").corners
    # 1e-4 degrees of latitude are 11 m.
    document["features"][3]["geometry"]["coordinates"][1] += 1e-4
    assert read_track(saved(tmp_path, document)).corners == before


def test_a_corner_whose_point_and_stations_disagree(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    # 3e-4 degrees are 33 m: one corner alone is no moved line.
    point = copy.deepcopy(document)
    point["features"][4]["geometry"]["coordinates"][1] += 3e-4
    message = (
        r"feature 5 \(corner, order 2\): member 'coordinates' is 3\d m away from where 'apex_m' "
        r"is on the path \(\d+ m from the line\)\. Move the point back, or delete 'entry_m'"
    )
    with pytest.raises(TrackError, match=message):
        read_track(saved(tmp_path, point))
    station = copy.deepcopy(document)
    station["features"][3]["properties"]["apex_m"] += 60.0
    with pytest.raises(TrackError, match=r"feature 4 \(corner, order 1\): .*5\d m away"):
        read_track(saved(tmp_path, station))


def test_a_corner_that_cannot_be(tmp_path: Path) -> None:
    document = document_of(egg(PLACES[0]), tmp_path)
    document["features"][4]["properties"]["exit_m"] = 1_000_000.0
    with pytest.raises(
        TrackError, match=r"feature 5 \(corner, order 2\): members 'entry_m' to 'exi"
    ):
        read_track(saved(tmp_path, document))
    document = document_of(egg(PLACES[0]), tmp_path)
    assert document["features"][3]["properties"]["direction"] == "left"
    document["features"][3]["properties"]["direction"] = "right"
    message = (
        r"feature 4 \(corner, order 1\): member 'direction' is 'right', but there the path turns"
    )
    with pytest.raises(TrackError, match=message):
        read_track(saved(tmp_path, document))


def test_a_point_among_corners_leaves_the_others_as_they_are(tmp_path: Path) -> None:
    track = egg(PLACES[0])
    document = document_of(track, tmp_path)
    for member in ("entry_m", "apex_m", "exit_m", "radius_m"):
        del document["features"][4]["properties"][member]
    document["features"][4]["properties"]["name"] = "New"
    back = read_track(saved(tmp_path, document))
    assert names(back) == ["Kiln"]
    assert back.corners[0].exit_m == pytest.approx(track.corners[0].exit_m, abs=2e-3)
    assert [mark.name for mark in back.marks_without_corner] == ["New"]
    # It is written again, so that nothing of the user's is lost.
    write_track(back, tmp_path / "again.geojson")
    assert read_track(tmp_path / "again.geojson").marks_without_corner[0].name == "New"
    # A corner that is taken out takes its point with it.
    with_it = back.add_corner("New", track.corners[1].entry_m, track.corners[1].exit_m)
    assert with_it.marks_without_corner == ()
    assert with_it.without_corner(2).marks_without_corner == ()


def point_at(track: Track, station_m: float, name: str, left_m: float = 0.0) -> dict:
    """A corner that was added by hand: a point with a name."""
    east, north = track.path.beside(np.array([station_m]), np.array([left_m]))
    lat, lon = track.plane.point_deg((float(east[0]), float(north[0])))
    return {
        "type": "Feature",
        "properties": {"role": "corner", "name": name},
        "geometry": {"type": "Point", "coordinates": [lon, lat]},
    }


def test_a_corner_by_hand_needs_a_point_and_a_name(tmp_path: Path) -> None:
    track = egg(PLACES[0])
    document = document_of(track, tmp_path)
    # Also near a corner whose ends are known: 20 m after its exit it is another one.
    for station_m, name in ((300.0, "Kink"), (970.0, "Bump")):
        document["features"].append(point_at(track, station_m, name))
    read = read_track(saved(tmp_path, document))
    assert [mark.name for mark in read.marks_without_corner] == ["Kink", "Bump"]
    assert names(read) == names(track)
    write_track(read, tmp_path / "again.geojson")
    again = read_track(tmp_path / "again.geojson")
    assert [mark.name for mark in again.marks_without_corner] == ["Kink", "Bump"]


@pytest.mark.parametrize(
    ("station_m", "left_m", "message"),
    [
        (800.0, 0.0, r"feature \d+ \(corner\): corner 'X' lies in corner 'Kiln', which reaches"),
        (300.0, 90.0, r"feature \d+ \(corner\): corner 'X' is 90 m away from the path; put the"),
    ],
)
def test_a_point_that_can_be_no_corner(
    tmp_path: Path, station_m: float, left_m: float, message: str
) -> None:
    track = egg(PLACES[0])
    document = document_of(track, tmp_path)
    document["features"].append(point_at(track, station_m, "X", left_m))
    with pytest.raises(TrackError, match=message) as caught:
        read_track(saved(tmp_path, document))
    assert "\n" not in str(caught.value)


def names(track: Track) -> list[str]:
    return [corner.name for corner in track.corners]


@pytest.mark.parametrize("direction", [1, -1])
def test_whatever_is_changed_can_be_read_again(tmp_path: Path, direction: int) -> None:
    track = egg(PLACES[0], direction)
    length_m = track.length_m
    three = track.add_corner("", 150.0, 350.0)
    changed = [
        three,
        three.merge_corners(1, 2),
        three.merge_corners(3, 1),
        three.split_corner(2, three.corners[1].apex_m + 5.0),
        three.without_corner(1),
        three.with_corner_names(["Ä", "B", "C"]),
        three.with_sector_at(length_m - 40.0),
        three.with_sectors([]),
        three.with_pit_lane(None),
        three.on_plane(Plane(51.25, -1.35, 900.0)),
        *(three.with_start_line_at_station(m) for m in np.linspace(7.0, length_m, 13)[:-1]),
        three.with_start_line_at(*three.apex_deg(three.corners[0]), heading_deg=10.0),
    ]
    for number, one in enumerate(changed):
        file = tmp_path / f"{number}.geojson"
        write_track(one, file)
        back = read_track(file)
        assert names(back) == names(one)
        for ours, theirs in zip(back.corners, one.corners, strict=True):
            assert (ours.entry_m, ours.apex_m, ours.exit_m) == pytest.approx(
                (theirs.entry_m, theirs.apex_m, theirs.exit_m),
                abs=0.01 + 2e-4 * length_m * (one.plane.height_m > 800.0),
            )


def test_numbers_as_names_follow_the_line(tmp_path: Path) -> None:
    track = egg(PLACES[0]).with_corner_names(["1", "2"])
    document = document_of(track, tmp_path)
    moved = document_of(track.with_start_line_at_station(900.0), tmp_path)
    document["features"][0] = moved["features"][0]
    read = read_track(saved(tmp_path, document))
    assert names(read) == ["1", "2"]
    # Found again from the points, they are not called what they were called before.
    assert names(read.with_corners(read.corners)) == ["1", "2"]


def test_files_that_are_none(tmp_path: Path) -> None:
    file = tmp_path / "broken.geojson"
    with pytest.raises(TrackError, match=r"broken\.geojson: cannot be read"):
        read_track(file)
    file.write_text('{"type": "FeatureCollection",\n "features": [\n  {"type" "Feature"}]}')
    with pytest.raises(TrackError, match=r"broken.geojson:3: is not JSON .*missing comma"):
        read_track(file)
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TrackError, match="is not UTF-8 text"):
        read_track(file)
    file.write_text("[" * 100_000)
    with pytest.raises(TrackError, match="nested too deeply"):
        read_track(file)


def test_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "egg.geojson"
    file.write_text("the old one")
    with pytest.raises(OutputError, match="there is no folder"):
        write_track(egg(PLACES[0]), tmp_path / "nowhere" / "egg.geojson")

    def full(self: Path, target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match=r"cannot be written \(No space left on device\)"):
        write_track(egg(PLACES[0]), file)
    assert file.read_text() == "the old one"
    assert [entry.name for entry in tmp_path.iterdir()] == ["egg.geojson"]


def test_the_file_is_for_anyone_the_user_lets(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        write_track(egg(PLACES[0]), tmp_path / "egg.geojson")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "egg.geojson").stat().st_mode) == 0o644


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["type", "role", "order", "coordinates"]), inner)
    ),
    max_leaves=6,
)


def nodes(document: object, path: tuple = ()) -> list[tuple]:
    """Return the ways to all members of a document, but for all but a few positions."""
    ways = []
    if isinstance(document, dict):
        items = list(document.items())
    elif isinstance(document, list):
        items = list(enumerate(document))[:4]
    else:
        items = []
    for key, value in items:
        ways += [(*path, key), *nodes(value, (*path, key))]
    return ways


GOOD = json.loads(track_geojson(egg(PLACES[0])))


@given(way=st.sampled_from(nodes(GOOD)), value=ANYTHING)
@settings(max_examples=200, deadline=None)
def test_whatever_stands_in_the_file_the_error_is_ours(
    tmp_path_factory: pytest.TempPathFactory, way: tuple, value: object
) -> None:
    document = copy.deepcopy(GOOD)
    change(document, list(way), value)
    file = tmp_path_factory.getbasetemp() / "fuzzed.geojson"
    file.write_text(json.dumps(document), encoding="utf-8")
    message = ""
    try:
        track = read_track(file)
    except TrackError as error:
        message = str(error)
    else:
        assert np.isfinite(track.start_finish.width_m)
    assert "\n" not in message
