"""Priors: one table, with sources, read by all who need them."""

import math

import numpy as np
import pytest

from lapwright.laps import repeated_line
from lapwright.motion.noise import estimate
from lapwright.motion.noise.priors import PRIORS, Prior, drift_centre_m


def test_every_prior_is_a_proper_one_with_a_source() -> None:
    for name, prior in PRIORS.items():
        assert prior.centre > 0.0, name
        assert 0.0 < prior.log_sd <= 1.5, name
        assert prior.source, name


def test_the_logarithm_is_that_of_the_centre() -> None:
    assert Prior(math.e, 0.5, "").log == pytest.approx((1.0, 0.5))


def test_the_noise_and_the_repeated_line_think_the_same_of_a_driver() -> None:
    of_noise = np.array([estimate._DRIVER["spread_m"], estimate._DRIVER["length_m"]]).T
    of_line = np.array([repeated_line._CENTRE, repeated_line._PRIOR_SD])[:, :2]
    assert of_noise == pytest.approx(of_line)


def test_the_drift_goes_half_the_way_with_the_white_noise() -> None:
    # On the logarithm: a hundred times the white noise is ten times the drift.
    assert drift_centre_m(1.0) == pytest.approx(10.0 * drift_centre_m(0.01))
    # A third of a metre of white noise is metre class.
    assert drift_centre_m(1.0 / 3.0) == pytest.approx(1.0)
