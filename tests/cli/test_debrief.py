"""The debrief between two sessions."""

from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson
from json_schemas import DEBRIEF
from jsonschema import Draft202012Validator

from lapwright.cli.debrief import _how_to_note, _side_by_side
from lapwright.cli.printing.worth_text import wrapped
from lapwright.errors import NotesError
from lapwright.notes.weekend_notes import read_notes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.wording.coaching.change_words import ChangeWords
from lapwright.wording.coaching.worth_trying import Advice


def test_a_debrief_that_cannot_be_noted_is_shown_all_the_same(
    files: Files, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path, *_: object) -> None:
        what = "cannot be edited without harm"
        raise NotesError(what, path)

    monkeypatch.setattr("lapwright.cli.debrief.write_worth_trying", refuse)
    result = run("debrief", files.log, "--track", files.track, "--road", "off")
    assert result.exit_code == 0
    assert "Best: lap" in result.stdout
    assert "not noted for the next debrief: " in result.stderr
    assert "cannot be edited without harm" in result.stderr
    assert "Noted in" not in result.stdout


def test_laps_side_by_side() -> None:
    plain, marked = "  1 1:36.869", "  9 1:36.197 gap in the log"
    assert _side_by_side([plain] * 6) == ["   ".join([plain] * 5), plain]
    # A long one takes the room of two, and of as many as it needs.
    assert _side_by_side([marked, plain]) == [marked.ljust(30) + plain]
    assert _side_by_side([plain, "x" * 30, plain]) == [
        plain.ljust(15) + "x" * 30 + " " * 15 + plain
    ]
    long = ["x" * 70, plain, "y" * 15, plain]
    assert _side_by_side(long) == ["x" * 70, plain.ljust(15) + "y" * 15 + " " * 15 + plain]
    assert _side_by_side(["  0 out lap"]) == ["  0 out lap"]


def test_no_number_is_parted_from_its_unit() -> None:
    for before in range(20, 80):
        lines = wrapped("x" * before + " 95 % interval -0.41 to -0.04 s, 0.26 ± 0.05 s at 80 km/h")
        assert max(map(len, lines)) <= 80
        said = "\n".join(lines)
        for whole in ("95 %", "-0.41 to -0.04 s", "0.26 ± 0.05 s", "80 km/h"):
            assert whole in said


def _sessions(files: Files, folder: Path, notes: str) -> tuple[Path, tuple[object, ...]]:
    """One log as two sessions, the first with a thing worth trying; the second to be debriefed."""
    text = files.log.read_text(encoding="utf-8")
    for name in ("friday.csv", "saturday.csv"):
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "weekend.toml").write_text(notes, encoding="utf-8")
    options = ("--track", files.track, "--road", "off", "--no-notes")
    return folder / "saturday.csv", options


FRIDAY = """[logs."friday.csv"]
driver = "Runa Tidewell"
[[logs."friday.csv".worth_trying]]
corner = 10
code = "throttle"
"""


def test_what_is_noted_is_told_from_what_was_only_worth_trying(
    files: Files, run: Run, run_json: RunJson, tmp_path: Path
) -> None:
    notes = (
        FRIDAY
        + """[logs."saturday.csv"]
tried = ["corner 4, minimum speed: did not dare", "kerb at corner 2"]
"""
    )
    log, options = _sessions(files, tmp_path, notes)
    document = run_json("debrief", log, *options)
    follows = list(Draft202012Validator(DEBRIEF).iter_errors(document))
    assert follows == []
    noted = {one["corner"]: one["noted"] for one in document["came_of_it"]}
    assert noted == {4: "corner 4, minimum speed: did not dare", 10: None}
    said = " ".join(run("debrief", log, *options).stdout.split())
    for one in document["came_of_it"]:
        assert one["text"] in said
        # The same passes on both sides, placed on the circuit anew: nothing is to be seen.
        low, high = one["against_rest_ci95_s"]
        assert low < 0.0 < high
        assert ChangeWords().amount(one["against_rest_s"]) in one["text"]
        assert f"(95 % interval {ChangeWords().interval(low, high)})" in one["text"]
    # What all depends on comes first.
    assert "(compared with friday.csv): - This assumes the same driver; no driver is noted" in said
    assert """Not understood under 'tried': "kerb at corner 2".""" in said


def test_what_is_noted_is_repeated_where_there_is_nothing_to_compare(
    files: Files, run: Run, tmp_path: Path
) -> None:
    notes = (
        FRIDAY
        + """Tried = "T4"
[logs."saturday.csv"]
driver = "Runa Tidewel"
tried = [4]
changes = ["softer bar"]
"""
    )
    log, options = _sessions(files, tmp_path, notes)
    result = run("debrief", log, *options)
    said = " ".join(result.stdout.split())
    assert result.exit_code == 0
    for part in (
        'You noted as tried: "corner 4".', "Changed on the car: softer bar.",
        "There is no session before to compare with", "are taken for two",
        ": 'Tried' stands under",
    ):  # fmt: skip
        assert part in said


def test_how_to_note_a_try_is_said(tmp_path: Path) -> None:
    found = Advice((WorthTryingInWords(4, "minimum_speed"),), "")
    lines = _how_to_note(tmp_path / "friday.csv", found)
    assert "weekend.toml" in "".join(lines[:-2])
    (tmp_path / "weekend.toml").write_text("\n".join(lines[-2:]), encoding="utf-8")
    notes = read_notes(tmp_path / "weekend.toml")
    assert notes["FILE_OF_THE_NEXT_LOG"].tried == ("corner 4, minimum speed",)


def test_wet_and_dry_are_not_compared(files: Files, run: Run, tmp_path: Path) -> None:
    notes = (
        FRIDAY.replace('[logs."friday.csv"]', '[logs."friday.csv"]\nconditions = "wet"', 1)
        + '[logs."saturday.csv"]\nconditions = "dry"\n'
    )
    log, options = _sessions(files, tmp_path, notes)
    said = " ".join(run("debrief", log, *options).stdout.split())
    apart = 'friday.csv was driven in conditions noted as "wet", this session in "dry"'
    assert f"{apart}: the two are not compared." in said
    assert "95 % interval" not in said.partition("Worth trying:")[0]


def test_new_tyres_are_named_beside_a_change(files: Files, run: Run, tmp_path: Path) -> None:
    notes = (
        FRIDAY.replace('[logs."friday.csv"]', '[logs."friday.csv"]\ntyres = "set 1"', 1)
        + '[logs."saturday.csv"]\ntyres = "set 2, new"\nchanges = ["softer bar"]\n'
    )
    log, options = _sessions(files, tmp_path, notes)
    said = " ".join(run("debrief", log, *options).stdout.split())
    assert "Also different: tyres (set 1, then set 2, new)." in said
    assert "cannot tell which of these" in said
