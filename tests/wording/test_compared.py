"""One line on two laps: slower, quicker, too close, the same, of another log."""

from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd
import pytest

from lapwright.notes.noted import Noted
from lapwright.notes.weekend_notes import LogNotes
from lapwright.wording.compared import against, what_differed


@dataclass
class Two:
    """What the line is made of."""

    time_difference_s: float = 0.4
    time_difference_sd_s: float = 0.01
    lap: int = 2
    reference: int = 5
    other_log: bool = False
    reference_log: Path = Path("x/sat.csv")
    noted: Noted = field(default_factory=Noted)
    reference_noted: Noted = field(default_factory=Noted)


@pytest.mark.parametrize(
    ("two", "line"),
    [
        (Two(), "Lap 2 against lap 5: SAID (slower)"),
        (Two(-0.4), "Lap 2 against lap 5: SAID (quicker)"),
        # Twice the error bar is the docs' limit.
        (Two(0.0199), "Lap 2 against lap 5: too close to tell apart (SAID)"),
        (Two(0.0201), "Lap 2 against lap 5: SAID (slower)"),
        (Two(0.0, 0.0, 5), "Lap 5 against itself: no difference"),
        (Two(other_log=True), "Lap 2 against lap 5 of sat.csv: SAID (slower)"),
        (Two(lap=5, other_log=True), "Lap 5 against lap 5 of sat.csv: SAID (slower)"),
    ],
)
def test_against(two: Two, line: str) -> None:
    assert against(two, "SAID") == line  # type: ignore[arg-type]


def differed(mine: LogNotes, other: LogNotes, *days: str, other_log: bool = True) -> list[str]:
    moments = [pd.Timestamp(day, tz="UTC") for day in days] or [None, None]
    noted = [Noted(notes, day) for notes, day in zip((mine, other), moments, strict=True)]
    two = Two(other_log=other_log, noted=noted[0], reference_noted=noted[1])
    return what_differed(two)  # type: ignore[arg-type]


def test_wet_against_dry_is_said_first_and_once() -> None:
    mine = LogNotes(conditions="light rain", tyres="wets")
    other = LogNotes(conditions="dry, 20 degrees", tyres="club slick")
    assert differed(mine, other) == [
        "Noted as wet (light rain) against dry (dry, 20 degrees): the track differed, so no "
        "difference below need be the driver's.",
        "Different, according to the notes and the logs: tyres (wets against club slick).",
    ]


def test_what_both_notes_name_and_the_days_are_said() -> None:
    mine = LogNotes(driver="Ivo Marlen", car="red one", conditions="dry, 24 degrees")
    other = LogNotes(driver="Runa Tidewell", tyres="club slick", conditions="Dry,  20 degrees")
    assert differed(mine, other, "2026-05-02T09:00", "2026-05-01T17:00") == [
        "Different, according to the notes and the logs: driver (Ivo Marlen against Runa Tidewell)"
        ", conditions (dry, 24 degrees against Dry,  20 degrees), day (2026-05-02 against "
        "2026-05-01)."
    ]
    # The same but for blanks and capitals, or noted of one alone.
    other = LogNotes(driver="ivo  marlen", tyres="club slick")
    assert differed(mine, other, "2026-05-02T09:00", "2026-05-02T17:00") == []
    assert differed(LogNotes(), LogNotes()) == []


def test_of_one_log_only_a_changing_track_is_said() -> None:
    same = LogNotes(driver="Ivo Marlen", conditions="dry")
    assert differed(same, same, other_log=False) == []
    drying = LogNotes(conditions="drying")
    said = "Noted as changing (drying): the track may differ between the two laps."
    assert differed(drying, drying, other_log=False) == [said]
    assert differed(LogNotes(), drying) == [said]
