"""What came of the last try, in sentences."""

from pathlib import Path

from lapwright.cli.previous import CameOfIt, two_spellings
from lapwright.notes.weekend_notes import LogNotes


def test_a_driver_spelt_in_two_ways_is_named(tmp_path: Path) -> None:
    for name in ("friday.csv", "other.csv", "saturday.csv"):
        (tmp_path / name).touch()
    now = tmp_path / "saturday.csv"
    notes = {
        "friday.csv": LogNotes(driver="Runa Tidewel"),
        "other.csv": LogNotes(driver="Ivo Marlen"),
        "saturday.csv": LogNotes(driver="Runa Tidewell"),
    }
    (said,) = two_spellings(now, notes)
    assert '"Runa Tidewell" and "Runa Tidewel" (friday.csv) are taken for two' in said
    assert two_spellings(now, {**notes, "friday.csv": LogNotes(driver="runa tidewell")}) == ()


def test_what_it_depends_on_is_said_first() -> None:
    came = CameOfIt("friday.csv", caveats=("If the same driver drove.",), remarks=("Changed.",))
    assert came.texts == ("If the same driver drove.", "Changed.")
