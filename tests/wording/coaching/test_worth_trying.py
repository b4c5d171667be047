"""What is worth trying in words: what is said, how strong it is, why there is nothing."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.coaching.worth_trying import Habit, Judgement
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units
from lapwright.wording.coaching.worth_trying import (
    advice,
    evidence_text,
    habit_in_words,
    item_text,
    lap_list,
    remark_text,
    rounded_towards,
)
from lapwright.wording.seconds import seconds

CORNER = Corner(2, "Gatehouse", "left", 500.0, 540.0, 590.0, 40.0)
ITEM = WorthTrying(2, "minimum_speed", usual=20.0, better=22.0)
SLOW, QUICK = np.array([19.5, 20.0, 20.5]), np.array([21.8, 22.0, 22.2])


def habit(
    item: WorthTrying, column: str = "min_speed_mps", clock: str = "span",
    usual: object = SLOW, better: object = QUICK,
) -> Habit:  # fmt: skip
    return Habit(item, CORNER, column, clock, np.asarray(usual), np.asarray(better))


@pytest.mark.parametrize(
    ("p_value", "said"),
    [
        (0.09, "fewer than about 1 session in 10."),
        (1.0 / 250.0, "fewer than about 1 session in 200."),
        # Two of the drawn values, and the smallest of all: how rare it is, they cannot tell.
        (2.0 / 20001.0, "fewer than 1 session in 1000."),
        (1.0 / 20001.0, "fewer than 1 session in 1000."),
    ],
)
def test_a_p_value_is_said_as_a_bound(p_value: float, said: str) -> None:
    text = evidence_text(habit(replace(ITEM, p_value=p_value)), Units())
    assert text.endswith(f"would show something this clear in {said}")


def test_a_minimum_speed_is_said_as_it_is() -> None:
    text = evidence_text(habit(ITEM), Units())
    # 3.6 km/h are 1 m/s: 21.8 to 22.2 and 19.5 to 20.5 m/s.
    assert text.startswith("3 of 6 clean laps at 78.5 to 79.9 km/h, the other 3 at 70.2 to 73.8")


def test_a_line_is_told_from_ones_own_passes() -> None:
    item = replace(ITEM, code="line", better_laps=(3, 5, 8), usual=0.55, better=-0.41)
    said = item_text(habit(item, "apex_offset_m"), Units())
    # 0.96 m apart; what shifts all fixes against the path is in neither.
    assert "0.9 m to the right of your usual line at the apex" in said
    usual, better = np.array([0.5, 0.55, 0.6, 0.75]), np.array([-0.45, -0.41, -0.3])
    text = evidence_text(habit(item, usual=usual, better=better), Units())
    moved = evidence_text(habit(item, usual=usual + 0.6, better=better + 0.6), Units())
    assert text == moved
    # The middle of all seven is 0.5.
    assert "at 0.8 to 0.9 m to the right of your usual line, the other 4 at 0.0 to 0.2 m" in text


def test_a_place_beyond_the_entry_or_before_the_apex_has_no_minus() -> None:
    braking = WorthTrying(2, "braking", usual=514.0, better=508.0, better_laps=(3, 5))
    said = item_text(habit(braking, "braking_m"), Units())
    # The corner begins at 500 m: 8 and 14 m into it.
    assert "about 8 m into the corner instead of your usual 14 m." in said
    text = evidence_text(
        habit(braking, usual=[512.5, 514.0, 516.5], better=[498.0, 508.0]), Units()
    )
    assert text.startswith("2 of 5 clean laps at 8 m into the corner to 2 m before the corner, ")
    assert "the other 3 at 13 to 16 m into the corner." in text
    throttle = WorthTrying(2, "throttle", usual=538.0, better=532.0, better_laps=(3,))
    said = item_text(habit(throttle, "throttle_station_m", "run_out"), Units())
    # The apex is at 540 m.
    assert "8 m before the apex instead of your usual 2 m before the apex. That lap was" in said
    for words in (said, text):
        assert "-" not in words


def test_numbers_are_rounded_towards_the_usual() -> None:
    assert rounded_towards(103.4, 115.0) == "104"
    assert rounded_towards(103.6, 115.0) == "104"
    assert rounded_towards(79.8, 75.0) == "79"
    assert rounded_towards(1.26, 0.4, 1) == "1.2"


def test_laps_and_times_are_said_plainly() -> None:
    assert lap_list((3,)) == "3"
    assert lap_list((3, 5, 8)) == "3, 5 and 8"
    assert seconds(0.1234, 0.04) == ("0.12 s", "0.04 s")
    assert seconds(0.1234, 0.004) == ("0.123 s", "0.004 s")


def test_all_of_it_is_said_in_the_readers_units() -> None:
    found = Judgement((habit(replace(ITEM, better_laps=(3, 5, 8))),), None, 6)
    said = advice(found, [CORNER], Units("mph"))
    (item,) = said.items
    assert said.remark == ""
    assert (item.corner, item.usual, item.better) == (2, 20.0, 22.0)
    # 22.0 and 20.0 m/s are 49.2 and 44.7 mph.
    assert item.text.startswith(
        "Corner 2 (Gatehouse): carrying the minimum speed of the laps that were quicker there "
        "(3, 5 and 8), "
        "about 49 mph instead of your usual 45 mph. Those laps were "
    )
    assert "mph" in item.evidence
    assert "km/h" in habit_in_words(found.habits[0], Units()).text


@pytest.mark.parametrize(
    ("nothing", "said"),
    [
        ("no_clean_lap", "No clean lap, so there is nothing to go by. What would help: full laps "),
        (
            "few_laps",
            "Too few clean laps (5) to tell a habit from chance; at least 6 are needed. "
            "What would help: a longer run on a clear track.",
        ),
        ("conditions", "The conditions changed during the session, so its laps cannot be compared"),
        (
            "no_habit",
            "In no corner did one way of driving it come out quicker, over 5 clean laps, ",
        ),
    ],
)
def test_why_there_is_nothing(nothing: str, said: str) -> None:
    assert remark_text(Judgement((), nothing, 5), [CORNER]).startswith(said)  # type: ignore[arg-type]


def test_how_many_laps_were_too_few_to_show_a_habit() -> None:
    text = remark_text(Judgement((), "no_habit", 7), [CORNER])
    assert "quicker, over 7 clean laps, by" in text


def test_a_corner_with_a_spin_is_named() -> None:
    text = remark_text(Judgement(held_back=(2, 9)), [CORNER])
    why = "no advice for this corner; there was a spin, a stop or an off in it this session."
    assert text == f"Corner 2 (Gatehouse): {why} Corner 9: {why}"


def test_plus_minus_is_the_receivers_error_only() -> None:
    # The standard deviation of a thing worth trying holds how laps differ: no plus-minus sign.
    item = replace(ITEM, better_laps=(3, 5), time_at_stake_s=0.263, time_at_stake_sd_s=0.052)
    said = item_text(habit(item), Units())
    assert "\N{PLUS-MINUS SIGN}" not in said
    assert "0.26 s quicker" in said
    assert said.endswith("(sd 0.05 s, the spread from lap to lap included).")
