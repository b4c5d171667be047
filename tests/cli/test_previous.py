"""Which session is the one before."""

from pathlib import Path

from lapwright.analysis.notes import LogNotes
from lapwright.cli.previous import log_before


def test_the_last_session_of_the_same_driver_where_something_was_tried(tmp_path: Path) -> None:
    for name in ("friday.csv", "other.csv", "saturday.csv"):
        (tmp_path / name).touch()
    now = tmp_path / "saturday.csv"
    notes = {
        "friday.csv": LogNotes(driver="Runa"),
        "other.csv": LogNotes(driver="Ivo"),
        "gone.csv": LogNotes(driver="Runa"),
        "saturday.csv": LogNotes(driver="Runa"),
        "sunday.csv": LogNotes(driver="Runa"),
    }
    # Nothing was to be tried and nothing was: no session is asked for.
    assert log_before(now, notes) is None
    tried = notes | {"saturday.csv": LogNotes(driver="Runa", tried=("corner 1, braking: later",))}
    assert log_before(now, tried) == "friday.csv"
    changed = notes | {"saturday.csv": LogNotes(driver="Runa", changes=("softer bar",))}
    assert log_before(now, changed) == "friday.csv"
    anyone = notes | {"saturday.csv": LogNotes(tried=("corner 1, braking: later",))}
    assert log_before(now, anyone) == "other.csv"
