"""Planted noise parameters are found, within what the estimate says of itself."""

from dataclasses import replace

import numpy as np
import pytest
from motion_worlds import Kind, lapped

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.noise.estimate import (
    estimate_noise,
    lap_sd_m,
    prior_drift_m,
    prior_speed,
    stand_in,
    with_white_prior,
)
from lapwright.motion.noise.white_noise import short_term_noise


@pytest.mark.parametrize("kind", ["vector", "speed", "none"])
@pytest.mark.parametrize("white", [0.1, 0.3, 1.0])
def test_white_noise_of_positions(kind: Kind, white: float) -> None:
    m, _ = lapped(seed=3, rate_hz=10.0, kind=kind, white=white, seconds=300.0)
    # 32 stretches of 48 fixes and two axes: 2 % and what the car's motion hides.
    assert short_term_noise(m).white_m == pytest.approx(white, rel=0.1)


@pytest.mark.parametrize("speed_noise", [0.03, 0.15])
def test_white_noise_of_velocity_at_a_high_rate(speed_noise: float) -> None:
    m, _ = lapped(
        seed=4, rate_hz=25.0, kind="vector", speed_noise=speed_noise, slow=0.001, seconds=300.0
    )
    assert short_term_noise(m).speed_mps == pytest.approx(speed_noise, rel=0.15)


def test_at_a_low_rate_the_car_hides_the_noise_of_the_velocity() -> None:
    m, _ = lapped(seed=4, rate_hz=1.0, kind="vector")
    local = short_term_noise(m)
    centre, sd = prior_speed(m, local)
    # Then data sheets decide: 0.06 m/s within a factor of two.
    assert np.exp(centre) == pytest.approx(0.06, rel=0.05)
    assert sd == pytest.approx(0.7, abs=0.02)
    m, _ = lapped(seed=4, rate_hz=50.0, kind="vector", seconds=200.0)
    local = short_term_noise(m)
    centre, sd = prior_speed(m, local)
    assert np.exp(centre) == pytest.approx(local.speed_mps, rel=0.15)
    assert sd < 0.3


def test_at_a_low_rate_the_car_hides_the_noise_of_the_positions() -> None:
    m, _ = lapped(seed=4, rate_hz=1.0, kind="none")
    # A car that swerves hard: the two say about as much as each other.
    local = replace(short_term_noise(m), white_m=0.1, accel_mps2=6.0)
    assert 0.15 < with_white_prior(m, local).white_m < 0.3
    m, _ = lapped(seed=4, rate_hz=5.0, kind="none", seconds=200.0)
    local = replace(short_term_noise(m), white_m=0.1, accel_mps2=6.0)
    assert with_white_prior(m, local).white_m == pytest.approx(0.1, rel=0.02)


CASES: list[tuple[Kind, float, dict[str, float]]] = [
    ("vector", 10.0, {}),
    ("vector", 10.0, {"slow": 0.06, "slow_tau_s": 15.0}),
    ("vector", 5.0, {"drift": 2.0, "drift_tau_s": 60.0, "white": 0.8}),
    ("vector", 10.0, {"drift": 0.3, "drift_tau_s": 600.0, "white": 0.05, "slow": 0.01}),
    ("speed", 10.0, {}),
    ("speed", 5.0, {"slow": 0.06, "slow_tau_s": 15.0}),
]


@pytest.mark.parametrize(("kind", "rate", "planted"), CASES)
def test_slow_parameters_lie_within_their_own_standard_deviations(
    kind: Kind, rate: float, planted: dict[str, float]
) -> None:
    truth = {"drift": 1.0, "drift_tau_s": 200.0, "slow": 0.02, "slow_tau_s": 20.0} | planted
    off = []
    for seed in (1, 2):
        m, _ = lapped(seed=seed, rate_hz=rate, kind=kind, **planted)
        found = estimate_noise(m)
        central = found.parameters[0]
        assert found.weight.sum() == pytest.approx(1.0)
        for name, key in (
            ("drift_m", "drift"),
            ("drift_tau_s", "drift_tau_s"),
            ("slow_speed_mps", "slow"),
            ("slow_speed_tau_s", "slow_tau_s"),
        ):
            off.append(np.log(getattr(central, name) / truth[key]) / found.log_sd[name])
    # Two sessions, four parameters: normal numbers would have a root mean square of 1 +- 0.25.
    assert np.sqrt(np.mean(np.square(off))) < 1.75
    assert np.abs(off).max() < 3.5


def test_data_make_the_estimate_surer_than_the_prior() -> None:
    # Ten minutes of a speed that wanders by 6 cm/s: not to be mistaken for a steady one.
    m, _ = lapped(seed=1, rate_hz=10.0, kind="vector", slow=0.06, slow_tau_s=15.0)
    found = estimate_noise(m)
    assert found.log_sd["slow_speed_mps"] < 0.4
    assert found.parameters[0].slow_speed_mps == pytest.approx(0.06, rel=0.4)
    # Positions alone say nothing of slow errors: the prior remains.
    alone = estimate_noise(replace(m, kind="none", velocity_factor=np.full(len(m), np.inf)))
    assert alone.log_sd["drift_m"] == pytest.approx(0.6, rel=0.1)
    assert "position against integrated speed" not in alone.sources


def test_several_sets_stand_for_what_is_not_known() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="none", seconds=300.0)
    found = estimate_noise(m, most=5)
    assert len(found.parameters) == 5
    np.testing.assert_allclose(found.weight, 0.2, atol=0.05)
    by_consequence = sorted(lap_sd_m(one, 80.0, 0.2) for one in found.parameters)
    # The first is the middle one; the outer ones are far apart.
    assert lap_sd_m(found.parameters[0], 80.0, 0.2) == by_consequence[2]
    assert by_consequence[-1] > 2.0 * by_consequence[0]
    assert len(estimate_noise(m, most=1).parameters) == 1


def test_a_stand_in_has_the_mean_variance_of_its_group() -> None:
    # Half and half of 1 and 3 m: variance 5 m2; time constants of 50 and 200 s: 100 s.
    points = np.log([[1.0, 50.0], [3.0, 200.0]])
    found = stand_in(["drift_m", "drift_tau_s"], points, np.array([0.2, 0.2]))
    np.testing.assert_allclose(np.exp(found), [5.0**0.5, 100.0])


def test_prior_of_the_drift_follows_the_class_of_the_receiver() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="none", seconds=60.0)
    assert prior_drift_m(m, 0.3) > 3.0 * prior_drift_m(m, 0.02)
    # 1.3 times what the receiver says of itself.
    assert prior_drift_m(replace(m, stated_sd_m=2.0), 0.3) == pytest.approx(2.6)


# What time-correlated error does to a lap of 90 s; closed forms checked by Monte Carlo, tables
# "laptime_sd_position_only" and "laptime_sd_doppler": closure in metres.
@pytest.mark.parametrize(
    ("sigma", "tau", "closure"),
    [(0.0085, 60.0, 0.0106), (0.2492, 300.0, 0.1794), (0.4339, 1000.0, 0.1800),
     (1.2740, 300.0, 0.9172)],
)  # fmt: skip
def test_closure_by_positions(sigma: float, tau: float, closure: float) -> None:
    noise = NoiseParameters(0.3, sigma, tau, np.inf, 0.02, 20.0, 5.0, 2.0)
    assert lap_sd_m(noise, 90.0, 0.1) == pytest.approx(closure, rel=2e-3 if sigma > 0.1 else 6e-3)


@pytest.mark.parametrize(
    ("sd", "tau", "closure"), [(0.02, 5.0, 0.5831), (0.05, 1.0, 0.6671), (0.1, 0.1, 0.4240)]
)
def test_closure_by_doppler(sd: float, tau: float, closure: float) -> None:
    noise = NoiseParameters(0.3, 1e6, 1e3, 1e-9, sd, tau, 5.0, 2.0)
    assert lap_sd_m(noise, 90.0, 0.1) == pytest.approx(closure, rel=1e-3)
