"""A straight line against certified values, and a trend by the median of slopes."""

import numpy as np
import pytest

from lapwright.numerics.regression import _inversions, fit_line, theil_sen

# NIST Statistical Reference Datasets, linear regression, "Norris" (public domain): y, x.
# fmt: off
NORRIS = np.array([
    (0.1, 0.2),  (338.8, 337.4),  (118.1, 118.2),  (888.0, 884.6),
    (9.2, 10.1),  (228.1, 226.5),  (668.5, 666.3),  (998.5, 996.3),
    (449.1, 448.6),  (778.9, 777.0),  (559.2, 558.2),  (0.3, 0.4),
    (0.1, 0.6),  (778.1, 775.5),  (668.8, 666.9),  (339.3, 338.0),
    (448.9, 447.5),  (10.8, 11.6),  (557.7, 556.0),  (228.3, 228.1),
    (998.0, 995.8),  (888.8, 887.6),  (119.6, 120.2),  (0.3, 0.3),
    (0.6, 0.3),  (557.6, 556.8),  (339.3, 339.1),  (888.0, 887.2),
    (998.5, 999.0),  (778.9, 779.0),  (10.2, 11.1),  (117.6, 118.3),
    (228.9, 229.2),  (668.4, 669.1),  (449.2, 448.9),  (0.2, 0.5),
])
# fmt: on


def test_norris_to_ten_digits() -> None:
    # Certified by NIST: B0, B1, their standard deviations and the residual one.
    line = fit_line(NORRIS[:, 1], NORRIS[:, 0])
    assert len(NORRIS) == 36
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept_sd == pytest.approx(0.232818234301152, rel=1e-10)
    assert line.slope_sd == pytest.approx(0.429796848199937e-3, rel=1e-10)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-10)


def test_a_large_offset_costs_no_digits() -> None:
    # The same line far away from the origin in both directions: only the intercept may change.
    # 1e9 leaves 7 digits after the point in the data, whence the tolerance.
    near = fit_line(NORRIS[:, 1], NORRIS[:, 0])
    far = fit_line(NORRIS[:, 1] + 1e9, NORRIS[:, 0] + 1e9)
    assert far.slope == pytest.approx(near.slope, rel=1e-8)
    assert far.residual_sd == pytest.approx(near.residual_sd, rel=1e-6)


def test_the_slope_interval_is_students() -> None:
    # Table of Student's t: 97.5 % with 34 degrees of freedom is 2.0322 (NIST/SEMATECH e-Handbook
    # of Statistical Methods, 1.3.6.7.2).
    line = fit_line(NORRIS[:, 1], NORRIS[:, 0])
    low, high = line.slope_interval()
    assert high - low == pytest.approx(2 * 2.0322 * line.slope_sd, rel=1e-4)


def test_two_points_have_no_error_bar_and_one_no_line() -> None:
    line = fit_line([0.0, 2.0], [1.0, 5.0])
    assert (line.intercept, line.slope) == (1.0, 2.0)
    assert np.isnan(line.slope_sd)
    with pytest.raises(ValueError, match="two different places"):
        fit_line([1.0, 1.0], [2.0, 3.0])


def test_inversions_of_three_things() -> None:
    # Counted by hand: 123 has none; 132, 213 one; 231, 312 two; 321 three.
    np.testing.assert_allclose(_inversions(3), np.array([1, 2, 2, 1]) / 6)


def test_published_example() -> None:
    # By hand: the ten slopes of y = 1, 3, 2, 5, 4 over x = 1..5 are
    # 2, 1/2, 4/3, 3/4, -1, 1, 1/3, 3, 1, -1; sorted their middle two are 3/4 and 1.
    trend = theil_sen([1, 2, 3, 4, 5], [1.0, 3.0, 2.0, 5.0, 4.0])
    assert trend.slope == pytest.approx(0.875)
    # Of five points only a wholly ordered row (1 in 120 on a side) is rarer than 2.5 %.
    assert (trend.low, trend.high) == (-1.0, 3.0)


def test_single_odd_values_do_not_bend_it() -> None:
    x = np.arange(10.0)
    y = 0.1 * x
    y[[2, 7]] += [50.0, 30.0]
    assert theil_sen(x, y).slope == pytest.approx(0.1)


def test_too_few_points_have_no_interval() -> None:
    # Four points fall or rise throughout in 1 of 24 orders each: more than 2.5 %.
    trend = theil_sen([1, 2, 3, 4], [1.0, 2.0, 3.0, 4.0])
    assert (trend.low, trend.high) == (-np.inf, np.inf)
    assert theil_sen([1, 2, 3, 4], [1.0, 2.0, 3.0, 4.0], 0.9).low == 1.0


@pytest.mark.parametrize("x", [[1], [1, 1, 2]])
def test_what_is_no_trend_is_refused(x: list[int]) -> None:
    with pytest.raises(ValueError, match="two points at least"):
        theil_sen(x, np.zeros(len(x)))


def test_the_interval_holds_the_slope_as_often_as_it_says() -> None:
    # Of the 40320 orders of eight things 628 have five inversions or fewer, at most 2.5 %, and 1230
    # have six or fewer: the interval holds the slope in 1 - 2 * 628 / 40320 = 0.969 of all cases.
    rng = np.random.default_rng(5)
    x = np.arange(8.0)
    held = 0
    for errors in rng.standard_t(2, size=(1500, 8)):
        trend = theil_sen(x, 0.3 * x + errors)
        held += trend.low <= 0.3 <= trend.high
    # Three binomial sds of 1500 are 0.013.
    assert held / 1500 == pytest.approx(1.0 - 2.0 * 628 / 40320, abs=0.013)
