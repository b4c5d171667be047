"""Statistics of the noise processes against their definitions."""

import numpy as np
import pytest

from lapwright.simulate.logger import noise


def test_gauss_markov_spread_and_memory() -> None:
    # Autocorrelation exp(-dt / tau), variance sd^2 from the first value on.
    rng = np.random.default_rng(1)
    many = np.array([noise.gauss_markov(rng, 400, 0.1, 1.5, 10.0) for _ in range(1500)])
    # 1500 independent sessions: the sd is known to 1.8 %, a correlation to 0.026.
    assert many[:, 0].std() == pytest.approx(1.5, rel=0.06)
    assert many[:, -1].std() == pytest.approx(1.5, rel=0.06)
    for lag in (10, 50, 100, 200):
        found = np.mean(many[:, 0] * many[:, lag]) / 1.5**2
        assert found == pytest.approx(np.exp(-lag * 0.1 / 10.0), abs=0.09)


def test_gauss_markov_long_run() -> None:
    values = noise.gauss_markov(np.random.default_rng(2), 400_000, 0.1, 1.0, 5.0)
    # 40 000 s hold 4000 independent values of 2 tau: sd to 1.1 %.
    assert values.std() == pytest.approx(1.0, rel=0.04)
    one = np.corrcoef(values[1:], values[:-1])[0, 1]
    assert one == pytest.approx(np.exp(-0.1 / 5.0), abs=1e-3)


def test_student_has_the_wanted_sd_and_heavy_tails() -> None:
    values = noise.student(np.random.default_rng(3), 200_000, 0.4, 5.0)
    assert values.std() == pytest.approx(0.4, rel=0.03)
    # Share beyond 4 sd: 3.57e-3 for t(5) scaled to unit variance (scipy.stats), 6.3e-5 for
    # a normal distribution.
    assert np.mean(np.abs(values) > 1.6) == pytest.approx(3.57e-3, abs=5e-4)
    with pytest.raises(ValueError, match="no standard deviation"):
        noise.student(np.random.default_rng(3), 10, 1.0, 2.0)


def test_coloured_neighbours() -> None:
    values = noise.coloured(np.random.default_rng(4), 200_000, 0.7, 0.8)
    assert values.std() == pytest.approx(0.7, rel=0.03)
    assert np.corrcoef(values[1:], values[:-1])[0, 1] == pytest.approx(0.8, abs=0.01)
    assert np.corrcoef(values[3:], values[:-3])[0, 1] == pytest.approx(0.512, abs=0.02)


def test_tracked_follows_constant_speed_and_lags_acceleration() -> None:
    clock = np.arange(0, 60, 0.05)
    steady = np.column_stack([np.where(clock > 5, 20.0 * (clock - 5), 0.0), 0 * clock])
    out = noise.tracked(steady, 0.05, 0.3)
    np.testing.assert_allclose(out[-1], steady[-1], rtol=0, atol=1e-9)
    pushed = np.column_stack([0.5 * 4.0 * clock**2, 0 * clock])
    lag = (pushed - noise.tracked(pushed, 0.05, 0.3))[-1, 0]
    # Steady lag of a g-h filter: a dt^2 (1 - g) / h, with theta = exp(-dt / tau).
    theta = np.exp(-0.05 / 0.3)
    assert lag == pytest.approx(4.0 * 0.05**2 * theta**2 / (1 - theta) ** 2, rel=1e-6)
    assert lag == pytest.approx(4.0 * 0.3**2, rel=0.2)


def test_tracked_smooths_white_noise() -> None:
    white = np.random.default_rng(5).normal(0, 1, (20_000, 2))
    out = noise.tracked(white, 0.1, 0.5)
    # Variance reduction of a g-h filter: (2 g^2 + 2 h - 3 g h) / (g (4 - 2 g - h)).
    theta = np.exp(-0.1 / 0.5)
    g, h = 1 - theta**2, (1 - theta) ** 2
    left = (2 * g**2 + 2 * h - 3 * g * h) / (g * (4 - 2 * g - h))
    assert out.var() == pytest.approx(left, rel=0.04)
    assert np.corrcoef(out[1:, 0], out[:-1, 0])[0, 1] > 0.6
