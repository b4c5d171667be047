"""The model of a session: what the smoothed variances must be in cases with a closed form."""

import numpy as np
import pytest
from motion_worlds import Drive, lapped, wander

from lapwright.motion.hypothesis import Hypothesis
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.kalman.state_space import direction_of_travel, smooth_measurements
from lapwright.motion.measurements import Measurements

TINY = 1e-6


def straight(rate_hz: float, seconds: float, kind: str = "vector") -> Measurements:
    """East at 40 m/s, without noise."""
    time = np.arange(0.0, seconds, 1.0 / rate_hz)
    n = len(time)
    position = np.stack([40.0 * time, np.zeros(n)], axis=-1)
    velocity = np.tile([40.0, 0.0], (n, 1))
    factor = np.full(n, np.inf) if kind == "none" else np.ones(n)
    return Measurements(
        time,
        position,
        np.ones(n),
        kind,
        velocity,
        velocity[:, 0],
        factor,
        None,  # type: ignore[arg-type]
    )


def test_position_and_doppler_give_the_wiener_error() -> None:
    # White position (1 m) and white Doppler (0.05 m/s) at 10 Hz: sqrt(sigma sigma_v / 2 f) =
    # 0.0500 m within 1 % (case n = 1 of the Wiener smoother).
    noise = NoiseParameters(1.0, TINY, 200.0, 0.05, TINY, 20.0, 5.0, 2.0)
    states = smooth_measurements(straight(10.0, 600.0), noise).states
    assert np.sqrt(states.cov.diagonal(0)[3000]) == pytest.approx(0.05, rel=0.01)


@pytest.mark.parametrize(
    ("sigma", "tau", "closure"),
    [(0.2492, 60.0, 0.3106), (0.4339, 300.0, 0.3124), (1.2740, 300.0, 0.9172)],
)  # fmt: skip
def test_drift_alone_leaves_the_closed_form_of_a_lap(
    sigma: float, tau: float, closure: float
) -> None:
    # sqrt(2 sigma2 (1 - exp(-T / tau))), T = 90 s: closed form, checked by Monte Carlo.  With white
    # noise of a millimetre and a car that does what it likes, positions are all there is.
    noise = NoiseParameters(1e-3, sigma, tau, np.inf, 0.02, 20.0, 30.0, 0.5)
    m = straight(1.0, 300.0, "none")
    east = np.tile([1.0, 0, 0, 0, 0, 0], (2, 1))
    cov = Hypothesis(1.0, smooth_measurements(m, noise)).cov(np.array([100.0, 190.0]), east)
    assert np.sqrt([-1, 1] @ cov @ [-1, 1]) == pytest.approx(closure, rel=5e-3)


def test_drift_as_drawn_makes_the_error_of_the_closed_form() -> None:
    # The same by Monte Carlo: 100 sessions' drifts, two axes each, through the smoother.
    sigma, tau = 1.2740, 300.0
    rng = np.random.default_rng(0)
    m = straight(1.0, 200.0, "none")
    noise = NoiseParameters(0.05, sigma, tau, np.inf, 0.02, 20.0, 5.0, 2.0)
    errors = []
    for _ in range(100):
        drifted = m.position_m + wander(rng, m.time_s, sigma, tau)
        drifted = drifted + 0.05 * rng.standard_normal(drifted.shape)
        one = Measurements(
            m.time_s, drifted, m.position_factor, "none", m.velocity_mps, m.speed_mps,
            m.velocity_factor, None,
        )  # fmt: skip
        place, *_ = smooth_measurements(one, noise).car_mean(np.array([55.0, 145.0]))
        errors.extend(place[1] - place[0] - [40.0 * 90.0, 0.0])
    # 200 draws: 5 % of a standard deviation.
    assert np.sqrt(np.mean(np.square(errors))) == pytest.approx(0.9172, rel=0.15)


@pytest.mark.parametrize(("sd", "tau", "closure"), [(0.02, 5.0, 0.5831), (0.05, 1.0, 0.6671)])
def test_doppler_alone_leaves_the_closed_form_of_a_lap(
    sd: float, tau: float, closure: float
) -> None:
    # sqrt(2 s2 tau (T - tau (1 - exp(-T / tau)))), T = 90 s, positions that say nothing.
    noise = NoiseParameters(1e4, 1e4, 10.0, 1e-4, sd, tau, 5.0, 2.0)
    east = np.tile([1.0, 0, 0, 0, 0, 0], (2, 1))
    smoothing = smooth_measurements(straight(10.0, 120.0), noise)
    cov = Hypothesis(1.0, smoothing).cov(np.array([15.0, 105.0]), east)
    # The car's own inertia knows a little of the velocity too: 1 %.
    assert np.sqrt([-1, 1] @ cov @ [-1, 1]) == pytest.approx(closure, rel=0.012)


def test_neighbouring_sectors_are_correlated_as_drift_makes_them() -> None:
    # cov = -sigma2 (1 - r01 - r12 + r02), r = exp(-dt / tau).
    sigma, tau = 1.0, 200.0
    noise = NoiseParameters(1e-3, sigma, tau, np.inf, 0.02, 20.0, 30.0, 0.5)
    t = np.array([100.0, 130.0, 190.0])
    east = np.tile([1.0, 0, 0, 0, 0, 0], (3, 1))
    m = straight(1.0, 300.0, "none")
    cov = Hypothesis(1.0, smooth_measurements(m, noise)).cov(t, east)
    sectors = np.array([[-1.0, 1.0, 0.0], [0.0, -1.0, 1.0]])
    r01, r12, r02 = np.exp(-np.array([30.0, 60.0, 90.0]) / tau)
    expected = -(sigma**2) * (1.0 - r01 - r12 + r02)
    assert (sectors @ cov @ sectors.T)[0, 1] == pytest.approx(expected, rel=0.02)


def test_speed_without_course_needs_a_direction() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="speed", seconds=60.0)
    noise = NoiseParameters(0.3, 1.0, 200.0, 0.05, 0.02, 20.0, 5.0, 2.0)
    with pytest.raises(ValueError, match="needs the direction of travel"):
        smooth_measurements(m, noise)


def test_direction_of_travel_from_positions() -> None:
    m, drive = lapped(seed=1, rate_hz=10.0, kind="speed", seconds=120.0)
    noise = NoiseParameters(0.3, 1.0, 200.0, 0.05, 0.02, 20.0, 5.0, 2.0)
    direction, cross_var = direction_of_travel(m, noise)
    np.testing.assert_allclose(np.linalg.norm(direction, axis=1), 1.0)
    true = drive.velocity(m.time_s)
    across = direction[:, 0] * true[:, 1] - direction[:, 1] * true[:, 0]
    inner = slice(20, -20)
    assert np.sqrt(np.mean(across[inner] ** 2 / cross_var[inner])) < 1.3


def test_speed_along_the_way_is_nearly_as_good_as_a_vector() -> None:
    # On the same errors, lengths of laps: between none and a vector.
    drive = Drive()
    noise = NoiseParameters(0.3, 1.0, 200.0, 0.05, 1e-3, 20.0, 5.0, 2.0)
    t = np.array([65.0, 125.0, 185.0, 245.0, 305.0, 365.0])
    way = drive.velocity(t) / np.linalg.norm(drive.velocity(t), axis=1)[:, None]
    rms = {}
    for kind in ("vector", "speed", "none"):
        off = []
        for seed in range(4):
            m, _ = lapped(seed, 5.0, kind, seconds=400.0, slow=1e-3, slow_tau_s=20.0)  # type: ignore[arg-type]
            used = noise if kind != "none" else NoiseParameters(0.3, 1, 200, np.inf, 1, 20, 5, 2)
            direction, var = direction_of_travel(m, noise)
            smoothing = smooth_measurements(m, used, direction, var)
            along = ((smoothing.car_mean(t)[0] - drive.position(t)) * way).sum(axis=1)
            off.append(np.diff(along))
        rms[kind] = np.sqrt(np.mean(np.square(off)))
    assert rms["vector"] < 0.75 * rms["speed"] < 0.75 * rms["none"]
