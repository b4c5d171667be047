"""Which circuit is chosen without --track, and what is said about it."""

import json
import shlex
import shutil
from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson

import lapwright as lw
from lapwright.discovery import reversed_track

OFF = ("--road", "off")


@pytest.fixture
def log(files: Files, tmp_path: Path) -> Path:
    """A log in a folder of its own."""
    here = tmp_path / "friday.csv"
    here.write_bytes(files.log.read_bytes())
    return here


@pytest.fixture(scope="module")
def whole(files: Files) -> lw.Track:
    """The circuit, complete."""
    return lw.complete_track(lw.read_track(files.track), lw.read_log(files.log))


def test_lines_beside_the_log_are_as_good_as_given(
    files: Files, log: Path, run: Run, run_json: RunJson
) -> None:
    track = log.parent / "my hollow.geojson"
    track.write_bytes(files.track.read_bytes())
    chosen = run_json("laps", log, *OFF)
    given = run_json("laps", log, "--track", track, *OFF)
    assert chosen["track"]["source"] == "file"
    assert chosen["laps"] == given["laps"]
    said = run("laps", log, *OFF).stderr
    assert "(my hollow.geojson beside the log): " in said
    advice = [line for line in said.splitlines() if "has only the start and sector lines" in line]
    assert len(advice) == 1
    # The advice can be followed as it stands, blanks in names included, and is not given again.
    command = shlex.split(advice[0].split("run: lapwright ")[1])
    done = run(*command)
    assert done.exit_code == 0
    assert "has only the start and sector lines" not in done.stderr
    again = run("laps", log, *OFF)
    assert "(my hollow_whole.geojson beside the log): " in again.stderr
    assert "has only the start and sector lines" not in again.stderr
    # A file that was given says so too.
    assert (
        run("laps", log, "--track", track, *OFF).stderr.count("has only the start and sector lines")
        == 1
    )


def test_a_broken_track_file_is_named(
    files: Files, log: Path, run: Run, whole: lw.Track, tmp_path: Path
) -> None:
    library = tmp_path / "tracks"
    library.mkdir()
    text = files.track.read_text()
    (library / "cut.geojson").write_text(text[:-40])
    lw.write_track(whole, library / "hollow.geojson")
    said = run("laps", log, "--tracks", library, *OFF)
    assert said.exit_code == 0
    assert f"track file: {library / 'cut.geojson'}:" in said.stderr
    assert "circuit: 'Wren Hollow' (hollow.geojson of the track library)" in said.stderr
    # Beside the log as well.
    (log.parent / "beside.geojson").write_text(text[:-40])
    assert "beside.geojson:" in run("laps", log, *OFF).stderr


def test_when_no_track_file_fits_that_is_said(
    files: Files, log: Path, run: Run, whole: lw.Track, tmp_path: Path
) -> None:
    library = tmp_path / "tracks"
    library.mkdir()
    say = ("laps", log, "--tracks", library, *OFF)
    assert f"there is no track file in {library}" in run(*say).stderr
    document = json.loads(files.track.read_text())
    for feature in document["features"]:
        text = json.dumps(feature["geometry"]).replace("-42.9", "-38.4").replace("-43.0", "-38.5")
        feature["geometry"] = json.loads(text)
    (library / "far.geojson").write_text(json.dumps(document))
    assert f"the one track file in {library} does not fit this log" in run(*say).stderr
    (library / "far_too.geojson").write_text(json.dumps(document))
    assert f"none of the 2 track files in {library} fits this log" in run(*say).stderr
    # What lies beside the log is looked at all the same.
    (log.parent / "hollow.geojson").write_bytes(files.track.read_bytes())
    said = run(*say).stderr
    assert "none of the 2" in said
    assert "hollow.geojson beside the log" in said


def test_a_map_beside_the_log_is_left_alone(log: Path, run: Run) -> None:
    (log.parent / "walk.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, '
        '"geometry": {"type": "LineString", "coordinates": [[8.0, 47.0], [8.1, 47.0]]}}]}'
    )
    said = run("laps", log, *OFF)
    assert said.exit_code == 0
    assert "walk" not in said.stderr
    assert "circuit: found in the log" in said.stderr


def test_a_given_track_is_turned_the_way_it_was_driven(
    log: Path, run: Run, whole: lw.Track, tmp_path: Path
) -> None:
    file = tmp_path / "the_other_way.geojson"
    lw.write_track(reversed_track(whole), file)
    said = run("laps", log, "--track", file, *OFF)
    assert said.exit_code == 0
    assert "only against its direction, so the track was turned round" in said.stderr
    assert "best" in said.stdout


def test_no_advice_for_lines_that_cannot_be_completed_as_they_are(
    files: Files, log: Path, run: Run, tmp_path: Path
) -> None:
    library = tmp_path / "tracks"
    library.mkdir()
    lw.write_track(reversed_track(lw.read_track(files.track)), library / "hollow.geojson")
    said = run("laps", log, "--tracks", library, *OFF)
    assert said.exit_code == 0
    assert "the other way round" in said.stderr
    assert "has only the start and sector lines" not in said.stderr


def test_a_point_with_a_name_is_a_corner(
    log: Path, run: Run, whole: lw.Track, tmp_path: Path
) -> None:
    file = tmp_path / "mine.geojson"
    lw.write_track(whole.with_corner_names({2: "Mill"}), file)
    document = json.loads(file.read_text())
    corners = [f for f in document["features"] if f["properties"]["role"] == "corner"]
    before = [dict(f["properties"]) for f in corners]
    # One is to be found again, and one is where the path is straight.
    for member in ("entry_m", "apex_m", "exit_m", "radius_m"):
        del corners[1]["properties"][member]
    point = whole.path.at(60.0)
    lat_deg, lon_deg = whole.plane.point_deg((float(point.east_m), float(point.north_m)))
    document["features"].append({
        "type": "Feature", "properties": {"role": "corner", "name": "New"},
        "geometry": {"type": "Point", "coordinates": [lon_deg, lat_deg]},
    })  # fmt: skip
    corners[0]["properties"]["entry_m"] -= 5.0
    file.write_text(json.dumps(document))
    said = run("track", log)
    assert "'New'" not in said.stderr
    assert " 1  New " in said.stdout
    assert run("track", log, "--out", tmp_path / "written.json").exit_code == 0
    new, *shown = lw.read_track(tmp_path / "written.json").corners
    assert (new.order, new.name, new.apex_m) == (1, "New", pytest.approx(60.0, abs=40.0))
    # Names stay; a corner without one is called by its number, which goes up by one.
    names = [one["name"] for one in before]
    assert [one.name for one in shown] == [
        name if not name.isdecimal() else str(int(name) + 1) for name in names
    ]
    assert shown[0].entry_m == pytest.approx(before[0]["entry_m"] - 5.0, abs=1e-2)
    assert shown[1].apex_m == pytest.approx(before[1]["apex_m"], abs=1.0)


@pytest.mark.parametrize("command", ["laps", "corners", "track", "debrief", "weekend"])
def test_a_key_that_is_not_read_is_said_by_every_command(
    command: str, files: Files, run: Run, tmp_path: Path
) -> None:
    folder = tmp_path / "notes"
    folder.mkdir()
    log = Path(shutil.copy(files.log, folder))
    (folder / "weekend.toml").write_text(f'[logs."{log.name}"]\ndrivr = "Runa"\n')
    what = (folder, "--workers", 1) if command == "weekend" else (log,)
    last = ("--no-notes",) if command == "debrief" else ()
    said = run(command, *what, "--track", files.track, "--repeat-line", "off", *last)
    assert said.exit_code == 0, said.stderr
    once = "weekend.toml:2: 'drivr' under"
    assert " ".join((said.stdout + said.stderr).split()).count(once) == 1


def test_a_point_off_the_circuit_is_named(
    files: Files, log: Path, run: Run, tmp_path: Path
) -> None:
    document = json.loads(files.track.read_text())
    lon_deg, lat_deg = document["features"][0]["geometry"]["coordinates"][0][:2]
    document["features"].append({
        "type": "Feature", "properties": {"role": "corner", "order": 99, "name": "Far"},
        "geometry": {"type": "Point", "coordinates": [lon_deg, lat_deg + 0.02]},
    })  # fmt: skip
    file = tmp_path / "far.geojson"
    file.write_text(json.dumps(document))
    said = run("track", log, "--track", file)
    assert said.exit_code == 0
    assert "'Far': its point is not on this circuit" in said.stderr
