"""Temperatures that still rise at the end."""

import numpy as np
import pytest
from car_worlds import places, watched

from lapwright.car.still_rising import still_rising

TIME = np.arange(0.0, 800.0, 0.5)


def test_a_steady_rise_is_found_with_its_slope() -> None:
    rng = np.random.default_rng(1)
    hot = watched(80.0 + 0.02 * TIME + rng.normal(0.0, 0.2, len(TIME)), "oil_temperature", "°C")
    found = still_rising(hot, places())
    assert found is not None
    # 0.02 K/s on laps of 100 s.
    assert found.per_lap == pytest.approx(2.0, abs=0.05)
    assert found.low95 < 2.0 < found.high95
    # The middle of the last lap is at 749.75 s.
    assert found.last == pytest.approx(80.0 + 0.02 * 749.75, abs=0.05)
    assert found.laps == (5, 6, 7, 8)


@pytest.mark.parametrize(
    "value",
    [
        100.0 - 80.0 * np.exp(-TIME / 150.0),  # settles: 80 / 150 exp(-650 / 150) 100 = 0.7 K/lap
        # Levels off slowly: from lap to lap exp(-100 / 270) = 0.69 of the step before.
        100.0 - 80.0 * np.exp(-TIME / 270.0),
        np.full(len(TIME), 95.0),
        95.0 - 0.02 * TIME,
        80.0 + 0.005 * TIME,  # half a kelvin a lap
        80.0 + np.interp(TIME, [0.0, 650.0], [0.0, 26.0]),  # over: level on the last lap
        95.0 + 8.0 * np.sin(TIME / 60.0),  # up and down
        np.interp(TIME // 100, [4, 5, 6, 7], [90.0, 99.0, 91.0, 100.0]),  # anything may be next
    ],
)
def test_what_does_not_rise_any_more_is_not_named(value: np.ndarray) -> None:
    assert still_rising(watched(value, "oil_temperature", "°C"), places()) is None


def test_warming_up_is_not_a_rise() -> None:
    hot = watched(80.0 + 0.02 * TIME, "oil_temperature", "°C")
    # Laps count from 300 s on: of seven laps four are, of six only three.
    assert still_rising(hot, places(7)) is not None
    assert still_rising(hot, places(6)) is None


def test_a_degree_fahrenheit_is_less_than_a_kelvin() -> None:
    hot = 80.0 + 0.015 * TIME  # 1.5 a lap
    assert still_rising(watched(hot, "oil_temperature", "°C"), places()) is not None
    assert still_rising(watched(hot, "oil_temperature", "°F"), places()) is None
