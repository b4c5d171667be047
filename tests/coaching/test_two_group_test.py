"""The statistics behind advice: calibrated where nothing is there, sharp where something is."""

from itertools import combinations

import numpy as np
import pytest

from lapwright.coaching.two_group_test import (
    holm,
    luck_of_best,
    mean_difference,
    not_outlying,
    permutation_p_value,
    separation,
    separation_p_value,
    split_in_two,
    usual_scatter,
)
from lapwright.numerics.student_t import t_quantile


@pytest.mark.parametrize(
    ("n", "expected_sd"),
    # Expected largest of n standard normal values: H. L. Harter, Biometrika 48 (1961) 151-165,
    # table 1 (2, 5, 10, 20), and quadrature with scipy for 12.
    [(2, 0.56419), (5, 1.16296), (10, 1.53875), (12, 1.62923), (20, 1.86748)],
)
def test_luck_of_the_best(n: int, expected_sd: float) -> None:
    assert luck_of_best(n) == pytest.approx(expected_sd, abs=1e-5)


def test_a_cut_falls_into_the_gap() -> None:
    x = np.array([5.0, 1.0, 5.2, 1.2, 4.8, 0.8, 5.0])
    split = split_in_two(x)
    assert split.upper.tolist() == [True, False, True, False, True, False, True]
    # By hand: means 5.0 and 1.0; squares 0.04 + 0.04 above, 0.04 + 0.04 below.
    assert split.gap == pytest.approx(4.0)
    assert split.within_ss == pytest.approx(0.16)


def test_no_group_is_smaller_than_three() -> None:
    x = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 50.0])
    assert split_in_two(x).upper.sum() == 3


def test_scatter_alone_is_called_a_habit_as_often_as_it_should() -> None:
    # 2000 corners of sessions without habits: the share of p-values below 5 % is 5 %.
    # Three binomial sd of 2000 draws at 0.05 are 0.015.
    rng = np.random.default_rng(5)
    p_values = []
    for _ in range(250):
        splits = [split_in_two(rng.normal(0, 3.0, 12)) for _ in range(8)]
        scatter = usual_scatter(splits)
        p_values += [separation_p_value(separation(s, scatter, 1e4), 12, 1e4) for s in splits]
    assert np.mean(np.array(p_values) < 0.05) == pytest.approx(0.05, abs=0.015)


def test_the_usual_scatter_is_that_of_whole_groups() -> None:
    # Of passes with sd 3 that were cut in two all the same, and of one corner with a habit.
    rng = np.random.default_rng(11)
    found = []
    for _ in range(200):
        splits = [split_in_two(rng.normal(0, 3.0, 12)) for _ in range(9)]
        splits.append(split_in_two(rng.normal(0, 3.0, 12) + 30.0 * (np.arange(12) < 8)))
        found.append(usual_scatter(splits))
    assert np.median(found) == pytest.approx(3.0, rel=0.06)


def test_a_habit_of_four_scatters_is_seen() -> None:
    # Three habits among ten corners, at the p-value that Holm's procedure leaves to one of five. A
    # habit's groups scatter as whole groups do, so the usual scatter must be that of whole ones:
    # with that of halves (HALVED = 1) 0.72 of these are seen. Four binomial sd of 400 are 0.08.
    rng = np.random.default_rng(12)
    habit = np.arange(12) < 8
    seen = []
    for _ in range(400):
        splits = [split_in_two(rng.normal(0, 1.0, 12) + 4.3 * habit * (k < 3)) for k in range(10)]
        apart = separation(splits[0], usual_scatter(splits), 15.0)
        seen.append(separation_p_value(apart, 12, share=0.4) < 0.005)
    assert np.mean(seen) == pytest.approx(0.81, abs=0.08)


def test_a_habit_of_five_scatters_is_seen() -> None:
    rng = np.random.default_rng(6)
    habit = np.arange(12) < 8
    seen = []
    for _ in range(100):
        splits = [split_in_two(rng.normal(0, 1.0, 12)) for _ in range(7)]
        mine = split_in_two(rng.normal(0, 1.0, 12) + 5.0 * habit)
        apart = separation(mine, usual_scatter([*splits, mine]), 15.0)
        seen.append(separation_p_value(apart, 12, share=0.4) < 0.004)
    assert np.mean(seen) > 0.9


def test_lot_is_counted_exactly() -> None:
    # Of the 20 ways to draw three of six, only one has a sum as high as 6 + 5 + 4.
    y = np.array([1.0, 6.0, 2.0, 5.0, 3.0, 4.0])
    assert permutation_p_value(y, y > 3.5) == pytest.approx(1 / 20)
    # By enumeration written out differently.
    group = np.array([True, True, False, False, True, False])
    more = [sum(c) >= y[group].sum() for c in combinations(y, 3)]
    assert permutation_p_value(y, group) == pytest.approx(np.mean(more))


def test_lot_with_many_passes_is_drawn() -> None:
    rng = np.random.default_rng(7)
    y = rng.normal(0, 1, 40)
    group = np.arange(40) < 20
    # Against the normal approximation of the permutation distribution (40 values): 0.02.
    from scipy.stats import norm

    t = y[group].mean() - y[~group].mean()
    expected = norm.sf(t / (y.std(ddof=1) * np.sqrt(2 / 20)))
    assert permutation_p_value(y, group) == pytest.approx(expected, abs=0.02)


def test_holm_by_hand() -> None:
    # Holm 1979: 4 * 0.01, then 3 * 0.02, then 2 * 0.03 and 0.04 raised to 0.06 to keep the order.
    adjusted = holm(np.array([0.03, 0.01, 0.04, 0.02]))
    assert adjusted.tolist() == pytest.approx([0.06, 0.04, 0.06, 0.06])
    assert holm(np.array([0.9, 0.8])).tolist() == [1.0, 1.0]


def test_a_freak_is_no_group_but_three_alike_are() -> None:
    x = np.r_[np.random.default_rng(8).normal(0, 1, 9), 100.0]
    assert not_outlying(x).tolist() == [True] * 9 + [False]
    x = np.r_[np.random.default_rng(8).normal(0, 1, 9), 100.0, 101.0, 102.0]
    assert not_outlying(x).all()


def test_how_far_off_and_how_lonely_a_freak_is() -> None:
    # -1 to 1 in tenths: the median deviation is 0.5, with freaks 0.55 or 0.6, so a robust
    # sd is 0.8 to 0.9: a value of 8 sd is at 6.5 to 7.1, and 4 sd from the next are 3.2 to 3.6.
    even = np.linspace(-1.0, 1.0, 21)
    for sign in (1.0, -1.0):
        assert not_outlying(np.r_[even, sign * 5.5])[-1]
        assert not not_outlying(np.r_[even, sign * 7.0])[-1]
        # Two together, far from the rest: both.  Each near the next, one after the other: none.
        two = np.r_[even, sign * 9.0, sign * 10.0]
        assert not_outlying(two).tolist() == [True] * 21 + [False] * 2
        assert not_outlying(np.r_[even, sign * 3.4, sign * 6.2, sign * 9.0]).all()
    # What is not a number is out as well, and of few values none is a freak.
    assert not_outlying(np.r_[even, np.nan]).tolist() == [True] * 21 + [False]
    assert not_outlying(np.array([0.0, 0.1, 0.2, 0.3, 100.0])).all()


def test_separation_by_hand() -> None:
    # Gap 4 and squares 0.16 of seven values: 5 degrees of freedom of its own beside 15 of 0.3^2.
    split = split_in_two(np.array([5.0, 1.0, 5.2, 1.2, 4.8, 0.8, 5.0]))
    assert split.within_sd == pytest.approx(np.sqrt(0.16 / 5))
    assert separation(split, 0.3, 15.0) == pytest.approx(4.0 / np.sqrt((15 * 0.09 + 0.16) / 20))
    # What one value is measured to is the least that it scatters.
    assert separation(split, 0.3, 15.0, noise=2.0) == pytest.approx(2.0)
    assert separation(split, 0.3, 15.0, noise=0.1) == separation(split, 0.3, 15.0)


def test_a_known_error_of_the_receiver_does_not_count_as_the_drivers_scatter_too() -> None:
    # Two groups of three with squares of 0.02 and 0.02 s2 about their means: 4 degrees of freedom,
    # 0.01 s2 a pass, of which 0.004 are the receiver's: 0.006 * 2/3 and 0.004 * 2/3.
    y, group = np.array([0.1, 0.2, 0.0, 0.6, 0.5, 0.7]), np.arange(6) > 2
    gap, sd, freedom = mean_difference(y, 0.004 * np.eye(6), group)
    assert gap == pytest.approx(0.5)
    assert sd == pytest.approx(np.sqrt(0.01 * 2 / 3))
    assert freedom == pytest.approx(4.0)
    # Twice the driver's scatter from the receiver alone: 0.02 * 2/3, four times as many degrees.
    _, sd, freedom = mean_difference(y, 0.02 * np.eye(6), group)
    assert sd == pytest.approx(np.sqrt(0.02 * 2 / 3))
    assert freedom == pytest.approx(16.0)


def test_freaks_are_judged_by_the_usual_spread_too() -> None:
    # Ten passes alike to a millimetre and two 10 m off: no freaks where 3 m is usual.
    x = np.r_[np.linspace(0, 0.001, 10), 10.0, 10.0]
    assert not not_outlying(x)[-1]
    assert not_outlying(x, usual_spread=3.0).all()


def test_a_difference_knows_driver_and_receiver() -> None:
    # Two groups of 50 with scatter 0.1 s: sd 0.1 sqrt(2/50) = 0.02; with a measured covariance of
    # 0.01 s between all passes the common part cancels and the scatter already holds the rest.
    rng = np.random.default_rng(9)
    group = np.arange(100) < 50
    y = rng.normal(0, 0.1, 100) + 0.3 * group
    difference, sd, _ = mean_difference(y, 1e-4 * np.ones((100, 100)), group)
    assert difference == pytest.approx(0.3, abs=0.06)
    assert sd == pytest.approx(0.02, rel=0.15)


def test_a_difference_is_no_surer_than_the_receiver() -> None:
    # No scatter at all, but each pass measured to 0.05 s: sd 0.05 sqrt(1/4 + 1/4).
    group = np.arange(8) < 4
    _, sd, dof = mean_difference(0.2 * group, 0.05**2 * np.eye(8), group)
    assert sd == pytest.approx(0.05 * np.sqrt(0.5))
    # What the receiver errs by is known, not estimated from the eight.
    assert dof > 1000.0


def test_a_scatter_of_few_passes_has_few_degrees_of_freedom() -> None:
    # Without any receiver error six passes in two groups leave 6 - 2 = 4, and a slope takes one.
    y, group = np.array([0.0, 0.1, 0.2, 0.5, 0.7, 0.6]), np.arange(6) > 2
    assert mean_difference(y, np.zeros((6, 6)), group)[2] == pytest.approx(4.0)
    assert mean_difference(y, np.zeros((6, 6)), group, fitted=3)[2] == pytest.approx(3.0)
    # Student 1908: the one-sided 95 % point of 4 degrees is 2.132 (any table of t).
    assert t_quantile(0.95, 4.0) == pytest.approx(2.132, abs=5e-4)


def test_chance_alone_passes_the_limit_once_in_twenty() -> None:
    # Two groups of three that differ by chance only: 1.645 sd would be passed far more often.
    rng = np.random.default_rng(11)
    group, none = np.arange(6) > 2, np.zeros((6, 6))
    passed = normal = 0
    for y in rng.standard_normal((4000, 6)):
        gap, sd, dof = mean_difference(y, none, group)
        passed += gap > t_quantile(0.95, dof) * sd
        normal += gap > 1.645 * sd
    # 0.05 with a standard error of 0.0034, and 0.088 for 1.645 with four degrees of freedom.
    assert passed / 4000 == pytest.approx(0.05, abs=0.011)
    assert normal / 4000 > 0.075
