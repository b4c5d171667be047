"""Intervals with the variances integrated out, in cases with an exact answer."""

import numpy as np
import pytest
from scipy import stats

from lapwright.numerics.mixed_model import Data, Prior, fit

# B. Efron and R. J. Tibshirani, "An Introduction to the Bootstrap", 1993, table 2.1.
TREATED = np.array([94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0])
CONTROL = np.array([52.0, 104.0, 146.0, 10.0, 51.0, 30.0, 40.0, 27.0, 46.0])


def test_groups_that_do_not_differ_give_student_s_two_sample_interval() -> None:
    y = np.concatenate([CONTROL, TREATED])
    group = np.repeat([0, 1], [9, 7])
    x = np.column_stack([np.ones(16), group])
    data = Data(y, x, group, np.concatenate([np.arange(9.0), np.arange(7.0)]), np.zeros(2))
    found = fit(data, Prior(1e-6, correlated=False)).estimate(1)
    exact = stats.ttest_ind(TREATED, CONTROL).confidence_interval()
    assert (found.low, found.high) == pytest.approx(tuple(exact), abs=0.01)
    assert found.value == pytest.approx(30.63, abs=0.006)
    other = fit(data, Prior(1e-6, correlated=False)).estimate(1, 0.9)
    exact = stats.ttest_ind(TREATED, CONTROL).confidence_interval(0.9)
    assert (other.low, other.high) == pytest.approx(tuple(exact), abs=0.01)


def test_many_balanced_groups_give_student_s_interval_of_their_means() -> None:
    # Balanced: the exact interval is that of the forty means with 38 degrees of freedom.  The prior
    # weighs little against forty groups; 6 % are what it and the grid may do.
    rng = np.random.default_rng(4)
    group, place = np.repeat(np.arange(40), 5), np.tile(np.arange(5.0), 40)
    side = (group % 2).astype(np.float64)
    y = rng.normal(size=200) + rng.normal(0.0, 1.0, 40)[group] + 0.5 * side
    data = Data(y, np.column_stack([np.ones(200), side]), group, place, np.zeros(2))
    found = fit(data, Prior(1.0, correlated=False)).estimate(1)
    means = y.reshape(40, 5).mean(axis=1)
    exact = stats.ttest_ind(means[1::2], means[::2]).confidence_interval()
    assert found.value == pytest.approx(np.mean(exact), abs=1e-9)
    assert found.high - found.low == pytest.approx(exact[1] - exact[0], rel=0.06)


def test_correlation_and_spread_are_found_where_there_is_much_of_both() -> None:
    rng = np.random.default_rng(5)
    e = rng.normal(size=(30, 20))
    for i in range(1, 20):
        e[:, i] = 0.5 * e[:, i - 1] + np.sqrt(0.75) * e[:, i]
    y = (e + rng.normal(0.0, 0.8, (30, 1))).ravel()
    group, place = np.repeat(np.arange(30), 20), np.tile(np.arange(20.0), 30)
    found = fit(Data(y, np.ones((600, 1)), group, place, np.zeros(1)), Prior(0.5))
    # Sd of the estimates: about 0.04 and 0.13.
    assert found.mean_correlation == pytest.approx(0.5, abs=0.1)
    assert found.between_sd == pytest.approx(0.8, abs=0.3)
    assert found.residual_sd == pytest.approx(1.0, abs=0.12)


def test_a_wider_prior_makes_a_wider_interval_of_two_groups() -> None:
    y = np.array([1.0, 1.2, 0.8, 1.1, 2.0, 2.2, 1.8, 2.1])
    group, place = np.repeat([0, 1], 4), np.tile(np.arange(4.0), 2)
    data = Data(y, np.column_stack([np.ones(8), group]), group, place, np.zeros(2))
    wide = [fit(data, Prior(s)).estimate(1) for s in (0.1, 0.5, 1.0)]
    assert np.all(np.diff([one.high - one.low for one in wide]) > 0.0)
