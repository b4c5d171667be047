"""Mixtures of normal distributions: moments, quantiles, combinations."""

import numpy as np
import pytest
from scipy.stats import norm

from lapwright.motion.posterior import Posterior


def single(mean: list[float], cov: list[list[float]]) -> Posterior:
    return Posterior(np.ones(1), np.array([mean]), np.array([cov]))


def test_one_component_is_a_normal_distribution() -> None:
    p = single([1.0, 5.0], [[4.0, 1.0], [1.0, 9.0]])
    np.testing.assert_allclose(p.mean, [1.0, 5.0])
    np.testing.assert_allclose(p.sd, [2.0, 3.0])
    low, high = p.ci95()
    np.testing.assert_allclose(low, norm.ppf(0.025, [1.0, 5.0], [2.0, 3.0]))
    np.testing.assert_allclose(high, norm.ppf(0.975, [1.0, 5.0], [2.0, 3.0]))


def test_a_difference_carries_the_covariance() -> None:
    p = single([1.0, 5.0], [[4.0, 3.5], [3.5, 4.0]]).combined(np.array([[-1.0, 1.0]]))
    assert p.mean[0] == 4.0
    # 4 + 4 - 2 x 3.5, by hand.
    assert p.sd[0] == pytest.approx(1.0)
    moved = p.shifted(np.array([10.0]))
    assert (moved.mean[0], moved.sd[0]) == (14.0, pytest.approx(1.0))


def test_moments_of_a_mixture() -> None:
    # Law of total variance, by hand: 0.25 x 1 + 0.75 x 4 + 0.25 x 0.75 x (8 - 0)^2 = 15.25.
    p = Posterior(np.array([0.25, 0.75]), np.array([[8.0], [0.0]]), np.array([[[1.0]], [[4.0]]]))
    assert p.mean[0] == 2.0
    assert p.cov[0, 0] == pytest.approx(15.25)


def test_quantiles_of_a_mixture_hold_their_share() -> None:
    rng = np.random.default_rng(1)
    weight = np.array([0.2, 0.5, 0.3])
    means, sds = rng.standard_normal((3, 50)), rng.uniform(0.1, 3.0, (3, 50))
    p = Posterior(weight, means, np.stack([np.diag(s**2) for s in sds]))
    for (low, high), share in (
        (p.interval(1.0), norm.cdf(1.0) - norm.cdf(-1.0)),
        (p.ci95(), 0.95),
    ):
        below, inside = (
            weight @ norm.cdf((low - means) / sds),
            weight @ norm.cdf((high - means) / sds),
        )
        np.testing.assert_allclose(inside - below, share, atol=1e-9)
        np.testing.assert_allclose(below, (1.0 - share) / 2.0, atol=1e-9)
    np.testing.assert_allclose(p.sd, (p.interval(1.0)[1] - p.interval(1.0)[0]) / 2.0)


def test_a_known_number_in_a_mixture() -> None:
    p = Posterior(np.array([0.5, 0.5]), np.zeros((2, 1)), np.zeros((2, 1, 1)))
    assert p.sd[0] == 0.0


def test_not_knowing_the_noise_widens_the_bar() -> None:
    known = single([0.0], [[1.0]])
    unknown = Posterior(np.array([0.5, 0.5]), np.zeros((2, 1)), np.array([[[0.25]], [[1.75]]]))
    # Same variance, heavier tails.
    assert unknown.cov[0, 0] == known.cov[0, 0]
    assert unknown.interval(2.5)[1] > known.interval(2.5)[1]
