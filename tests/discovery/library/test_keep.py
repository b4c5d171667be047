"""A circuit in the library is known by its road, whatever it is called."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from circuit_logs import track_of

from lapwright.discovery.library.keep import (
    kept_with,
    library_circuits,
    new_file_for,
    older_in_library,
    remove_from_library,
)
from lapwright.discovery.library.reverse import reversed_track
from lapwright.errors import OutputError, TrackError
from lapwright.geometry import ReferencePath, Track, read_track, write_track


@pytest.fixture
def full(circuits) -> Track:
    return full_line(circuits["lark_down"])


@pytest.fixture
def club(circuits) -> Track:
    """The same but for a straight link, past the same start line."""
    path = circuits["lark_down"]
    point = path.at(np.arange(1500.0, 700.0 + path.length_m, 4.0))
    begin, end = path.at(700.0), path.at(1500.0)
    share = np.linspace(0.0, 1.0, 14)[1:-1]
    east = np.r_[point.east_m, begin.east_m + share * (end.east_m - begin.east_m)]
    north = np.r_[point.north_m, begin.north_m + share * (end.north_m - begin.north_m)]
    return replace(full_line(path), corners=(), path=ReferencePath(east, north))


def full_line(path: ReferencePath) -> Track:
    return track_of(path, "Lark Down", 300.0)


def _lines_only(track: Track) -> Track:
    return replace(track, path=None, corners=(), length_sd_m=None)


def test_the_same_road_is_found_under_another_name(full: Track, club: Track, tmp_path) -> None:
    write_track(full.renamed("Something else"), tmp_path / "z.geojson")
    write_track(club, tmp_path / "a.geojson")
    found = older_in_library(full, tmp_path)
    assert found is not None
    assert (found.file.name, found.name) == ("z.geojson", "Something else")
    assert older_in_library(club, tmp_path).file.name == "a.geojson"
    assert older_in_library(reversed_track(full), tmp_path) is None


def test_lines_alone_are_a_circuit_only_for_the_track_that_came_from_them(
    full: Track, club: Track, tmp_path
) -> None:
    file = tmp_path / "lines.geojson"
    write_track(_lines_only(full), file)
    # The variant crosses the same lines.
    assert older_in_library(club, tmp_path) is None
    assert older_in_library(full, tmp_path) is None
    assert older_in_library(full, tmp_path, came_from=file).file == file
    # Driven the other way they were not meant.
    assert older_in_library(reversed_track(full), tmp_path, came_from=file) is None


def test_what_was_opened_comes_first(full: Track, tmp_path) -> None:
    for name in ("a", "b"):
        write_track(full, tmp_path / f"{name}.geojson")
    assert older_in_library(full, tmp_path).file.name == "a.geojson"
    assert older_in_library(full, tmp_path, tmp_path / "b.geojson").file.name == "b.geojson"
    assert older_in_library(full, tmp_path, tmp_path / "none.geojson").file.name == "a.geojson"


def test_a_new_file_has_a_name_that_is_free_and_that_disks_take(tmp_path) -> None:
    folder = tmp_path / "deep" / "er"
    assert new_file_for("Lark Down / Club", folder) == folder / "lark_down_club.geojson"
    (folder / "lark_down.geojson").write_text("")
    assert new_file_for("Lark Down", folder).name == "lark_down_2.geojson"
    assert new_file_for("???", folder).name == "track.geojson"
    # 255 bytes a name are what file systems take, and a temporary one is longer.
    long = new_file_for("ü" * 300, folder)
    assert len(long.name.encode()) < 200
    long.write_text("")


def test_nothing_of_the_older_file_is_lost(full: Track, club: Track) -> None:
    older = replace(
        full.with_corner_names({2: "Hatch"}),
        other_members={"club": "Larks", "timezone": "Europe/X"},
        other_features=({"type": "Feature", "properties": {"note": "x"}, "geometry": None},),
    )  # fmt: skip
    fresh = replace(full.renamed(""), other_members={"timezone": "Europe/Y"})
    with pytest.raises(OutputError, match="names 'Hatch', where this circuit has no corner"):
        kept_with(fresh.without_corner(2), Path("a.geojson"), older)
    kept = kept_with(fresh, Path("a.geojson"), older)
    assert [c.given_name for c in kept.corners if c.given_name] == ["Hatch"]
    assert kept.name == "Lark Down"
    assert kept.other_members == {"club": "Larks", "timezone": "Europe/Y"}
    assert kept.other_features == older.other_features
    for other in (club, reversed_track(full)):
        with pytest.raises(OutputError, match="holds another circuit"):
            kept_with(fresh, Path("a.geojson"), other)


def test_a_file_of_any_kind_is_listed_and_removed(full: Track, tmp_path) -> None:
    write_track(full, tmp_path / "a.json")
    (tmp_path / "broken.geojson").write_text("{")
    (tmp_path / "other.json").write_text("{}")
    assert [(c.name, bool(c.broken)) for c in library_circuits(tmp_path)] == [
        ("Lark Down", False), ("broken", True),
    ]  # fmt: skip
    _, gone = remove_from_library("broken", tmp_path)
    assert gone.read_text() == "{"
    _, gone = remove_from_library("Lark Down", tmp_path)
    assert read_track(gone).name == "Lark Down"
    assert library_circuits(tmp_path) == ()
    with pytest.raises(TrackError, match="no circuit 'Lark Down' in the track library"):
        remove_from_library("Lark Down", tmp_path)
