"""Halves of laps by coasting: counted by hand, and nothing where there is nothing to compare."""

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.coasting_cost import coasting_cost
from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.numerics.student_t import t_quantile


def tables(coast_s: list[float], span_s: list[float]) -> tuple[pd.DataFrame, pd.DataFrame]:
    laps = np.arange(1, len(coast_s) + 1)
    driver = pd.DataFrame({"lap": laps, "corner": 4, "coast_s": coast_s, "coast_sd_s": 0.02})
    return driver, pd.DataFrame({"lap": laps, "corner": 4, "span_s": span_s})


COAST = [0.1, 0.6, 0.2, 0.5, 0.15, 0.7, 0.1, 0.65]
SPAN = [10.0, 10.3, 10.1, 10.4, 10.2, 10.3, 10.1, 10.2]


def test_two_halves_by_hand() -> None:
    driver, spans = tables(COAST, SPAN)
    row = coasting_cost(driver, spans).iloc[0]
    less, more = [10.0, 10.1, 10.2, 10.1], [10.3, 10.4, 10.3, 10.2]
    assert (row["less_laps"], row["more_laps"]) == (4, 4)
    assert row["less_coast_s"] == pytest.approx(0.1375)
    assert row["more_coast_s"] == pytest.approx(0.6125)
    assert row["cost_s"] == pytest.approx(np.mean(more) - np.mean(less))
    # Both halves have a variance of 0.02 / 3: sd of the difference sqrt(2 * 0.02 / 3 / 4), and with
    # equal variances and counts Welch's degrees of freedom are 4 + 4 - 2.
    sd = np.sqrt(2.0 * 0.02 / 3.0 / 4.0)
    assert row["cost_sd_s"] == pytest.approx(sd)
    assert row["cost_high95_s"] - row["cost_s"] == pytest.approx(t_quantile(0.975, 6.0) * sd)
    assert row["cost_s"] - row["cost_low95_s"] == pytest.approx(t_quantile(0.975, 6.0) * sd)


def test_two_corners_have_a_wider_interval_each() -> None:
    driver, spans = tables(COAST, SPAN)
    both = [pd.concat([one, one.assign(corner=5)]) for one in (driver, spans)]
    rows = coasting_cost(*both)
    half = rows["cost_high95_s"] - rows["cost_s"]
    np.testing.assert_allclose(half, t_quantile(1.0 - 0.025 / 2.0, 6.0) * rows["cost_sd_s"])


def test_an_odd_lap_in_the_middle_is_in_neither_half() -> None:
    driver, spans = tables([*COAST, 0.3], [*SPAN, 99.0])
    assert coasting_cost(driver, spans)["cost_s"].iloc[0] == pytest.approx(0.2)


def test_too_few_laps_or_none_that_differ() -> None:
    count = MIN_LAPS - 1
    assert coasting_cost(*tables(COAST[:count], SPAN[:count])).empty
    assert coasting_cost(*tables([0.3] * 8, SPAN)).empty
    # Differences that the channel cannot tell.
    driver, spans = tables(COAST, SPAN)
    assert coasting_cost(driver.assign(coast_sd_s=1.0), spans).empty
    # Laps on which it is not known do not count.
    unknown = driver.assign(coast_s=driver["coast_s"].where(driver["lap"] < MIN_LAPS))
    assert coasting_cost(unknown, spans).empty
