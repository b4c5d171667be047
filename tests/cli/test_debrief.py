"""The debrief between two sessions."""

from pathlib import Path

import pytest
from cli_runs import Files, Run

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
