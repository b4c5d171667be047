"""The quicker third is described by its medians, with bars that hold what scatter does."""

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.evidence import Evidence
from lapwright.coaching.no_habit.quicker_third import QUANTITIES, quicker_third, quickest_rows

LAPS = 9


def made(**columns: "np.ndarray | list[float]") -> Evidence:
    """One corner; lap 7 is quickest, then 8 and 9."""
    table = pd.DataFrame(
        {"lap": np.arange(1, LAPS + 1), "corner": 4, "span_s": [9, 8, 9, 8, 9, 8, 6, 6.5, 7]}
    )
    for name, bar in QUANTITIES.items():
        table[name], table[bar] = 20.0, 0.1
    return Evidence(table.assign(**columns), {}, pd.DataFrame())


def test_medians_and_bar_by_hand() -> None:
    # The quicker three at 21, 22, 26 (their mean 23); the rest at 18 and 20, turn about (19).
    speed = np.array([18.0, 20, 18, 20, 18, 20, 21, 22, 26])
    third = quicker_third(made(min_speed_mps=speed), 4)
    assert third is not None
    assert (third.laps, third.count) == ((7, 8, 9), LAPS)
    one = {c.quantity: c for c in third.compared}["min_speed_mps"]
    assert (one.quicker, one.rest, one.difference) == (22.0, 19.0, 3.0)
    # Squares 4 + 1 + 9 and 6 times 1 about the means, 7 degrees of freedom; pi / 2 for medians.
    sd = np.sqrt((14.0 + 6.0) / 7.0 * np.pi / 2.0 * (1 / 3 + 1 / 6))
    assert one.difference_sd == pytest.approx(sd)
    assert one.resolved == (sd * 2.0 < 3.0)


def test_bars_are_no_smaller_than_measuring_makes_them() -> None:
    third = quicker_third(made(min_speed_sd_mps=np.full(LAPS, 2.0)), 4)
    assert third is not None
    one = {c.quantity: c for c in third.compared}["min_speed_mps"]
    assert one.difference_sd == pytest.approx(2.0 * np.sqrt(np.pi / 2.0 * (1 / 3 + 1 / 6)))
    assert not one.resolved


def test_what_mostly_does_not_happen_is_left_out() -> None:
    braked = np.full(LAPS, np.nan)
    braked[:5] = 50.0
    third = quicker_third(made(brake_to_corner_m=braked), 4)
    assert third is not None
    assert "brake_to_corner_m" not in {c.quantity for c in third.compared}


def test_five_runs_have_no_third() -> None:
    assert len(quickest_rows(np.arange(5.0))) == 0
    assert list(quickest_rows(np.array([3.0, 1, 2, 5, 6, 0]))) == [5, 1]


def test_runs_without_a_time_are_passed_over() -> None:
    span = np.array([9, 8, 9, 8, 9, 8, np.nan, 6.5, 7])
    third = quicker_third(made(span_s=span), 4)
    assert third is not None
    assert (third.laps, third.count) == ((8, 9), 8)


def test_bars_hold_two_times_in_three_where_there_is_nothing() -> None:
    # On the wide side for few values: never below, and at most 90 %.
    rng = np.random.default_rng(8)
    within = []
    for _ in range(400):
        third = quicker_third(made(min_speed_mps=rng.normal(20.0, 1.0, LAPS)), 4)
        assert third is not None
        one = {c.quantity: c for c in third.compared}["min_speed_mps"]
        within.append(abs(one.difference) < one.difference_sd)
    assert 0.64 < np.mean(within) < 0.9
