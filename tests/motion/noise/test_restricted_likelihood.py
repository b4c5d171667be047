"""Laps compared with each other, against the plain restricted likelihood and planted parameters."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from motion_oracles import place_contrasts

from lapwright.motion.noise.restricted_likelihood import (
    DriverKernel,
    RepeatedMeasures,
    place_differences,
    restricted_likelihood,
)

Floats = npt.NDArray[np.float64]
LAPS, PLACES, LAP_S = 12, 20, 90.0


def planted(seed: int, drift_m: float, tau_s: float, spread_m: float = 0.3) -> RepeatedMeasures:
    """Drift in two axes, a usual line, a driver, white noise of 0.3 m over 5 fixes."""
    rng = np.random.default_rng(seed)
    lap, place = (a.ravel() for a in np.meshgrid(np.arange(LAPS), np.arange(PLACES), indexing="ij"))
    time = LAP_S * (lap + place / PLACES)
    angle = 2.0 * np.pi * place / PLACES
    direction = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    station = 150.0 * place
    repeats = RepeatedMeasures(
        time, direction, np.zeros(len(lap)), place, lap, station, np.full(len(lap), 5.0)
    )
    apart = np.abs(time[:, None] - time)
    drift = np.linalg.cholesky(drift_m**2 * np.exp(-apart / tau_s) + 1e-9 * np.eye(len(lap)))
    error = drift @ rng.standard_normal((len(lap), 2))
    driver = np.linalg.cholesky(driver_cov(repeats, spread_m, 60.0) + 1e-9 * np.eye(len(lap)))
    value = 10.0 * rng.standard_normal(PLACES)[place] + (error * direction).sum(axis=1)
    value += driver @ rng.standard_normal(len(lap)) + 0.3 / 5**0.5 * rng.standard_normal(len(lap))
    return RepeatedMeasures(time, direction, value, place, lap, station, repeats.averaged)


def driver_cov(repeats: RepeatedMeasures, spread_m: float, length_m: float) -> Floats:
    cov = np.zeros((len(repeats.lap), len(repeats.lap)))
    DriverKernel(repeats).add_to(cov, spread_m, length_m)
    return cov


def test_contrasts_know_nothing_of_where_the_places_are() -> None:
    place = np.array([3, 1, 1, 3, 7, 3])
    contrast = place_contrasts(place)
    assert contrast.shape == (3, 6)
    np.testing.assert_allclose(contrast @ contrast.T, np.eye(3), atol=1e-12)
    for number in (1, 3, 7):
        np.testing.assert_allclose(contrast @ (place == number).astype(float), 0.0, atol=1e-12)


def test_differences_are_between_passes_of_the_same_place() -> None:
    later, first = place_differences(np.array([3, 1, 1, 3, 7, 3]))
    assert later.tolist() == [2, 3, 5]
    assert first.tolist() == [1, 0, 0]


@pytest.mark.parametrize("tau", [200.0, 2.0])
def test_likelihood_is_the_restricted_one(tau: float) -> None:
    # Written out with orthonormal contrasts (Patterson & Thompson 1971); another choice of
    # contrasts adds a constant.  Six sd below its prior the drift lasts two seconds.
    repeats = planted(2, 1.0, 200.0)
    contrast = place_contrasts(repeats.place)
    apart = np.abs(repeats.time_s[:, None] - repeats.time_s)
    trials = [(1.0, tau, 0.3, 60.0), (0.4, 1.5 * tau, 0.6, 30.0)]
    plain = []
    for drift, tau_s, spread, length in trials:
        cov = drift**2 * np.exp(-apart / tau_s) * (repeats.direction @ repeats.direction.T)
        cov += np.diag(0.09 / repeats.averaged) + driver_cov(repeats, spread, length)
        cov, data = contrast @ cov @ contrast.T, contrast @ repeats.value_m
        plain.append(-0.5 * data @ np.linalg.solve(cov, data) - 0.5 * np.linalg.slogdet(cov)[1])
    found = restricted_likelihood(repeats, 0.3)(np.log(trials))
    assert found[1] - found[0] == pytest.approx(plain[1] - plain[0], abs=1e-6)


def test_an_error_that_lasts_seconds_is_one_more_gauss_markov_process() -> None:
    # As above, with a second process of its own size and time constant in the same directions.
    repeats = planted(2, 1.0, 200.0)
    contrast = place_contrasts(repeats.place)
    apart = np.abs(repeats.time_s[:, None] - repeats.time_s)
    levels = [(1.0, 200.0, 0.3, 60.0, 0.7, 4.0), (1.0, 200.0, 0.3, 60.0, 1.5, 12.0)]
    plain = []
    for drift, tau_s, spread, length, lasting, lasting_tau in levels:
        cov = drift**2 * np.exp(-apart / tau_s) + lasting**2 * np.exp(-apart / lasting_tau)
        cov *= repeats.direction @ repeats.direction.T
        cov += np.diag(0.09 / repeats.averaged) + driver_cov(repeats, spread, length)
        cov, data = contrast @ cov @ contrast.T, contrast @ repeats.value_m
        plain.append(-0.5 * data @ np.linalg.solve(cov, data) - 0.5 * np.linalg.slogdet(cov)[1])
    found = restricted_likelihood(repeats, 0.3)(np.log(levels))
    assert found[1] - found[0] == pytest.approx(plain[1] - plain[0], abs=1e-6)


def test_a_parked_car_has_no_driver() -> None:
    repeats = planted(0, 1.0, 200.0)
    parked = replace(repeats, lap=np.full(len(repeats.lap), -1))
    assert not driver_cov(parked, 0.4, 60.0).any()


def test_driver_is_correlated_within_a_lap_only() -> None:
    repeats = planted(0, 1.0, 200.0)
    cov = driver_cov(repeats, 0.4, 60.0)
    np.testing.assert_allclose(np.diag(cov), 0.16)
    # Matern 3/2 over 150 m with 60 m: (1 + r) e^-r, r = sqrt 3 x 2.5 (Rasmussen & Williams 4.17).
    r = np.sqrt(3.0) * 2.5
    assert cov[0, 1] == pytest.approx(0.16 * (1.0 + r) * np.exp(-r))
    assert cov[0, PLACES] == 0.0


def test_likelihood_does_not_depend_on_where_the_line_lies() -> None:
    repeats = planted(1, 1.0, 200.0)
    moved = repeats.value_m + 50.0 * np.sin(repeats.place)
    shifted = RepeatedMeasures(
        repeats.time_s, repeats.direction, moved, repeats.place, repeats.lap, repeats.station_m,
        repeats.averaged,
    )  # fmt: skip
    points = np.log([[1.0, 200.0, 0.3, 60.0], [0.5, 100.0, 0.6, 30.0]])
    np.testing.assert_allclose(
        restricted_likelihood(repeats, 0.3)(points),
        restricted_likelihood(shifted, 0.3)(points),
        atol=1e-6,
    )


@pytest.mark.parametrize(("drift", "tau"), [(1.0, 200.0), (2.0, 60.0), (0.3, 400.0)])
def test_drift_and_driver_are_told_apart(drift: float, tau: float) -> None:
    # On average over sessions the truth is likelier than parameters twice or half as large.
    truth = np.log([[drift, tau, 0.3, 60.0]])
    others = [truth + np.log(2.0) * s * np.eye(4)[i] for i in (0, 2) for s in (-1.0, 1.0)]
    gain = np.zeros(len(others))
    for seed in range(4):
        likelihood = restricted_likelihood(planted(seed, drift, tau), 0.3)
        gain += likelihood(truth)[0] - np.array([likelihood(o)[0] for o in others])
    assert gain.min() > 2.0
