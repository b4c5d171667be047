"""The bordered factorisation against the density written out."""

import numpy as np
import pytest
from scipy import stats

from lapwright.numerics.gaussian_likelihood import GaussianLikelihood, of_differences


def test_it_is_the_normal_density_up_to_a_constant() -> None:
    rng = np.random.default_rng(4)
    data = rng.normal(size=12)
    root, other = rng.normal(size=(2, 12, 12))
    covs = [root @ root.T + np.eye(12), 3.0 * other @ other.T + np.eye(12)]
    likelihood = GaussianLikelihood(data)
    found = [likelihood(cov) for cov in covs]
    known = [stats.multivariate_normal(cov=cov).logpdf(data) for cov in covs]
    assert found[1] - found[0] == pytest.approx(known[1] - known[0], abs=1e-9)
    assert likelihood(covs[0]) == found[0]  # nothing is left over from the call between


def test_differences_have_the_covariance_of_differences() -> None:
    rng = np.random.default_rng(5)
    root = rng.normal(size=(6, 6))
    cov = root @ root.T
    later, first = np.array([2, 5, 4]), np.array([0, 1, 0])
    contrast = np.eye(6)[later] - np.eye(6)[first]
    np.testing.assert_allclose(of_differences(cov, later, first), contrast @ cov @ contrast.T)
