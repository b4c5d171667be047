"""Which columns tell of the car, and what they are."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from car_worlds import watched as made

from lapwright.car.watched import kind_of, watched
from lapwright.ingest.log import Log


@pytest.mark.parametrize(
    ("name", "unit", "kind"),
    [
        ("oil pressure", "bar", "oil_pressure"), ("Oil P", "psi", "oil_pressure"),
        ("Öldruck", "bar", "oil_pressure"), ("oil_temp", "", "oil_temperature"),
        ("huile", "°C", "oil_temperature"), ("Wassertemperatur", "", "water_temperature"),
        ("coolant", "°F", "water_temperature"), ("fuel pressure", "kPa", "fuel_pressure"),
        ("battery", "V", "battery"), ("supply voltage", "V", "battery"), ("vbat", "", "battery"),
        ("wheel speed fl", "km/h", "wheel_speed"), ("Rad VL", "km/h", "wheel_speed"),
        ("gearbox temp", "°C", "temperature"), ("boost", "kPa", "pressure"),
        ("throttle sensor", "V", "other"), ("fuel level", "l", "other"), ("lambda", "", "other"),
    ],
)  # fmt: skip
def test_kinds(name: str, unit: str, kind: str) -> None:
    assert kind_of(name, unit) == kind


def _log() -> Log:
    time = np.arange(0.0, 40.0, 0.5)
    table = pd.DataFrame(
        {
            "line": np.arange(len(time)), "time_s": time, "revs": 4000.0, "Öldruck": 4.0,
            "oil t": np.where(np.arange(len(time)) % 4, np.nan, 90.0), "brake oil": 30.0,
            "pedal": 1.0, "wheel fl": 20.0, "tyre temp": 60.0, "note": "x", "water temp": np.nan,
        }
    )  # fmt: skip
    return Log(
        Path("a.csv"), "csv", pd.DataFrame({"time_s": time}), table, "utc", 0.0, None, 2.0,
        channel_units={"Öldruck": "bar", "brake oil": "bar"},
        roles={"rpm": "revs", "throttle": "pedal"},
    )  # fmt: skip


def test_columns_of_the_car_without_their_blanks() -> None:
    found = {one.name: one for one in watched(_log())}
    kinds = {name: one.kind for name, one in found.items()}
    # The driver's pedals, the brakes, the tyres and an empty column are not the car's health.
    assert kinds == {"revs": "rpm", "Öldruck": "oil_pressure", "oil t": "oil_temperature",
                     "wheel fl": "wheel_speed"}  # fmt: skip
    assert len(found["oil t"].value) == 20
    assert found["oil t"].step_s == 2.0
    assert found["Öldruck"].unit == "bar"


def test_noise_is_what_was_put_in_or_the_rounding() -> None:
    rng = np.random.default_rng(1)
    slope = np.linspace(0.0, 50.0, 4000)
    assert made(slope + rng.normal(0.0, 0.2, 4000)).noise == pytest.approx(0.2, rel=0.1)
    # A step of one has a standard deviation of 1 / sqrt(12) = 0.2887: even distribution.
    assert made(np.round(slope)).noise == pytest.approx(0.2887, abs=1e-4)


def test_nothing_is_known_in_a_hole() -> None:
    channel = made(np.arange(10.0))
    at = channel.at(np.array([-1.0, 0.25, 4.5, 4.6]))
    assert np.isnan(at[[0, 3]]).all()
    # Halfway between the first two values, and the last.
    assert at[[1, 2]] == pytest.approx([0.5, 9.0])
    holed = type(channel)("a", "other", "", np.array([0.0, 0.5, 1.0, 9.0]), np.arange(4.0))
    assert np.isnan(holed.at(np.array([5.0]))).all()
    assert holed.held_s.max() == holed.hole_s == 1.5
