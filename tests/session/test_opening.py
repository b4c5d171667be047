"""One way from a file to a session: what is found, and what is said of it."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from worlds import World

import lapwright as lw


@pytest.fixture
def folder(world: World, tmp_path: Path) -> Path:
    """A log with a coded header, its map, its notes and its track file."""
    rows = world.log.fixes[["time_s", "lat_deg", "lon_deg", "speed_mps"]]
    rows.to_csv(tmp_path / "friday.csv", index=False, header=["tk", "n7", "e7", "gv"])
    (tmp_path / "columns.toml").write_text(
        '[columns]\ntime = { column = "tk", unit = "s" }\nlatitude = "n7"\nlongitude = "e7"\n'
        'speed = { column = "gv", unit = "m/s" }\n'
    )
    (tmp_path / "weekend.toml").write_text('[logs."friday.csv"]\ndriver = "Runa"\n')
    lw.write_track(world.session.shared_track, tmp_path / "hollow.geojson")
    return tmp_path


def test_track_notes_and_column_map_are_found(folder: Path, world: World) -> None:
    session = lw.open_session(folder / "friday.csv")
    assert session.notes.driver == "Runa"
    opened = session.opened_with
    assert (opened.track_file, opened.lines_only) == (folder / "hollow.geojson", False)
    assert opened.columns == folder / "columns.toml"
    assert "hollow.geojson beside the log" in opened.why
    assert "column_map" in {one.code for one in session.findings}
    assert len(session.timed_laps) == len(world.session.timed_laps)


def test_it_is_the_session_put_together_by_hand(folder: Path) -> None:
    opened = lw.open_session(folder / "friday.csv", repeat_line=False)
    log = lw.read_log(folder / "friday.csv", folder / "columns.toml")
    track = lw.read_track(folder / "hollow.geojson")
    by_hand = lw.Session(log, track, repeat_line=False)
    pd.testing.assert_frame_equal(opened.laps, by_hand.laps)
    assert by_hand.opened_with == lw.OpenedWith()


def test_a_given_file_a_library_and_a_track_that_is_handed_over(
    folder: Path, world: World, tmp_path: Path
) -> None:
    library = tmp_path / "tracks"
    library.mkdir()
    far = replace(world.session.shared_track, name="Far")
    lw.write_track(far, library / "far.geojson")
    log = folder / "friday.csv"
    assert lw.open_session(log, tracks=library).opened_with.track_file == library / "far.geojson"
    given = lw.open_session(log, track=library / "far.geojson").opened_with
    assert given.why == f"Far, from {library / 'far.geojson'}"
    same = lw.open_session(log, track=far)
    assert same.shared_track.name == "Far"
    assert same.opened_with.track_file is None


def test_a_circuit_that_is_found_says_how_surely(folder: Path) -> None:
    (folder / "hollow.geojson").unlink()
    session = lw.open_session(folder / "friday.csv")
    assert session.discovery is not None
    assert session.opened_with.why == f"found in the log ({session.discovery.how_sure})"
    assert session.opened_with.track_file is None


def test_what_cannot_be_used_is_an_error_at_once(folder: Path, world: World) -> None:
    with pytest.raises(lw.TrackError, match="no such"):
        lw.open_session(folder / "friday.csv", tracks=folder / "nowhere")
    (folder / "hollow.geojson").unlink()
    rows = world.log.fixes[["time_s", "lat_deg", "lon_deg", "speed_mps"]].iloc[:200]
    rows.to_csv(folder / "friday.csv", index=False, header=["tk", "n7", "e7", "gv"])
    with pytest.raises(lw.TrackError):
        lw.open_session(folder / "friday.csv")
