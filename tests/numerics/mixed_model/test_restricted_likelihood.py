"""Restricted likelihood: a published example, another program, and the dense matrices."""

import numpy as np
import pytest
import statsmodels.api as sm

from lapwright.numerics.mixed_model import Data, nodes

# Yield of dyestuff from six batches, five samples each, in grams: O. L. Davies and P. L. Goldsmith,
# "Statistical Methods in Research and Production", 4th ed., 1972, table 6.1.
DYESTUFF = np.array([
    [1545, 1440, 1440, 1520, 1580], [1540, 1555, 1490, 1560, 1495], [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545], [1595, 1630, 1515, 1635, 1625], [1520, 1455, 1450, 1480, 1445],
], dtype=np.float64)  # fmt: skip
GROUP = np.repeat(np.arange(6), 5)


def _dyestuff() -> Data:
    place = np.tile(np.arange(5.0), 6)
    return Data(DYESTUFF.ravel(), np.ones((30, 1)), GROUP, place, np.zeros(1))


def test_the_dyestuff_example_by_analysis_of_variance() -> None:
    # Balanced, so REML is the classical analysis of variance: mean squares between and within.
    between = 5.0 * DYESTUFF.mean(axis=1).var(ddof=1)
    within = DYESTUFF.var(axis=1, ddof=1).mean()
    spreads = np.linspace(0.5, 1.2, 7001)
    found = nodes(_dyestuff(), spreads, 0.0)
    best = int(np.argmax(found.log_likelihood))
    assert found.variance[best] == pytest.approx(within, rel=1e-3)
    tau2 = spreads[best] ** 2 * found.variance[best]
    assert tau2 == pytest.approx((between - within) / 5.0, rel=1e-3)
    assert found.coefficient[best, 0] == pytest.approx(1527.5)
    assert found.variance[best] * found.inverse[best, 0, 0] == pytest.approx(between / 30, rel=1e-3)


def test_the_dyestuff_example_by_another_program() -> None:
    other = sm.MixedLM(DYESTUFF.ravel(), np.ones((30, 1)), groups=GROUP).fit(reml=True)
    spreads = np.linspace(0.5, 1.2, 7001)
    found = nodes(_dyestuff(), spreads, 0.0)
    # At its best: -2 l = nu (1 + log 2 pi) + what depends on the spread.
    twice = 29.0 * (1.0 + np.log(2.0 * np.pi)) - 2.0 * found.log_likelihood.max()
    assert twice == pytest.approx(-2.0 * other.llf, abs=1e-4)


def test_correlated_unbalanced_data_with_a_prior_by_dense_matrices() -> None:
    rng = np.random.default_rng(1)
    group = np.repeat([0, 1, 2], [4, 6, 3])
    place = np.array([0, 1, 3, 4, 0, 1, 2, 5, 6, 7, 2, 3, 4], dtype=np.float64)
    x = np.column_stack([np.ones(13), place, group])
    y, precision = rng.normal(size=13), np.array([0.0, 0.0, 2.5])
    found = nodes(Data(y, x, group, place, precision), np.array([0.7]), 0.4)
    same = group[:, None] == group
    v = same * (0.4 ** np.abs(place[:, None] - place) + 0.7**2)
    a = x.T @ np.linalg.solve(v, x) + np.diag(precision)
    b = np.linalg.solve(a, x.T @ np.linalg.solve(v, y))
    squares = y @ np.linalg.solve(v, y) - b @ a @ b
    assert found.coefficient[0] == pytest.approx(b)
    assert found.inverse[0] == pytest.approx(np.linalg.inv(a))
    # Thirteen values less two free coefficients: the third has a prior.
    assert found.variance[0] == pytest.approx(squares / 11)
    dets = np.linalg.slogdet(v)[1] + np.linalg.slogdet(a)[1]
    assert found.log_likelihood[0] == pytest.approx(-0.5 * (dets + 11 * np.log(squares / 11)))


def test_as_many_coefficients_as_values_are_refused() -> None:
    with pytest.raises(ValueError, match="2 values are too few for 2 coefficients"):
        Data(np.zeros(2), np.eye(2), np.zeros(2, dtype=np.intp), np.arange(2.0), np.zeros(2))
