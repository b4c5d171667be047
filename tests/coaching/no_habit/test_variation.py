"""How corners vary: the receiver's error is taken out in squares, and the interval holds."""

import numpy as np
import pytest
from scipy import stats
from steady_sessions import CORNERS, Steady

from lapwright.coaching.evidence import gather_evidence
from lapwright.coaching.no_habit.variation import spread_without_errors, variation_table
from lapwright.columns import names
from lapwright.columns.variation import VARIATION


def test_spread_by_hand() -> None:
    # Of 1, 2, 3, 4, 5 the variance is 10 / 4; errors of 0.9 take 0.81 of it out.
    y = np.arange(1.0, 6.0)
    spread = spread_without_errors(y, 0.81 * np.eye(5))
    assert spread.sd == pytest.approx(np.sqrt(2.5 - 0.81))
    assert spread.measuring == pytest.approx(0.9)
    # Source: scipy.stats for the quantiles with 4 degrees of freedom.
    low, high = 10.0 / stats.chi2.ppf([0.975, 0.025], 4)
    assert spread.low95 == pytest.approx(np.sqrt(low - 0.81))
    assert spread.high95 == pytest.approx(np.sqrt(high - 0.81))


def test_what_all_runs_share_is_not_taken_out() -> None:
    y = np.arange(1.0, 6.0)
    shared = spread_without_errors(y, np.full((5, 5), 7.0))
    assert shared.measuring == pytest.approx(0.0, abs=1e-9)
    assert shared.sd == pytest.approx(np.sqrt(2.5))


def test_no_more_than_measuring_is_nothing() -> None:
    spread = spread_without_errors(np.arange(1.0, 6.0), 100.0 * np.eye(5))
    assert (spread.sd, spread.low95) == (0.0, 0.0)


def test_two_runs_do_not_say_how_much_runs_differ() -> None:
    spread = spread_without_errors(np.array([1.0, 2.0]), np.eye(2))
    assert np.isnan([spread.sd, spread.low95, spread.high95, spread.measuring]).all()


def test_interval_holds_the_truth_nineteen_times_in_twenty() -> None:
    rng = np.random.default_rng(4)
    true, error, held, sessions = 0.15, 0.05, 0, 600
    for _ in range(sessions):
        y = rng.normal(0.0, true, 9) + rng.normal(0.0, error, 9)
        spread = spread_without_errors(y, error**2 * np.eye(9))
        held += spread.low95 <= true <= spread.high95
    # 95 % of 600 is 570 with a standard deviation of 5.3: four of these.
    assert 549 <= held <= 591


def test_table_of_a_session_driven_by_hand() -> None:
    # Corner 2 takes 0, 0.3 and 0.6 s longer: a standard deviation of 0.3 s, next to no error.
    lost = {(lap, 2): 0.3 * (lap % 3) for lap in range(1, 7)}
    s = Steady(6, lost_s=lost)
    evidence = gather_evidence(s.track, s.motion, s.laps, s.bare_passes, s.traces)
    table = variation_table(evidence)
    assert list(table) == names(VARIATION)
    assert list(table["corner"]) == [c.order for c in CORNERS]
    row = table.set_index("corner").loc[2]
    times = np.array([0.3, 0.6, 0.0, 0.3, 0.6, 0.0])
    assert np.hypot(row["varies_s"], row["measuring_s"]) == pytest.approx(times.std(ddof=1))
    assert row["laps"] == 6
    assert row["start_m"] < CORNERS[1].entry_m < CORNERS[1].exit_m < row["end_m"]
