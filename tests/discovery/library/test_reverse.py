"""A track driven the other way."""

from dataclasses import replace

import pytest

from lapwright.discovery.corner_search.corners import find_corners
from lapwright.discovery.library.reverse import reversed_track
from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)


def track_of(path: ReferencePath, name: str, station_m: float) -> Track:
    point = path.at(station_m)
    gate = Gate.across((float(point.east_m), float(point.north_m)), float(point.heading_rad), 20.0)
    track = Track(name, PLANE, gate, path=path)
    return track.with_corners(find_corners(track.path))


def test_turning_a_track_round_twice_gives_it_back(circuits) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0).with_corner_names({2: "Old Barn"})
    once = reversed_track(track)
    assert [c.direction for c in once.corners] == [
        "left" if c.direction == "right" else "right" for c in track.corners[::-1]
    ]
    assert [c.name for c in once.corners].count("Old Barn") == 1
    assert once.name == "Lark Down (reversed)"
    twice = reversed_track(once)
    assert twice.name == "Lark Down"
    for before, after in zip(track.corners, twice.corners, strict=True):
        assert after.apex_m == pytest.approx(before.apex_m, abs=1e-6)
        assert after.name == before.name
        assert after.direction == before.direction


def test_a_track_without_a_name_or_path(circuits) -> None:
    track = replace(track_of(circuits["lark_down"], "", 300.0), path=None, corners=())
    once = reversed_track(track)
    assert once.name == ""
    assert once.path is None
    assert once.start_finish.left_m == track.start_finish.right_m
