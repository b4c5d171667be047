"""What came of a change to the car, read as a racer reads it."""

from dataclasses import replace

import numpy as np

from lapwright.coaching.car_change import BeforeAfter, CornerChange, MoreLaps
from lapwright.coaching.car_change.noted_changes import NotedChange
from lapwright.wording.coaching.before_after import (
    before_after_sentences,
    noted_change_sentences,
    unclear_change,
)

CHANGE = BeforeAfter(
    -0.41, 0.12, -0.65, -0.17, 96.0, 95.5, 20, 8, 2, 1, 0.1, 0.3, 0.2, -0.05, 0.1, True,
    MoreLaps(0.2, 3, 9),
    (CornerChange(4, -0.2, 0.05, -0.35, -0.05), CornerChange(5, 0.01, 0.05, -0.1, 0.1)),
)  # fmt: skip
NOTED = NotedChange(("softer bar", "lower pressures"), "Runa", "saturday", ("friday",),
                    ("saturday",), CHANGE)  # fmt: skip


def test_a_clear_change_with_the_corner_where_it_is_seen() -> None:
    assert before_after_sentences("Clean laps", CHANGE, {4: "Long Barrow"}) == [
        "Clean laps: 0.41 s quicker (95 % interval 0.17 to 0.65 s quicker; 20 laps in 2 sessions "
        "without it, 8 laps in 1 session with it).",
        "Seen in corner 4 (Long Barrow), 0.20 s quicker (0.05 to 0.35 s quicker).",
        "About 27 more clean laps would narrow it to 0.2 s either way: 3 sessions of 9, the other "
        "setting first, then in turn.",
    ]


def test_what_is_not_clear_says_so() -> None:
    change = replace(CHANGE, high95_s=0.1, corners=CHANGE.corners[1:], told_apart=False)
    said = before_after_sentences("Clean laps", change)
    assert said[0].split("(")[1].startswith("95 % interval 0.65 s quicker to 0.10 s slower;")
    assert said[1:3] == [
        "So it could be nothing.", "No corner on its own shows a clear difference.",
    ]  # fmt: skip
    assert said[3].startswith("Here, what track and driver gained from one session to the next")
    assert before_after_sentences("Clean laps", change, brief=True) == said[:2]


def test_few_laps_and_none() -> None:
    few = before_after_sentences("Clean laps", replace(CHANGE, laps_after=3))
    assert few[1] == "That is too few laps to rely on."
    none = replace(CHANGE, low95_s=-np.inf, high95_s=np.inf, laps_after=1, laps_before=1)
    assert before_after_sentences("Clean laps", none) == [
        "Clean laps: too few to compare (1 lap in 2 sessions without it, 1 lap in 1 session with "
        "it)."
    ]


def test_how_many_more_laps_would_settle_it() -> None:
    last = {
        sessions: before_after_sentences("x", replace(CHANGE, more=MoreLaps(0.2, sessions, 9)))[-1]
        for sessions in (None, 0, 1)
    }
    assert last[None] == (
        "Even 20 more sessions like these would not narrow it to 0.2 s either way."
    )
    assert last[0].startswith("Seen in")
    assert last[1] == (
        "About 9 more clean laps, in one session with the other setting, would narrow it to 0.2 s "
        "either way."
    )


def test_a_noted_change_names_what_and_who_and_the_tyres() -> None:
    said = noted_change_sentences(replace(NOTED, tyres=("set 1", "set 2")))
    assert said[0] == "softer bar; lower pressures (from saturday, Runa)."
    assert said[1].startswith("Clean laps: 0.41 s quicker")
    assert said[-1] == (
        "Also different: tyres (set 1, then set 2). The laps cannot tell which of these made the "
        "difference."
    )
    assert noted_change_sentences(replace(NOTED, driver=""))[0].endswith("(from saturday).")


def test_why_there_is_no_comparison() -> None:
    said = {
        why: noted_change_sentences(replace(NOTED, result=None, why_not=why))
        for why in ("no_other_side", "other_surface", "changing", "not_apart")
    }
    assert all(len(one) == 2 for one in said.values())
    assert said["other_surface"][1] == (
        "There is no session without it on the same surface. Wet and dry are never compared."
    )


def test_what_was_not_understood() -> None:
    assert unclear_change("sunday", "back: wing").startswith('sunday: "back: wing" was not underst')
