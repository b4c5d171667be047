"""How strong evidence is, and where a line was: in words."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.coaching.sayings import evidence_text, item_text
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units

CORNER = Corner(2, "Gatehouse", "left", 500.0, 540.0, 590.0, 40.0)
ITEM = WorthTrying(2, "minimum_speed", usual=20.0, better=22.0)
SLOW, QUICK = np.array([19.5, 20.0, 20.5]), np.array([21.8, 22.0, 22.2])


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.09, "fewer than about 1 session in 10."),
        (1.0 / 250.0, "fewer than about 1 session in 200."),
        # Two of the drawn chances, and the smallest of all: how rare it is, they cannot tell.
        (2.0 / 20001.0, "fewer than 1 session in 1000."),
        (1.0 / 20001.0, "fewer than 1 session in 1000."),
    ],
)
def test_a_chance_is_said_as_a_bound(chance: float, said: str) -> None:
    text = evidence_text(replace(ITEM, chance=chance), CORNER, Units(), SLOW, QUICK)
    assert text.endswith(f"would show something this clear in {said}")


def test_a_minimum_speed_is_said_as_it_is() -> None:
    text = evidence_text(ITEM, CORNER, Units(), SLOW, QUICK)
    # 3.6 km/h are 1 m/s: 21.8 to 22.2 and 19.5 to 20.5 m/s.
    assert text.startswith("3 of 6 clean laps at 78.5 to 79.9 km/h, the other 3 at 70.2 to 73.8")


def test_a_line_is_told_from_ones_own_passes() -> None:
    item = replace(ITEM, code="line", better_laps=(3, 5, 8), usual=0.55, better=-0.41)
    said = item_text(item, CORNER, "apex_offset_m", Units(), "span")
    # 0.96 m apart; what shifts all fixes against the path is in neither.
    assert "0.9 m to the right of your usual line at the apex" in said
    usual, better = np.array([0.5, 0.55, 0.6, 0.75]), np.array([-0.45, -0.41, -0.3])
    text = evidence_text(item, CORNER, Units(), usual, better)
    moved = evidence_text(item, CORNER, Units(), usual + 0.6, better + 0.6)
    assert text == moved
    # The middle of all seven is 0.5.
    assert "at 0.8 to 0.9 m to the right of your usual line, the other 4 at 0.0 to 0.2 m" in text


def test_a_place_beyond_the_entry_or_before_the_apex_has_no_minus() -> None:
    braking = WorthTrying(2, "braking", usual=514.0, better=508.0, better_laps=(3, 5))
    said = item_text(braking, CORNER, "brake_station_m", Units(), "span")
    # The corner begins at 500 m: 8 and 14 m into it.
    assert "about 8 m into the corner instead of your usual 14 m." in said
    text = evidence_text(
        braking, CORNER, Units(), np.array([512.5, 514.0, 516.5]), np.array([498.0, 508.0])
    )
    assert text.startswith("2 of 5 clean laps at 8 m into the corner to 2 m before the corner, ")
    assert "the other 3 at 13 to 16 m into the corner." in text
    throttle = WorthTrying(2, "throttle", usual=538.0, better=532.0, better_laps=(3,))
    said = item_text(throttle, CORNER, "throttle_station_m", Units(), "run_out")
    # The apex is at 540 m.
    assert "8 m before the apex instead of your usual 2 m before the apex. That lap was" in said
    for words in (said, text):
        assert "-" not in words
