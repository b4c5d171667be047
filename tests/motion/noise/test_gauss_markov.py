"""The likelihood of slow errors against closed-form covariances and one dense normal density."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from motion_oracles import ORDINARY
from motion_worlds import lapped

from lapwright.motion.noise.binned_displacements import Binned, bin_session
from lapwright.motion.noise.estimate import estimate_noise
from lapwright.motion.noise.gauss_markov import velocity_likelihood

Floats = npt.NDArray[np.float64]

POINTS = np.array(
    [
        [1.0, 200.0, 0.02, 20.0, 0.05, 0.05],
        [2.0, 60.0, 0.06, 8.0, 0.10, 0.3],
        [0.3, 500.0, 0.005, 40.0, 0.02, 0.01],
    ]
)


def integrated_gauss_markov(ends_s: Floats, sd: float, tau: float) -> Floats:
    """
    Covariance of integrals from 0 to each end of an error with correlation exp(-|t| / tau).

    s2 tau (2 min(a, b) + tau (e^-a + e^-b - 1 - e^-|a - b|)), ends in units of tau in exponents:
    the double integral of the correlation, by hand.
    """
    a, b = ends_s[:, None], ends_s[None, :]
    ea, eb, gap = np.exp(-a / tau), np.exp(-b / tau), np.exp(-np.abs(a - b) / tau)
    return np.asarray(sd**2 * tau * (2.0 * np.minimum(a, b) + tau * (ea + eb - 1.0 - gap)))


def mean_var(binned: Binned, point: Floats) -> Floats:
    """White variance of bin means, less what averaging a wandering error takes off."""
    drift, tau, *_, lasting = point
    white = (ORDINARY.white_m**2 + lasting**2) / binned.averaged
    return np.maximum(white - drift**2 / tau * binned.window_s / 3.0, 0.2 * white)


def log_density(value: Floats, cov: Floats) -> float:
    lower = np.linalg.cholesky(cov)
    z = np.linalg.solve(lower, value)
    return float(-0.5 * z @ z - np.log(np.diag(lower)).sum())


def ends(binned: Binned) -> Floats:
    return np.concatenate([[0.0], np.cumsum(binned.step_s)])


def test_closed_form_of_the_integrated_error() -> None:
    # Lap closure by Doppler alone, 90 s: 0.05 m/s over 1 s gives 0.6671 m (closed form, checked by
    # Monte Carlo elsewhere).
    var = integrated_gauss_markov(np.array([90.0]), 0.05, 1.0)[0, 0]
    assert np.sqrt(var) == pytest.approx(0.6671, abs=1e-4)


def test_vectors() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="vector", seconds=150.0)
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    t = ends(binned)
    assert len(t) > 70
    found = velocity_likelihood(m, ORDINARY, None, None)(np.log(POINTS))
    way = np.concatenate([np.zeros((1, 2)), np.cumsum(binned.moved_m, axis=0)])
    error = binned.position_m - binned.position_m[0] - way
    for point, ours in zip(POINTS, found, strict=True):
        drift, drift_tau, sd, tau, speed, _ = point
        steps = binned.bridged_var_m2 + speed**2 * binned.walked_s2
        walk = np.concatenate([[0.0], np.cumsum(steps)])
        cov = np.full((len(t), len(t)), 100.0**2)
        cov += drift**2 * np.exp(-np.abs(t[:, None] - t) / drift_tau)
        cov += integrated_gauss_markov(t, sd, tau)
        cov += np.minimum(walk[:, None], walk) + np.diag(mean_var(binned, point))
        expected = sum(log_density(error[:, axis], cov) for axis in (0, 1))
        # The start is taken as unknown by 100 m about the first bin.
        assert ours == pytest.approx(expected, abs=1e-5)


def test_speeds_along_the_way() -> None:
    m, drive = lapped(seed=2, rate_hz=5.0, kind="speed", seconds=150.0)
    velocity = drive.velocity(m.time_s)
    direction = velocity / np.linalg.norm(velocity, axis=1)[:, None]
    binned = bin_session(m, m.speed_mps[:, None] * direction, ORDINARY)
    t, n = ends(binned), len(binned.step_s)
    assert binned.whole.all()
    found = velocity_likelihood(m, ORDINARY, direction, None)(np.log(POINTS))
    length = np.linalg.norm(binned.moved_m, axis=1)
    unit = binned.moved_m / length[:, None]
    short = (unit * np.diff(binned.position_m, axis=0)).sum(axis=1) - length
    step = np.diff(np.eye(n + 1), axis=0)
    for point, ours in zip(POINTS, found, strict=True):
        drift, drift_tau, sd, tau, speed, _ = point
        place = drift**2 * np.exp(-np.abs(t[:, None] - t) / drift_tau)
        place += np.diag(mean_var(binned, point))
        facing = unit @ unit.T
        cov = facing * (step @ place @ step.T)
        cov += step @ integrated_gauss_markov(t, sd, tau) @ step.T
        cov += np.diag(binned.bridged_var_m2 + speed**2 * binned.walked_s2)
        assert ours == pytest.approx(log_density(short, cov), abs=1e-6)


def test_a_speed_is_longer_than_what_lies_along_a_direction_that_is_not_sure() -> None:
    # sqrt(v^2 + w^2) is about v + w^2 / 2v, and w^2 is on average its variance; below 1 m/s, where
    # that series does not hold, v is taken for 1.
    m, drive = lapped(seed=2, rate_hz=5.0, kind="speed", seconds=60.0)
    velocity = drive.velocity(m.time_s)
    direction = velocity / np.linalg.norm(velocity, axis=1)[:, None]
    creeping = replace(m, speed_mps=np.where(m.time_s < 20.0, 0.5, m.speed_mps))
    cross = 0.4 + 0.2 * np.sin(m.time_s)
    shorter = np.where(m.time_s < 20.0, 0.5 - cross / 2.0, m.speed_mps - cross / 2.0 / m.speed_mps)
    unsure = velocity_likelihood(creeping, ORDINARY, direction, cross)(np.log(POINTS))
    expected = velocity_likelihood(replace(m, speed_mps=shorter), ORDINARY, direction, None)
    np.testing.assert_allclose(unsure, expected(np.log(POINTS)), rtol=1e-9)
    sure = velocity_likelihood(creeping, ORDINARY, direction, None)(np.log(POINTS))
    assert np.abs(unsure - sure).min() > 1e-3


def test_across_the_way_nothing_is_compared() -> None:
    # One second a metre ahead is an error that no drift explains.  One second a metre aside the
    # car may have driven: along the way only the bend shows, a metre times some 0.1 rad.
    m, drive = lapped(seed=2, rate_hz=5.0, kind="speed", seconds=150.0)
    velocity = drive.velocity(m.time_s)
    direction = velocity / np.linalg.norm(velocity, axis=1)[:, None]
    left = np.stack([-direction[:, 1], direction[:, 0]], axis=-1)
    late = ((m.time_s >= 75.0) & (m.time_s < 76.0))[:, None]
    here, aside, ahead = (
        velocity_likelihood(replace(m, position_m=p), ORDINARY, direction, None)(
            np.log(POINTS[:1])
        )[0]
        for p in (m.position_m, m.position_m + late * left, m.position_m + late * direction)
    )
    assert ahead < here - 5.0
    assert abs(aside - here) < 0.1 * (here - ahead)


def test_gaps_and_crawling_are_not_compared() -> None:
    m, drive = lapped(seed=3, rate_hz=5.0, kind="speed", seconds=150.0, gaps=((60.0, 70.0),))
    velocity = drive.velocity(m.time_s)
    binned = bin_session(m, velocity, ORDINARY)
    assert not binned.whole.all()
    assert (binned.averaged == 0.0).any()
    assert np.isfinite(velocity_likelihood(m, ORDINARY, velocity, None)(np.log(POINTS))).all()


def test_long_records_find_the_same_parameters_as_short_ones() -> None:
    # 400 bins at most: of 2 s in ten minutes, of 6 s in forty, with as much averaged in each.
    m, _ = lapped(seed=1, rate_hz=5.0, kind="vector", seconds=2400.0)
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    assert binned.window_s == 1.0
    assert np.median(binned.step_s) == pytest.approx(6.0, rel=0.01)
    assert np.median(binned.averaged) == pytest.approx(5.0, abs=1.0)
    found = estimate_noise(m)
    for name, truth in (("drift_m", 1.0), ("drift_tau_s", 200.0), ("slow_speed_mps", 0.02)):
        off = np.log(getattr(found.parameters[0], name) / truth)
        assert abs(off) < 2.5 * found.log_sd[name]
