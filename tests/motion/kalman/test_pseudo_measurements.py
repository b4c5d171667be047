"""Shared unknowns of rows; what rows do to a session is in test_smoother."""

import numpy as np
import pytest
from motion_oracles import ORDINARY, driven, uneven_times

from lapwright.motion.hypothesis import Hypothesis
from lapwright.motion.kalman.pseudo_measurements import (
    PseudoMeasurements,
    condition,
    whitening,
)
from lapwright.motion.kalman.state_space import smooth_measurements

RNG = np.random.default_rng(8)


def test_a_flat_prior_is_the_limit_of_a_wide_one() -> None:
    square = RNG.standard_normal((7, 7))
    cov, unknowns = square @ square.T + np.eye(7), RNG.standard_normal((7, 2))
    root, half = whitening(cov, unknowns)
    precision = root.T @ root
    wide = cov + 1e8 * unknowns @ unknowns.T
    np.testing.assert_allclose(precision, np.linalg.inv(wide), atol=1e-6)
    # Restricted likelihood: log det V + log det X' V^-1 X, up to the prior's own width
    # (Harville 1977, JASA 72, 320).
    expected = 0.5 * np.linalg.slogdet(wide)[1] - np.log(1e8)
    assert half == pytest.approx(expected, abs=1e-5)
    np.testing.assert_allclose(precision @ unknowns, 0.0, atol=1e-10)


def test_without_unknowns_it_is_the_inverse() -> None:
    cov = np.array([[2.0, 0.5], [0.5, 1.0]])
    root, half = whitening(cov, np.zeros((2, 0)))
    np.testing.assert_allclose(root.T @ root, np.linalg.inv(cov))
    assert half == pytest.approx(0.5 * np.log(1.75))  # 2 x 1 - 0.5^2


def session() -> Hypothesis:
    m = driven(np.random.default_rng(2), uneven_times(np.random.default_rng(3), 60, 5.0), ORDINARY)
    return Hypothesis(1.0, smooth_measurements(m, ORDINARY))


def test_what_all_rows_share_is_never_learnt() -> None:
    # Two rows that share one unknown tell their difference only.
    plain = session()
    t, east = np.array([3.0, 9.0]), np.tile([1.0, 0, 0, 0, 0, 0], (2, 1))
    rows = PseudoMeasurements(t, east, np.array([500.0, 500.4]), 1e-8 * np.eye(2), np.ones((2, 1)))
    given = Hypothesis(1.0, plain.smoothing, condition(plain.smoothing, rows))
    difference, total = np.array([-1.0, 1.0]), np.array([1.0, 1.0])
    assert difference @ given.mean(t, east) == pytest.approx(0.4, abs=1e-3)
    assert difference @ given.cov(t, east) @ difference < 1e-6
    before, after = (total @ h.cov(t, east) @ total for h in (plain, given))
    # The sum is correlated a little with the difference, no more is learnt of it.
    cov = plain.cov(t, east)
    learnt = (total @ cov @ difference) ** 2 / (difference @ cov @ difference)
    assert before - after == pytest.approx(learnt, rel=1e-4)


def test_a_sharp_row_puts_the_car_where_it_says() -> None:
    plain = session()
    t, weights = np.array([6.1]), np.array([[0.0, 1.0, 0, 0, 0, 0]])
    where = plain.mean(t, weights) + 0.7
    rows = PseudoMeasurements(t, weights, where, np.array([[1e-10]]), np.zeros((1, 0)))
    given = Hypothesis(1.0, plain.smoothing, condition(plain.smoothing, rows))
    assert given.mean(t, weights)[0] == pytest.approx(where[0], abs=1e-6)
    # The likelihood of the row: its distance in standard deviations.
    var = plain.cov(t, weights)[0, 0]
    expected = -0.5 * 0.7**2 / var - 0.5 * np.log(var)
    assert given.effect is not None
    assert given.effect.log_likelihood == pytest.approx(expected, abs=1e-6)
