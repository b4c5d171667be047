"""The normal distribution against scipy's and printed quantiles."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from lapwright.numerics.normal import distribution, quantile


def test_distribution() -> None:
    x = np.random.default_rng(0).uniform(-9.5, 9.5, 20_000)
    # The bound of the cubic's error, from the docstring.
    np.testing.assert_allclose(distribution(x), ndtr(x), atol=4e-11)


@pytest.mark.parametrize(("sds", "share"), [(1, 0.6827), (2, 0.9545), (3, 0.9973)])
def test_coverage_of_one_two_three_sds(sds: int, share: float) -> None:
    # Any table of the normal distribution.
    low, high = distribution(np.array([-sds, sds], dtype=float))
    assert high - low == pytest.approx(share, abs=5e-5)


def test_quantile() -> None:
    p = np.random.default_rng(0).random((40, 5))
    np.testing.assert_allclose(quantile(p), ndtri(p), atol=1e-12)
    assert quantile(np.array([0.975]))[0] == pytest.approx(1.959963984540054)
