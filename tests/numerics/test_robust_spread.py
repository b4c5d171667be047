"""The median absolute deviation as a standard deviation."""

import math

import numpy as np
import pytest

from lapwright.numerics.robust_spread import MAD_TO_SD, robust_sd


def test_the_factor_is_that_of_the_normal_distribution() -> None:
    # The quartile of the standard normal is 0.6745 (any table of it).
    assert pytest.approx(1.0 / 0.6745, abs=1e-4) == MAD_TO_SD


def test_a_normal_sample_has_its_sd_and_an_outlier_changes_little() -> None:
    x = np.random.default_rng(1).normal(5.0, 2.0, 20_000)
    assert robust_sd(x) == pytest.approx(2.0, rel=0.03)
    assert robust_sd(np.append(x, [1e9, np.nan])) == pytest.approx(robust_sd(x), rel=1e-3)


def test_deviations_count_from_a_given_centre() -> None:
    assert robust_sd(np.array([1.0, 2.0, 3.0]), centre=0.0) == pytest.approx(2.0 * MAD_TO_SD)


def test_of_nothing_there_is_no_spread() -> None:
    assert math.isnan(robust_sd(np.zeros(0)))
    assert math.isnan(robust_sd(np.array([np.nan])))
