"""What came of the last try, in sentences."""

from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson

import lapwright as lw
from lapwright.cli.previous import CameOfIt


def test_what_it_depends_on_is_said_first() -> None:
    came = CameOfIt(
        "friday.csv", said=("Quicker.",), caveats=("If the same driver drove.",),
        remarks=("Changed.",),
    )  # fmt: skip
    assert came.texts == ("If the same driver drove.", "Quicker.", "Changed.")


@pytest.fixture(scope="module")
def whole(files: Files) -> lw.Track:
    """The circuit, complete."""
    return lw.complete_track(lw.read_track(files.track), lw.read_log(files.log))


@pytest.fixture
def more(whole: lw.Track, tmp_path: Path) -> Path:
    """The same circuit with one corner more, the first, in a folder of its own."""
    file = tmp_path / "tracks" / "more.geojson"
    file.parent.mkdir()
    lw.write_track(whole.add_corner("", at=60.0), file)
    return file


def _two_days(files: Files, folder: Path, item: str, tried: str) -> Path:
    text = files.log.read_text(encoding="utf-8")
    for name in ("friday.csv", "saturday.csv"):
        (folder / name).write_text(text, encoding="utf-8")
    notes = (
        f'[logs."friday.csv"]\ndriver = "R"\n[[logs."friday.csv".worth_trying]]\n{item}\n'
        f'[logs."saturday.csv"]\ndriver = "R"\ntried = [{tried}]\n'
    )
    (folder / "weekend.toml").write_text(notes, encoding="utf-8")
    return folder / "saturday.csv"


def _placed(whole: lw.Track) -> str:
    lat_deg, lon_deg = whole.apex_deg(whole.corners[3])
    return f'corner = 4\ncode = "minimum_speed"\nlat_deg = {lat_deg}\nlon_deg = {lon_deg}'


def test_a_noted_corner_is_followed_up_where_it_is(
    files: Files, whole: lw.Track, more: Path, run_json: RunJson, tmp_path: Path
) -> None:
    log = _two_days(files, tmp_path, _placed(whole), '"corner 5 now, minimum speed"')
    document = run_json("debrief", log, "--track", more, "--road", "off", "--no-notes")
    (came,) = document["came_of_it"]
    assert (came["corner"], came["noted"]) == (5, "corner 5 now, minimum speed")
    said = "Corner 4 in the notes of friday.csv is corner 5 of this track"
    assert [one for one in document["before_remarks"] if one.startswith(said)]


def test_which_corner_is_meant_is_asked_and_not_guessed(
    files: Files, whole: lw.Track, more: Path, run_json: RunJson, tmp_path: Path
) -> None:
    log = _two_days(files, tmp_path, _placed(whole), '"corner 4, minimum speed"')
    document = run_json("debrief", log, "--track", more, "--road", "off", "--no-notes")
    assert document["came_of_it"] == []
    (asked,) = [one for one in document["before_remarks"] if "Which corner is meant" in one]
    assert '"corner 5 now" for the corner of then, or "corner 4 now" for the one' in asked


def test_old_notes_go_by_number_and_are_doubted_where_their_track_counts_otherwise(
    files: Files, whole: lw.Track, more: Path, run: Run, tmp_path: Path
) -> None:
    item = 'corner = 4\ncode = "minimum_speed"'
    log = _two_days(files, tmp_path, item, '"corner 4, minimum speed"')
    options = ("--road", "off", "--no-notes")
    doubt = "The notes of friday.csv say corner 4 without a place"
    plain = " ".join(run("debrief", log, "--track", more, *options).stdout.split())
    assert "minimum speed at corner 4" in plain.lower()
    assert doubt not in plain
    lw.write_track(whole, tmp_path / "ours.geojson")
    said = " ".join(run("debrief", log, "--track", more, *options).stdout.split())
    assert f"{doubt}, and ours.geojson beside it has another corner of that number" in said
    assert doubt not in run("debrief", log, *options).stdout
