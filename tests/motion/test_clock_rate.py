"""The rate of a logger's own clock: how large, and what it adds to spans."""

import numpy as np
import pytest

from lapwright.motion.clock_rate import QUARTZ_SD, clock_cov


def test_errors_of_20_to_60_ppm_are_within_the_bars_as_often_as_they_should() -> None:
    rate = np.linspace(20e-6, 60e-6, 1001)
    assert 0.58 < (rate < QUARTZ_SD).mean() < 0.80
    assert (rate < 1.96 * QUARTZ_SD).mean() > 0.95


def test_a_span_gets_the_share_of_its_length() -> None:
    cov = clock_cov(np.array([1000.0, 1150.0, 1302.0]), 40e-6)
    lap = np.array([-1.0, 1.0, 0.0])
    assert np.sqrt(lap @ cov @ lap) == pytest.approx(150.0 * 40e-6)
    difference = np.array([1.0, -2.0, 1.0])
    assert np.sqrt(difference @ cov @ difference) == pytest.approx(2.0 * 40e-6)
