"""The debrief between two sessions."""

from pathlib import Path

import pytest
from cli_runs import Files, Run

from lapwright.cli.debrief import _side_by_side
from lapwright.cli.worth_text import wrapped
from lapwright.errors import NotesError


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
