"""What came of changes in the terminal, and as objects that JSON can hold."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from json_schemas import CHANGE
from jsonschema import Draft202012Validator

from lapwright.batch import Weekend
from lapwright.cli.printing.change_text import change_lines, change_objects
from lapwright.coaching.car_change import BeforeAfter, CornerChange, MoreLaps
from lapwright.coaching.car_change.noted_changes import NotedChange

CHANGE_FOUND = BeforeAfter(
    -0.41, 0.12, -0.65, -0.17, 96.0, 95.5, 20, 8, 2, 1, 0.1, 0.3, 0.2, -0.05, 0.1, True,
    MoreLaps(0.2, 3, 9), (CornerChange(4, -0.2, 0.05, -0.35, -0.05),),
)  # fmt: skip
FOUND = NotedChange(("softer bar",), "Runa", "sat", ("fri", "fri_2"), ("sat",), CHANGE_FOUND)
NONE = NotedChange(("wing",), "", "fri", (), (), None, "no_other_side")
TOO_FEW = replace(
    FOUND,
    result=replace(
        CHANGE_FOUND, low95_s=-np.inf, high95_s=np.inf, sd_s=np.inf, corners=(),
        more=MoreLaps(0.2, None, 1),
    ),
)  # fmt: skip


def _weekend(*changes: NotedChange, unclear: tuple[tuple[str, str], ...] = ()) -> Weekend:
    empty = pd.DataFrame()
    return Weekend(empty, empty, Path(), (), 0, 0, empty, changes=changes, unclear_changes=unclear)


def test_each_change_is_a_paragraph_under_one_heading() -> None:
    lines = change_lines(_weekend(FOUND, NONE, unclear=(("sun", "back: x"),)))
    text = " ".join(line.strip() for line in lines)
    assert lines[:2] == ["", "What came of changes to the car:"]
    assert [line[:8] for line in lines if line.startswith("- ")] == [
        "- softer", "- wing (", '- sun: "',
    ]  # fmt: skip
    assert "0.41 s quicker (95 % interval 0.17 to 0.65 s quicker;" in text
    assert "There is no session without it to compare with." in text
    assert text.endswith("its interval allows for having looked at each of them.")
    assert max(map(len, lines)) <= 79


def test_nothing_is_said_without_a_change() -> None:
    assert change_lines(_weekend()) == []
    assert "allows for having looked" not in " ".join(change_lines(_weekend(TOO_FEW)))


def test_objects_are_as_promised() -> None:
    objects = change_objects([FOUND, NONE, TOO_FEW])
    for one in json.loads(json.dumps(objects, allow_nan=False)):
        assert not list(Draft202012Validator(CHANGE).iter_errors(one))
    found, none, few = objects
    assert (found["change_s"], found["change_sd_s"]) == (-0.41, 0.12)
    assert found["change_ci95_s"] == [-0.65, -0.17]
    assert (found["more_sessions"], found["more_laps_each"]) == (3, 9)
    assert found["sessions_before"] == ["fri", "fri_2"]
    assert found["corners"] == [
        {"corner": 4, "change_s": -0.2, "change_sd_s": 0.05, "change_ci95_s": [-0.35, -0.05]}
    ]
    assert (none["why_not"], none["change_s"], none["driver"]) == ("no_other_side", None, None)
    assert (few["change_s"], few["laps_before"], few["more_sessions"]) == (None, 20, None)
