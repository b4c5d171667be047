"""`lapwright track`: the start/finish line from a moment of the log."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from cli_runs import Files, Run, RunJson

import lapwright as lw


def test_start_line_where_the_car_was(
    files: Files, run: Run, run_json: RunJson, tmp_path: Path
) -> None:
    out = tmp_path / "moved.geojson"
    said = run("track", files.log, "--start-at", "150", "--out", out)
    assert said.exit_code == 0, said.stderr
    assert "where the car was at 150" in said.stdout
    log, track = lw.read_log(files.log), lw.read_track(out)
    east_m, north_m = track.plane.to_metres(log.fixes["lat_deg"], log.fixes["lon_deg"])
    near = int(np.argmin(np.abs(log.fixes["time_s"] - 150.0)))
    # A step of a 5 Hz log at 60 m/s and the receiver's noise.
    centre = track.start_finish.centre_m
    assert np.hypot(east_m[near] - centre[0], north_m[near] - centre[1]) < 15.0
    laps = run_json("laps", files.log, "--track", out, "--road", "off")["laps"]
    starts_s = np.array([lap["start_s"] for lap in laps if lap["kind"] == "timed"])
    assert np.abs(starts_s - 150.0).min() < 0.1


@pytest.mark.parametrize(
    ("time", "status", "text"),
    [("noonish", 2, "is not a time"), ("99999", 1, "outside the log"), ("0.5", 1, "stands")],
)
def test_a_moment_that_does_not_do(
    time: str, status: int, text: str, files: Files, run: Run, tmp_path: Path
) -> None:
    out = tmp_path / "moved.geojson"
    said = run("track", files.log, "--track", files.track, "--start-at", time, "--out", out)
    assert said.exit_code == status
    assert text in said.stderr
    assert not out.exists()


def test_corners_numbered_anew_are_said(files: Files, run: Run) -> None:
    said = run("track", files.log, "--start-at", "2:30.0")
    assert said.exit_code == 0, said.stderr
    assert "- corners without a name have new numbers: " in said.stdout
    assert " is now 1" in said.stdout


def test_names_of_files_stay_as_they_are(files: Files, run: Run, tmp_path: Path) -> None:
    track = lw.complete_track(lw.read_track(files.track), lw.read_log(files.log))
    while len(track.corners) > 1:
        track = track.without_corner(2)
    lw.write_track(track.renamed("my_circuit"), tmp_path / "mine.geojson")
    lines = run("track", files.log, "--track", tmp_path / "mine.geojson").stdout.splitlines()
    assert lines[0].endswith(", 1 corner")
    assert lines[1].startswith("my_circuit, from")


def test_writing_again_keeps_the_names_of_the_file(files: Files, run: Run, tmp_path: Path) -> None:
    out, alone = tmp_path / "mine.geojson", tmp_path / "alone"
    alone.mkdir()
    log = shutil.copy(files.log, alone)
    # The circuit as found in the log knows no names.
    assert run("track", log, "--out", out).exit_code == 0
    found = lw.read_track(out)
    assert {c.name for c in found.corners} == {str(c.order) for c in found.corners}
    names = {c.order: f"Named {c.order}" for c in found.corners[:2]}
    lw.write_track(found.renamed("Our place").with_corner_names(names), out)
    # With another start line the corners have other numbers; a name stays at its place.
    moved = run("track", log, "--start-at", "150", "--out", out)
    assert moved.exit_code == 0, moved.stderr
    again = lw.read_track(out)
    assert again.name == "Our place"
    assert {c.name for c in again.corners if not c.name.isdigit()} == set(names.values())


def test_a_name_that_would_be_lost_stops_the_writing(
    files: Files, run: Run, tmp_path: Path
) -> None:
    out, given = tmp_path / "mine.geojson", tmp_path / "given.geojson"
    track = lw.complete_track(lw.read_track(files.track), lw.read_log(files.log))
    bare = track.with_corner_names([""] * len(track.corners))
    lw.write_track(bare.with_corner_names({2: "Old Mill"}), out)
    lw.write_track(bare.without_corner(2), given)
    before = out.read_bytes()
    said = run("track", files.log, "--track", given, "--out", out)
    assert said.exit_code == 1
    assert "'Old Mill', where this circuit has no corner" in said.stderr
    assert "another name" in said.stderr
    assert out.read_bytes() == before
