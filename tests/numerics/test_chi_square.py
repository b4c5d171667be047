"""Quantiles of chi-square against an independent implementation."""

import pytest
from scipy import stats

from lapwright.numerics.chi_square import chi_square_quantile


@pytest.mark.parametrize("dof", [1, 2, 3.5, 10, 60, 300])
@pytest.mark.parametrize("probability", [0.001, 0.025, 0.5, 0.975, 0.999])
def test_quantiles(dof: float, probability: float) -> None:
    # Source: scipy.stats.
    assert chi_square_quantile(probability, dof) == pytest.approx(
        stats.chi2.ppf(probability, dof), rel=1e-9
    )
