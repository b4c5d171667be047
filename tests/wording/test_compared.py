"""One line on two laps: slower, quicker, too close, the same, of another log."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from lapwright.wording.compared import against


@dataclass
class Two:
    """What the line is made of."""

    time_difference_s: float = 0.4
    time_difference_sd_s: float = 0.01
    lap: int = 2
    reference: int = 5
    other_log: bool = False
    reference_log: Path = Path("x/sat.csv")


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
