"""Sensors that died, and from when on."""

import numpy as np
import pytest
from car_worlds import places, watched

from lapwright.car.dead_sensor import dead_sensor

RNG = np.random.default_rng(7)
TIME = np.arange(0.0, 800.0, 0.5)
ALIVE = np.round(90.0 + RNG.normal(0.0, 0.3, len(TIME)), 1)


def test_constant_from_a_moment_on() -> None:
    value = np.where(TIME < 500.0, ALIVE, 88.8)
    found = dead_sensor(watched(value, "water_temperature", "°C"), places())
    assert found is not None
    assert (found.how, found.from_s, found.value) == ("constant", 500.0, 88.8)
    # Half a second between values: 0.5 / sqrt(12).
    assert found.from_sd_s == pytest.approx(0.144, abs=0.001)


def test_missing_from_a_moment_on() -> None:
    found = dead_sensor(watched(ALIVE[TIME < 600.0], "water_temperature", "°C"), places())
    assert found is not None
    assert (found.how, found.from_s) == ("missing", 600.0)
    assert np.isnan(found.value)


@pytest.mark.parametrize(
    ("kind", "unit", "good", "bad"),
    [
        ("water_temperature", "°C", 90.0, 250.0), ("oil_temperature", "°F", 190.0, -90.0),
        ("water_temperature", "", 90.0, 999.0), ("oil_pressure", "bar", 4.0, -2.0),
        ("fuel_pressure", "psi", 45.0, 400.0), ("battery", "V", 13.0, 0.2),
        ("rpm", "1/min", 4000.0, 65535.0),
    ],
)  # fmt: skip
def test_impossible_from_a_moment_on(kind: str, unit: str, good: float, bad: float) -> None:
    # It trembles, so that it is not the constant value that gives it away.
    value = np.where(TIME < 400.0, good, bad) + 0.01 * RNG.normal(0.0, 1.0, len(TIME))
    found = dead_sensor(watched(value, kind, unit), places())
    assert found is not None
    assert (found.how, found.from_s) == ("impossible", 400.0)
    assert found.value == pytest.approx(bad, abs=0.01)


def test_what_comes_back_is_not_dead() -> None:
    value = np.where((TIME > 400.0) & (TIME < 500.0), 250.0, ALIVE)
    assert dead_sensor(watched(value, "water_temperature", "°C"), places()) is None
    assert dead_sensor(watched(ALIVE, "water_temperature", "°C"), places()) is None


def test_a_temperature_that_settles_is_not_dead() -> None:
    # In whole degrees it stands at one value for minutes when it has settled.
    value = np.round(90.0 - 70.0 * np.exp(-TIME / 100.0))
    assert np.ptp(value[TIME > 550.0]) == 0.0
    assert dead_sensor(watched(value, "water_temperature", "°C"), places()) is None


def test_a_sensor_that_the_car_has_not_got_is_not_dead() -> None:
    assert dead_sensor(watched(np.zeros(len(TIME)), "oil_pressure", "bar"), places()) is None
    assert dead_sensor(watched(np.full(len(TIME), 999.0), "oil_pressure", "bar"), places()) is None


def test_what_was_never_really_alive_is_not_dead() -> None:
    # Half a minute of values is no proof that there is a sensor.
    value = np.where(TIME < 30.0, ALIVE, 88.8)
    assert dead_sensor(watched(value, "water_temperature", "°C"), places()) is None


def test_a_car_that_stands_shows_nothing() -> None:
    p = places()
    p.mapped.speed_mps[TIME.searchsorted(500.0) :] = 0.0
    value = np.where(TIME < 500.0, ALIVE, 88.8)
    assert dead_sensor(watched(value, "rpm"), p) is None
    assert dead_sensor(watched(ALIVE[TIME < 500.0], "rpm"), p) is None
