"""The whole look at a car: simulated faults are named, and a healthy car gives no warning."""

import numpy as np
import pytest
from car_worlds import places, simulated, watched

from lapwright import simulate as sim
from lapwright.car.watch import look_over, warning_table
from lapwright.motion import Motion
from lapwright.notes.limits import Limit
from lapwright.session import Session
from lapwright.simulate.logger.car_sensors import dry

SICK = sim.CarSensors(
    surge_bar=0.8, oil_rising_c_per_s=0.025,
    dead=(("water_temp_c", 560.0, "held"), ("battery_v", 600.0, "blank"),
          ("fuel_pressure_bar", 640.0, "wild")),
)  # fmt: skip
LIMITS = (Limit("oil_pressure", low=3.4, above_rpm=4000.0), Limit("battery", low=13.0))


@pytest.fixture(scope="module")
def sick() -> tuple[sim.TrueRun, sim.Recording, Session]:
    return simulated(SICK, limits=LIMITS)


def test_oil_is_lost_where_the_pick_up_ran_dry(
    sick: tuple[sim.TrueRun, sim.Recording, Session],
) -> None:
    run, recording, session = sick
    named = {w.corner: w for w in session.car_warnings if w.code == "oil_in_corner"}
    truly = np.zeros(1 + len(session.track.corners))
    time_s = recording.fixes["true_time_s"].to_numpy()
    corner = session._places.corner(session._places.station_m(time_s - recording.zero_s))
    np.add.at(truly, corner, 0.1 * dry(run, time_s, SICK) / 8.0)
    assert named
    # Dry for a second a lap and longer is named; where it never was, nothing is.
    assert set(np.flatnonzero(truly > 1.0)) <= set(named)
    assert all(truly[k] > 0.0 for k in named)
    for one in named.values():
        # What is lost is less than 0.8 bar at first: the gauge is 0.3 s late.
        assert -0.8 < one.value < -0.2
        assert one.low95 < one.value < one.high95 < 0.0


def test_the_rise_is_as_planted(sick: tuple[sim.TrueRun, sim.Recording, Session]) -> None:
    run, _, session = sick
    (one,) = [w for w in session.car_warnings if w.code == "still_rising"]
    lap_s = float(run.laps["time_s"].dropna().iloc[-1])
    assert one.kind == "oil_temperature"
    # 0.025 K/s, and what is left of warming up: 82 / 150 exp(-t / 150) K/s between 600 and 900 s.
    assert 0.025 * lap_s < one.value < (0.025 + 82 / 150 * np.exp(-600 / 150)) * lap_s


def test_sensors_died_when_they_did(sick: tuple[sim.TrueRun, sim.Recording, Session]) -> None:
    _, recording, session = sick
    died = {w.channel: w for w in session.car_warnings if w.code == "sensor_died"}
    assert {w.channel: w.how for w in died.values()} == {
        "water_temp_c": "constant", "battery_v": "missing", "fuel_pressure_bar": "impossible",
    }  # fmt: skip
    for name, at_s, _ in SICK.dead:
        # Ten values a second; a value may be the same as the one it is held at by chance.
        assert died[name].time_s + recording.zero_s == pytest.approx(at_s, abs=0.35)
        assert died[name].lap == session._places.lap(at_s - recording.zero_s)


def test_the_limit_is_passed_where_the_values_pass_it(
    sick: tuple[sim.TrueRun, sim.Recording, Session],
) -> None:
    _, recording, session = sick
    (one,) = [w for w in session.car_warnings if w.code == "limit"]
    fixes = recording.fixes
    time_s = fixes["stamp_s"].to_numpy() - recording.zero_s
    low = ((fixes["oil_pressure_bar"] < 3.4) & (fixes["rpm"] >= 4000.0)).to_numpy()
    laps = session.laps
    inside = (time_s >= laps["start_s"].iloc[0]) & (time_s < laps["end_s"].iloc[-1])
    assert one.beyond_s == pytest.approx(0.1 * np.count_nonzero(low & inside), abs=1.0)
    assert one.value == fixes["oil_pressure_bar"][low & inside].min()
    assert (one.how, one.level, one.above_rpm) == ("below", 3.4, 4000.0)


def test_one_value_alone_is_a_glitch_and_no_warning() -> None:
    value = np.full(1600, 4.0) + 0.01 * (np.arange(1600) % 2)
    value[700] = 0.0
    motion: Motion = None  # type: ignore[assignment]  # without engine speed nobody asks it
    limit = [Limit("oil_pressure", low=2.0)]
    assert look_over([watched(value, "oil_pressure", "bar")], limit, motion, places()) == ()
    value[701] = 0.0
    (one,) = look_over([watched(value, "oil_pressure", "bar")], limit, motion, places())
    assert (one.code, one.beyond_s, one.laps, one.lap) == ("limit", 1.0, (4,), 4)


def test_what_a_dead_sensor_says_is_not_held_against_limits() -> None:
    rng = np.random.default_rng(1)
    value = np.r_[np.round(90.0 + rng.normal(0.0, 0.3, 1000), 1), np.full(600, 999.0)]
    motion: Motion = None  # type: ignore[assignment]
    limit = [Limit("water_temperature", high=105.0)]
    found = look_over([watched(value, "water_temperature", "°C")], limit, motion, places())
    assert [one.code for one in found] == ["sensor_died"]


def test_the_table_has_a_row_a_warning(
    sick: tuple[sim.TrueRun, sim.Recording, Session],
) -> None:
    warnings = sick[2].car_warnings
    table = warning_table(warnings)
    assert list(table["code"]) == [one.code for one in warnings]
    assert warning_table(()).empty
    assert set(warning_table(())) == set(table)


@pytest.mark.slow
@pytest.mark.parametrize(
    "seed", [*range(8), *(pytest.param(n, marks=pytest.mark.thorough) for n in range(8, 20))]
)
def test_a_healthy_car_gives_no_warning(seed: int) -> None:
    cars = [sim.LIGHT_CAR, sim.SALOON, sim.FAST_CAR, sim.KART]
    limits = (Limit("oil_pressure", low=2.0, above_rpm=3000.0), Limit("battery", low=13.0),
              Limit("oil_temperature", high=120.0))  # fmt: skip
    _, _, session = simulated(
        sim.CarSensors(), 200 + seed, 8 + seed % 3, limits,
        "wren_hollow" if seed % 2 else 300 + seed, cars[seed % 4],
    )  # fmt: skip
    assert session.car_warnings == ()
    assert not session.car.empty
