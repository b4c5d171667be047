"""Sentences on the driver's channels: their numbers, and when there are none."""

import numpy as np
import pandas as pd

from lapwright.columns import empty
from lapwright.columns.driver import COASTING, DRIVER
from lapwright.wording.driver import driver_words

CLEAN = [1, 2, 3, 4]


def driver(coast_s: list[float], hesitated: int = 0) -> pd.DataFrame:
    count = len(coast_s)
    return pd.DataFrame(
        {"lap": np.arange(1, count + 1), "corner": 7, "coast_s": coast_s, "coast_sd_s": 0.04,
         "hesitations": [float(k < hesitated) for k in range(count)],
         "hesitation_s": [0.5 if k < hesitated else 0.0 for k in range(count)],
         "hesitation_sd_s": [0.04 if k < hesitated else 0.0 for k in range(count)]}
    )  # fmt: skip


def cost(cost_s: float, half_s: float) -> pd.DataFrame:
    return pd.DataFrame(
        {"corner": [7], "less_laps": 5, "more_laps": 6, "less_coast_s": 0.1, "more_coast_s": 0.5,
         "cost_s": cost_s, "cost_sd_s": 0.04, "cost_low95_s": cost_s - half_s,
         "cost_high95_s": cost_s + half_s}
    )  # fmt: skip


NONE = empty(COASTING)


def test_coasting_of_the_usual_lap_and_of_the_best() -> None:
    # The median of 0.30, 0.40, 0.50 and 0.10 is 0.35; the best lap is the fourth.
    said = driver_words(driver([0.3, 0.4, 0.5, 0.1]), NONE, 7, CLEAN, 4)
    assert said == [
        "You usually coast 0.35 s between brakes and throttle here, 0.10 s on the best lap (each "
        "lap ± 0.04 s)."
    ]
    assert "best lap" not in driver_words(driver([0.3, 0.4, 0.5, np.nan]), NONE, 7, CLEAN, 4)[0]


def test_a_difference_between_halves_is_told_only_where_luck_does_not_explain_it() -> None:
    table = driver([0.3, 0.4, 0.5, 0.1])
    clear = driver_words(table, cost(0.2, 0.1), 7, CLEAN, 4)
    assert clear[1] == (
        "The 6 clean laps with more coasting here were 0.20 ± 0.04 s slower from this braking zone "
        "to the next than the 5 with less. Coasting need not be the reason."
    )
    assert "0.20 ± 0.04 s quicker" in driver_words(table, cost(-0.2, 0.1), 7, CLEAN, 4)[1]
    assert len(driver_words(table, cost(0.2, 0.3), 7, CLEAN, 4)) == 1


def test_a_throttle_that_closes_again_on_many_laps() -> None:
    said = driver_words(driver([0.1] * 4, hesitated=3), NONE, 7, CLEAN, 4)
    assert said == [
        "You closed the throttle again before it was fully open on 3 of 4 clean laps, for 0.50 ± "
        "0.04 s."
    ]
    assert driver_words(driver([0.1] * 4, hesitated=1), NONE, 7, CLEAN, 4) == []


def test_two_sentences_at_most() -> None:
    table = driver([0.4] * 4, hesitated=4)
    assert len(driver_words(table, cost(0.2, 0.1), 7, CLEAN, 4)) == 2


def test_nothing_is_said_without_channels_or_with_too_few_laps_or_of_another_corner() -> None:
    assert driver_words(empty(DRIVER), NONE, 7, CLEAN, 4) == []
    assert driver_words(driver([0.4, 0.4]), NONE, 7, CLEAN, 1) == []
    assert driver_words(driver([0.4] * 4), NONE, 8, CLEAN, 4) == []
    # A lap that is not clean is not usual.
    assert driver_words(driver([0.4] * 4), NONE, 7, [1, 2], 1) == []
