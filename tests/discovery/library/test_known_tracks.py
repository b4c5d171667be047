import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from circuit_logs import log_of, path_ends, track_of

from lapwright.discovery.library.known_tracks import find_known_track, look_up
from lapwright.discovery.library.track_folders import (
    check_library,
    files_beside,
    library_files,
    library_folder,
    save_to_library,
)
from lapwright.errors import TrackError
from lapwright.geometry import Gate, ReferencePath, Track, write_track
from lapwright.ingest.log import Log
from lapwright.plane import Plane


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
    found = find_known_track(log_of(drive(circuits["lark_down"])), library)
    assert found is not None
    assert found.track.name == "Lark Down"
    assert found.track.source == "library"
    assert not found.reversed
    assert found.laps >= 5
    assert "Lark Down" in found.why
    assert "lark_down.geojson" in found.why


def test_shorter_variant_is_told_apart(circuits, drive, library) -> None:
    path = short_variant(circuits["lark_down"], 700.0, 1500.0)
    found = find_known_track(log_of(drive(path, to_laps=8.0)), library)
    assert found is not None
    assert found.track.name == "Lark Down Club"
    assert not found.reversed


def test_reverse_is_told_apart(circuits, drive, library) -> None:
    found = find_known_track(log_of(drive(circuits["lark_down"].reversed())), library)
    assert found is not None
    assert found.reversed
    assert found.track.name == "Lark Down (reversed)"
    assert found.track.direction == "anticlockwise"
    assert "driven the other way round" in found.why


def test_another_circuit_is_not_recognised(circuits, drive, library) -> None:
    assert find_known_track(log_of(drive(circuits["eight"])), library) is None


def test_empty_or_missing_library_recognises_nothing(circuits, drive, tmp_path) -> None:
    log = log_of(drive(circuits["lark_down"]))
    assert find_known_track(log, tmp_path) is None
    assert find_known_track(log, tmp_path / "none") is None


def test_files_that_are_no_tracks_are_passed_over(circuits, drive, library) -> None:
    (library / "notes.json").write_text("{}")
    found = find_known_track(log_of(drive(circuits["lark_down"])), library)
    assert found is not None
    assert found.track.name == "Lark Down"


def test_track_with_a_line_only_is_recognised_by_it(circuits, drive, tmp_path) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0)
    save_to_library(replace(track, path=None, corners=(), direction=None), tmp_path)
    found = find_known_track(log_of(drive(circuits["lark_down"])), tmp_path)
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
    assert find_known_track(log_of(drive(path)), tmp_path) is None
    assert find_known_track(log_of(drive(variant)), tmp_path) is not None


def test_a_broken_file_is_named_and_passed_over(circuits, drive, library) -> None:
    good = library / "lark_down.geojson"
    (library / "broken.geojson").write_text(good.read_text()[:-40])
    (library / "no_line.geojson").write_text(good.read_text().replace("start_finish", "x"))
    looked = look_up(log_of(drive(circuits["lark_down"])), library_files(library))
    assert looked.found is not None
    assert looked.found.track.name == "Lark Down"
    assert looked.looked_at == 3
    assert len(looked.broken) == 2
    assert looked.broken[0].startswith(f"{library / 'broken.geojson'}:")
    assert "is not JSON" in looked.broken[0]
    assert "'role' is 'x'" in looked.broken[1]
    with pytest.warns(UserWarning, match="broken") as said:
        find_known_track(log_of(drive(circuits["lark_down"])), library)
    assert len(said) == 2


def test_what_was_chosen_and_why_in_words(circuits, drive, library) -> None:
    why = find_known_track(log_of(drive(circuits["lark_down"])), library).why
    assert re.fullmatch(
        r"'Lark Down' \(lark_down\.geojson of the track library\): \d full laps of the log run "
        r"along its path; none of the other 2 track files fits",
        why,
    )
    backwards = find_known_track(log_of(drive(circuits["lark_down"].reversed())), library).why
    assert "full laps of the log run along its path, driven the other way round; none" in backwards


@pytest.fixture
def lines(circuits) -> Track:
    """Lines alone: of the circuit and a sector of it that the club's short cut leaves out."""
    track = track_of(circuits["lark_down"], "", 300.0).with_sector_at(700.0)
    return replace(track, path=None, corners=(), direction=None)


def beside(log: Log, folder: Path, track: Track, name: str = "lines.geojson"):
    """Look a log up in the only track file beside it."""
    write_track(track, folder / name)
    log = replace(log, path=folder / "a.csv")
    return look_up(log, files_beside(log.path), beside=True)


def test_lines_beside_the_log(circuits, drive, lines, tmp_path) -> None:
    looked = beside(log_of(drive(circuits["lark_down"])), tmp_path, lines)
    assert looked.broken == ()
    found = looked.found
    assert found.lines_only
    # Without a name it is called like its file.
    assert (found.track.name, found.track.source) == ("lines", "file")
    assert "(lines.geojson beside the log)" in found.why
    assert "laps of the log cross its lines" in found.why


def test_lines_driven_the_other_way_are_not_taken(circuits, drive, lines, tmp_path) -> None:
    log = log_of(drive(circuits["lark_down"].reversed()))
    looked = beside(log, tmp_path, lines)
    assert looked.found is None
    assert looked.broken[0].startswith("lines.geojson beside the log: the log crosses the start/")
    assert "only against its direction: swap the ends of the line" in looked.broken[0]


def test_lines_of_a_longer_variant_are_not_taken(circuits, drive, lines, tmp_path) -> None:
    full = circuits["lark_down"]
    log = log_of(drive(short_variant(full, 700.0, 1500.0), to_laps=8.0))
    # 700 m from the line at 300 m is on the part that is left out.
    looked = beside(log, tmp_path, lines)
    # It does not fit; nothing is wrong with it.
    assert (looked.found, looked.looked_at, looked.broken) == (None, 1, ())
    assert beside(log, tmp_path, replace(lines, sectors=())).found is not None


def test_what_lies_beside_a_log_and_is_no_track_file(circuits, drive, lines, tmp_path) -> None:
    for name, text in {
        "walk.geojson": '{"type": "FeatureCollection", "features": [{"type": "Feature", '
        '"properties": {"name": "walk"}, "geometry": {"type": "LineString", "coordinates": '
        "[[5.0, 52.0], [5.1, 52.0]]}}]}",
        "shape.geojson": '{"type": "Point", "coordinates": [5, 52]}',
        "empty.geojson": "",
        "cut.geojson": '{"type": "FeatureColl',
        "roles.geojson": '{"type": "FeatureCollection", "features": [{"type": "Feature", '
        '"properties": {"role": "marshal"}, "geometry": null}]}',
        "other.json": "{}",
    }.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "folder.geojson").mkdir()
    looked = beside(log_of(drive(circuits["lark_down"])), tmp_path, lines)
    assert looked.found.file.name == "lines.geojson"
    assert (looked.looked_at, looked.broken) == (1, ())


def test_a_track_file_beside_the_log_that_is_broken(circuits, drive, lines, tmp_path) -> None:
    looked = beside(log_of(drive(circuits["lark_down"])), tmp_path, lines)
    text = (tmp_path / "lines.geojson").read_text()
    (tmp_path / "lines.geojson").write_text(text[:-30])
    log = replace(log_of(drive(circuits["lark_down"])), path=tmp_path / "a.csv")
    looked = look_up(log, files_beside(log.path), beside=True)
    assert looked.found is None
    assert "lines.geojson" in looked.broken[0]


def test_a_path_beside_the_log_counts_for_more_than_lines(circuits, drive, lines, tmp_path) -> None:
    write_track(track_of(circuits["lark_down"], "Whole", 300.0), tmp_path / "whole.geojson")
    found = beside(log_of(drive(circuits["lark_down"])), tmp_path, lines).found
    assert (found.track.name, found.lines_only) == ("Whole", False)
    assert "also fits: lines.geojson; give --track to choose" in found.why


def test_of_files_of_one_circuit_it_is_always_the_same(circuits, drive, lines, tmp_path) -> None:
    path = circuits["lark_down"]
    for name, station_m in (("b", 900.0), ("c", 300.0), ("a", 1400.0)):
        write_track(track_of(path, name, station_m), tmp_path / f"{name}.geojson")
    write_track(track_of(path.reversed(), "0", 500.0), tmp_path / "0.geojson")
    # Logs that begin and end anywhere count a lap more or less for the one or the other.
    for laps in (2.1, 2.4, 2.9, 4.6):
        found = beside(log_of(drive(path, to_laps=laps)), tmp_path, lines, "0lines.geojson").found
        assert found.file.name == "a.geojson"
        assert "along its path; also fit: b.geojson, c.geojson, 0.geojson, 0lines.g" in found.why


def test_a_line_beside_the_track_is_named_and_not_taken(circuits, drive, tmp_path) -> None:
    path, log = circuits["lark_down"], log_of(drive(circuits["lark_down"]))
    track = track_of(path, "Aside", 300.0)
    gate = Gate(*path_ends(path, 300.0, 27.0, 7.0))
    looked = beside(log, tmp_path, replace(track, start_finish=gate), "aside.geojson")
    assert looked.found is None
    assert re.fullmatch(
        r"aside\.geojson beside the log: the log goes past the end of the start/finish line "
        r"\d times, about [5-9] m beyond it: widen or move it",
        looked.broken[0],
    )
    # With another file of the circuit beside it nobody misses it.
    looked = beside(log, tmp_path, track_of(path, "Good", 300.0), "good.geojson")
    assert (looked.found.track.name, looked.broken) == ("Good", ())


def test_another_circuit_beside_the_log_is_not_taken(circuits, drive, tmp_path) -> None:
    track = track_of(circuits["lark_down"], "Lark Down", 300.0)
    assert beside(log_of(drive(circuits["eight"])), tmp_path, track).found is None


def test_a_library_that_is_no_folder(tmp_path) -> None:
    with pytest.raises(TrackError, match=r"no such folder\. Give --tracks the folder"):
        check_library(tmp_path / "none")
    (tmp_path / "file").touch()
    with pytest.raises(TrackError, match="is not a folder"):
        check_library(tmp_path / "file")
