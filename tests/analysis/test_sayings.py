"""How strong evidence is, and where a line was: in words."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.analysis.sayings import evidence_text
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Corner
from lapwright.units import Units

CORNER = Corner(2, "Gatehouse", "left", 500.0, 540.0, 590.0, 40.0)
ITEM = WorthTrying(2, "minimum_speed", usual=20.0, better=22.0)
SLOW, QUICK = np.array([19.5, 20.0, 20.5]), np.array([21.8, 22.0, 22.2])


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.09, "at most one session in 11."),
        (1.0 / 250.0, "at most one session in 250."),
        # Two of the drawn chances, and the smallest of all: how rare it is, they cannot tell.
        (2.0 / 20001.0, "fewer than one session in 1000."),
        (1.0 / 20001.0, "fewer than one session in 1000."),
    ],
)
def test_a_chance_is_said_as_a_bound(chance: float, said: str) -> None:
    text = evidence_text(replace(ITEM, chance=chance), CORNER, Units(), SLOW, QUICK)
    assert text.endswith(f"would give evidence as strong in {said}")
