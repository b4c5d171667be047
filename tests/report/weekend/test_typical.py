"""What is typical of a session: means and medians with their error bars."""

import numpy as np
import pandas as pd
import pytest

from lapwright.report.weekend.typical import MIN_TYPICAL, change, pace, together, typical


def runs(*values: float, sd: float = 0.1) -> tuple[pd.Series, pd.Series]:
    return pd.Series(values), pd.Series(np.full(len(values), sd))


def test_the_bar_holds_the_spread_and_one_runs_measuring() -> None:
    one = typical(*runs(10.0, 12.0, 14.0, sd=0.5))
    assert one is not None
    assert one.mean == 12.0
    # By hand: sd of 10, 12, 14 is 2, of the mean 2 / sqrt(3); and 0.5 measured.
    assert one.sd == pytest.approx(np.hypot(2.0 / 3.0**0.5, 0.5))


def test_too_few_or_mostly_missing_runs_have_nothing_typical() -> None:
    nan = float("nan")
    assert typical(*runs(1.0, 2.0)) is None
    assert typical(*runs(1.0, 2.0, 3.0, nan)) is not None
    assert typical(*runs(1.0, 2.0, 3.0, nan, nan, nan, nan)) is None


def test_a_shared_error_widens_a_change() -> None:
    rng = np.random.default_rng(1)
    first, last = (rng.normal(m, 1.0, 8) for m in (20.0, 22.0))
    narrow, wide = (
        change(*(typical(pd.Series(v), pd.Series(np.full(8, sd))) for v in (first, last)))  # type: ignore[arg-type]
        for sd in (1e-6, 2.0)
    )
    assert narrow.difference == wide.difference == pytest.approx(last.mean() - first.mean())
    assert narrow.resolved
    assert not wide.resolved


def test_sessions_together_lie_between_them() -> None:
    sides = [typical(*runs(10.0, 10.2, 10.4)), typical(*runs(11.0, 11.2, 11.4))]
    both = together([one for one in sides if one is not None])
    assert both is not None
    assert both.value == pytest.approx(10.7)
    # They differ by far more than their bars, so the bar holds the difference between days.
    assert both.sd > 0.3
    assert together([]) is None


@pytest.mark.parametrize("n", [MIN_TYPICAL, 5, 12])
def test_bars_of_median_and_spread_hold_in_simulated_sessions(n: int) -> None:
    # By simulation: the standard deviation of the median of n normal values, and of their spread.
    laps = np.random.default_rng(2).normal(95.0, 0.4, (4000, n))
    made = [pace(row, np.full(n, 1e-9)) for row in laps]
    median_sd = np.median(laps, axis=1).std()
    # A root mean square, as the variance is what is estimated without bias.
    stated = np.sqrt(np.mean([one.median_sd_s**2 for one in made]))
    # Never too narrow; too wide by no more than a third at three laps.
    assert median_sd * 0.98 < stated < median_sd * 1.34
    spread_sd = laps.std(axis=1, ddof=1).std()
    stated = np.sqrt(np.mean([one.spread_sd_s**2 for one in made]))
    assert spread_sd * 0.95 < stated < spread_sd * 1.15


def test_of_two_laps_there_is_no_pace() -> None:
    assert not np.isfinite(pace(np.array([95.0, 96.0]), np.array([0.01, 0.01])).median_s)
