import numpy as np
import pytest

from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.live_session.lap_book import Lap, flags_of, in_pit, kind_of, stop_without_line

PITS = (PitStretch(100.0, 160.0, 130.0, stands=True),)


def lap(kind: str = "timed", start_s: float = 20.0) -> Lap:
    return Lap(3, kind, object(), start_s, 0.0, [])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "end_s", "kind"),
    [
        (lap(), 90.0, "timed"), (lap(), 110.0, "in"), (lap("out"), 90.0, "out"),
        (lap(start_s=120.0), 200.0, "out"), (Lap(0, "timed", None, 20.0, 0.0, []), 90.0, "out"),
    ],
)  # fmt: skip
def test_kinds_are_those_of_the_lap_table(one: Lap, end_s: float, kind: str) -> None:
    assert kind_of(one, end_s, PITS) == kind


def test_a_stop_in_a_lane_beside_the_line_cuts_the_lap() -> None:
    assert stop_without_line(PITS, 20.0, 200.0) is PITS[0]
    assert stop_without_line(PITS, 120.0, 200.0) is None
    assert stop_without_line((PitStretch(100.0, 160.0, 130.0, stands=False),), 20.0, 200.0) is None
    assert in_pit(PITS, 100.0)
    assert not in_pit(PITS, 99.0)


def test_next_to_nothing_is_a_gap() -> None:
    assert flags_of(None, "timed", 0.0, 90.0, np.nan, []) == ("gap",)
