"""Simulated sensors of the car: as planted, and nothing else of the log changes."""

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.simulate.logger.car_sensors import CarSensors


def _fixes(run: sim.TrueRun, sensors: CarSensors | None) -> "np.ndarray":
    return sim.receive(run, sim.Receiver(), 1, engine=True, sensors=sensors).fixes


def test_the_rest_of_the_log_stays_the_same(short_run: sim.TrueRun) -> None:
    bare, more = _fixes(short_run, None), _fixes(short_run, CarSensors())
    assert more[list(bare)].equals(bare)
    assert set(more) - set(bare) == {
        "oil_pressure_bar", "oil_temp_c", "water_temp_c", "fuel_pressure_bar", "battery_v",
        "wheel_fl_kmh", "wheel_fr_kmh",
    }  # fmt: skip


def test_sensors_die_when_and_how_they_should(short_run: sim.TrueRun) -> None:
    dead = (("water_temp_c", 30.0, "held"), ("battery_v", 40.0, "blank"),
            ("oil_temp_c", 50.0, "wild"))  # fmt: skip
    fixes = _fixes(short_run, CarSensors(dead=dead))
    time_s = fixes["true_time_s"].to_numpy()
    water = fixes["water_temp_c"].to_numpy()
    assert np.ptp(water[time_s >= 30.0]) == 0.0
    assert np.ptp(water[time_s < 30.0]) > 5.0
    assert (fixes["battery_v"].isna() == (time_s >= 40.0)).all()
    assert ((fixes["oil_temp_c"] == 999.0) == (time_s >= 50.0)).all()


def test_the_pick_up_runs_dry_to_one_side_only(short_run: sim.TrueRun) -> None:
    healthy, dry = (_fixes(short_run, CarSensors(surge_bar=b))["oil_pressure_bar"] for b in (0, 1))
    lost = (healthy - dry).to_numpy()
    time_s = _fixes(short_run, None)["true_time_s"].to_numpy()
    across = short_run.along_across(time_s)[1]
    assert lost.max() > 0.5
    # The gauge is late by 0.3 s: five times that after the bend nothing of it is left.
    right = across < -6.0
    near = np.convolve(right, np.ones(16), "full")[: len(right)] > 0
    assert lost[~near].max() < 0.05


def test_an_unknown_way_to_die_is_refused() -> None:
    with pytest.raises(ValueError, match="dies in one of"):
        CarSensors(dead=(("battery_v", 1.0, "slowly"),))
