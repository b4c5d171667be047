from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.discovery.corners import find_corners
from lapwright.discovery.known_tracks import (
    library_files,
    library_folder,
    recognise,
    reversed_track,
    save_to_library,
)
from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.ingest.log import Log
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)


def log_of(trace, plane: Plane = PLANE) -> Log:
    lat_deg, lon_deg = plane.to_degrees(trace.east_m, trace.north_m)
    fixes = pd.DataFrame(
        {
            "line": np.arange(len(trace.time_s)) + 2,
            "time_s": trace.time_s,
            "lat_deg": lat_deg,
            "lon_deg": lon_deg,
            "frozen": False,
        }
    )
    channels = pd.DataFrame({"line": fixes["line"], "time_s": fixes["time_s"]})
    return Log(Path("a.csv"), "csv", fixes, channels, "relative", 0.0, None, 5.0)


def track_of(path: ReferencePath, name: str, station_m: float) -> Track:
    point = path.at(station_m)
    gate = Gate.across((float(point.east_m), float(point.north_m)), float(point.heading_rad), 20.0)
    track = Track(name, PLANE, gate, path=path)
    return track.with_corners(find_corners(track.path))


def short_variant(path: ReferencePath, leave_m: float, join_m: float) -> ReferencePath:
    """The same road but for a straight link from one station to another."""
    stations = np.arange(join_m, leave_m + path.length_m, 4.0)
    point = path.at(stations)
    begin, end = path.at(leave_m), path.at(join_m)
    share = np.linspace(0.0, 1.0, 14)[1:-1]
    east = np.r_[point.east_m, begin.east_m + share * (end.east_m - begin.east_m)]
    north = np.r_[point.north_m, begin.north_m + share * (end.north_m - begin.north_m)]
    return ReferencePath(east, north)


@pytest.fixture
def library(circuits, tmp_path) -> Path:
    full = circuits["lark_down"]
    save_to_library(track_of(full, "Lark Down", 300.0), tmp_path)
    save_to_library(track_of(short_variant(full, 700.0, 1500.0), "Lark Down Club", 900.0), tmp_path)
    far = Track("Far Away", Plane(-30.0, 20.0), Gate((0.0, 10.0), (0.0, -10.0)))
    save_to_library(far, tmp_path)
    return tmp_path


def test_full_circuit_is_recognised(circuits, drive, library) -> None:
    found = recognise(log_of(drive(circuits["lark_down"])), library)
    assert found is not None
    assert found.track.name == "Lark Down"
    assert found.track.source == "library"
    assert not found.reversed
    assert found.laps >= 5
    assert "Lark Down" in found.why
    assert "lark_down.geojson" in found.why


def test_shorter_variant_is_told_apart(circuits, drive, library) -> None:
    path = short_variant(circuits["lark_down"], 700.0, 1500.0)
    found = recognise(log_of(drive(path, to_laps=8.0)), library)
    assert found is not None
    assert found.track.name == "Lark Down Club"
    assert not found.reversed


def test_reverse_is_told_apart(circuits, drive, library) -> None:
    found = recognise(log_of(drive(circuits["lark_down"].reversed())), library)
    assert found is not None
    assert found.reversed
    assert found.track.name == "Lark Down (reversed)"
    assert found.track.direction == "anticlockwise"
    assert "against its direction" in found.why


def test_another_circuit_is_not_recognised(circuits, drive, library) -> None:
    assert recognise(log_of(drive(circuits["eight"])), library) is None


def test_empty_or_missing_library_recognises_nothing(circuits, drive, tmp_path) -> None:
    log = log_of(drive(circuits["lark_down"]))
    assert recognise(log, tmp_path) is None
    assert recognise(log, tmp_path / "none") is None


def test_files_that_are_no_tracks_are_passed_over(circuits, drive, library) -> None:
    (library / "notes.json").write_text("{}")
    found = recognise(log_of(drive(circuits["lark_down"])), library)
    assert found is not None
    assert found.track.name == "Lark Down"


def test_track_with_a_line_only_is_recognised_by_it(circuits, drive, tmp_path) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0)
    save_to_library(replace(track, path=None, corners=(), direction=None), tmp_path)
    found = recognise(log_of(drive(circuits["lark_down"])), tmp_path)
    assert found is not None
    # The path is filled in from the log.
    assert found.track.length_m == pytest.approx(track.length_m, rel=0.002)


def test_saving_never_replaces_a_file(circuits, tmp_path) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0)
    first, second = (
        save_to_library(track, tmp_path / "new"),
        save_to_library(track, tmp_path / "new"),
    )
    assert first.name == "lark_down.geojson"
    assert second.name == "lark_down_2.geojson"
    assert library_files(tmp_path / "new") == (first, second)


def test_library_is_the_users_own_folder_unless_given(tmp_path) -> None:
    assert library_folder(tmp_path) == tmp_path
    assert library_folder().parts[-2:] == ("lapwright", "tracks")


def test_turning_a_track_round_twice_gives_it_back(circuits) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0).with_corner_names({2: "Old Barn"})
    once = reversed_track(track)
    assert [c.direction for c in once.corners] == [
        "left" if c.direction == "right" else "right" for c in track.corners[::-1]
    ]
    assert [c.name for c in once.corners].count("Old Barn") == 1
    twice = reversed_track(once)
    for before, after in zip(track.corners, twice.corners, strict=True):
        assert after.apex_m == pytest.approx(before.apex_m, abs=1e-6)
        assert after.name == before.name
        assert after.direction == before.direction


def test_a_variant_by_a_parallel_road_of_the_same_length_is_told_apart(
    circuits, drive, tmp_path
) -> None:
    # 300 m of the long straight run 30 m to the side, by about the same distance.
    path = circuits["lark_down"]
    station_m = path.stations(4.0)
    inside = (station_m > 60.0) & (station_m < 440.0)
    share = np.clip((station_m - 60.0) / 380.0, 0.0, 1.0)
    aside_m = np.where(inside, 30.0 * np.sin(np.pi * share) ** 0.5, 0.0)
    variant = ReferencePath(*path.beside(station_m, aside_m))
    save_to_library(track_of(variant, "By The Wood", 900.0), tmp_path)
    assert recognise(log_of(drive(path)), tmp_path) is None
    assert recognise(log_of(drive(variant)), tmp_path) is not None
