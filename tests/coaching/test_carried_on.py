"""Ways of the session before, looked for now: by place and way, never across what differs."""

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.carried_on import carried_on, ways_driven
from lapwright.coaching.evidence import Evidence
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying

# Slow on laps 1 to 4 at 20 m/s, quick on 5 to 7 at 21 m/s.
SPEED = np.array([20.0, 20.1, 19.9, 20.0, 21.0, 21.1, 20.9])
ITEM = WorthTrying(
    4, "minimum_speed", 0.25, 0.05, usual=20.0, better=21.0, better_laps=(5, 6, 7),
    usual_laps=(1, 2, 3, 4),
)  # fmt: skip


@dataclass
class Made:
    """A session of one corner; runs take ``time_s`` longer than usual."""

    speed_mps: np.ndarray
    time_s: np.ndarray
    notes: LogNotes = field(default_factory=LogNotes)
    corner: int = 4

    @property
    def evidence(self) -> Evidence:
        n = len(self.speed_mps)
        table = pd.DataFrame(
            {
                "lap": np.arange(1, n + 1), "corner": self.corner, "min_speed_mps": self.speed_mps,
                "braking_m": 500.0 + self.speed_mps, "throttle_station_m": np.nan,
                "span_excess_s": self.time_s,
            }
        )  # fmt: skip
        return Evidence(table, {"span": 1e-4 * np.eye(n)}, pd.DataFrame())


# The usual way took 0.24 s longer on average then, and takes 0.22 s longer now.
FRIDAY = Made(SPEED, np.array([0.26, 0.22, 0.28, 0.2, 0.02, -0.02, 0.0]))
SATURDAY = Made(SPEED, np.array([0.24, 0.2, 0.26, 0.18, 0.02, -0.02, 0.0]))


def test_both_and_together() -> None:
    (one,) = carried_on(FRIDAY, SATURDAY, [ITEM])
    assert one.before.quicker_s == pytest.approx(0.24)
    assert one.now.quicker_s == pytest.approx(0.22)
    assert (one.now.better_laps, one.now.usual_laps) == ((5, 6, 7), (1, 2, 3, 4))
    assert one.together is not None
    # The same scatter on both sides: the mean, with the bar of one over the square root of two.
    assert one.before.sd_s == pytest.approx(one.now.sd_s)
    assert one.together.value == pytest.approx(0.23)
    assert one.together.sd == pytest.approx(one.now.sd_s / np.sqrt(2.0))


def test_today_counts_by_the_way_and_not_by_the_time() -> None:
    # Three quick runs, the quick way on others: nothing is chosen by the time.
    (one,) = carried_on(FRIDAY, replace(SATURDAY, speed_mps=SPEED[::-1].copy()), [ITEM])
    assert one.now.better_laps == (1, 2, 3)
    assert one.now.quicker_s < 0.0


def test_too_few_of_one_way_today() -> None:
    speed = SPEED.copy()
    speed[4] = 20.0
    assert carried_on(FRIDAY, replace(SATURDAY, speed_mps=speed), [ITEM]) == ()


def test_other_tyres_stand_side_by_side() -> None:
    notes = [LogNotes(tyres="set 1"), LogNotes(tyres="set 2")]
    (one,) = carried_on(replace(FRIDAY, notes=notes[0]), replace(SATURDAY, notes=notes[1]), [ITEM])
    assert one.together is None
    assert one.differs == (("tyres", "set 1", "set 2"),)


def test_never_across_wet_and_dry() -> None:
    wet = replace(SATURDAY, notes=LogNotes(conditions="wet"))
    assert carried_on(replace(FRIDAY, notes=LogNotes(conditions="dry")), wet, [ITEM]) == ()


def test_another_corner_of_that_number_is_not_taken() -> None:
    # Noted at 20 and 21 m/s without a place; the laps of then are 5 m/s quicker at that number.
    assert carried_on(replace(FRIDAY, speed_mps=SPEED + 5.0), SATURDAY, [ITEM]) == ()
    # With a place the number is today's, whatever the values were on the track of then.
    placed = replace(ITEM, lat_deg=-43.0, lon_deg=144.0)
    quick = [replace(s, speed_mps=SPEED + 5.0) for s in (FRIDAY, SATURDAY)]
    assert len(carried_on(quick[0], quick[1], [placed])) == 1


def test_lines_and_notes_by_hand_are_left_out() -> None:
    by_hand = WorthTrying(4, "minimum_speed")
    assert carried_on(FRIDAY, SATURDAY, [replace(ITEM, code="line"), by_hand]) == ()
    assert carried_on(FRIDAY, replace(SATURDAY, corner=5), [ITEM]) == ()


def test_which_laps_went_which_way() -> None:
    speed = SPEED.copy()
    # Nearer to the better way, and one run of which nothing is known.
    speed[3], speed[0] = 20.6, np.nan
    today = replace(SATURDAY, speed_mps=speed)
    assert ways_driven(FRIDAY, today, ITEM) == ((4, 5, 6, 7), (2, 3))
    wet = replace(today, notes=LogNotes(conditions="wet"))
    dry = replace(FRIDAY, notes=LogNotes(conditions="dry"))
    assert ways_driven(dry, wet, ITEM) is None
    assert ways_driven(FRIDAY, today, replace(ITEM, code="line")) is None
