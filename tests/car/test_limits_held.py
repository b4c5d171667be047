"""Time beyond limits, lowest and highest of each lap, and where."""

import numpy as np
import pytest
from car_worlds import places, watched

from lapwright.car.limits_held import car_table, hold
from lapwright.car.watched import Watched
from lapwright.notes.limits import Limit


def _oil() -> Watched:
    value = np.full(400, 4.0)  # two laps of 100 s, two values a second
    value[40:50] = 1.5  # from 20 s on, which is 600 m: the exit of corner 1
    value[340] = 1.9  # at 170 s: lap 2, 2100 m
    return watched(value + 1e-4 * (np.arange(400) % 2), "oil_pressure", "bar")


def test_time_beyond_and_where() -> None:
    oil = _oil()
    held, said = hold([oil], [Limit("oil_pressure", low=2.0)])
    assert said == ()
    table = car_table([oil], held, places(2)).set_index("lap")
    # Ten values of half a second each, then one.
    assert list(table["beyond_s"]) == [5.0, 0.5]
    # It begins and ends between two values: sqrt(2 / 12) of half a second.
    assert table.loc[1, "beyond_sd_s"] == pytest.approx(0.5 * (2.0 / 12.0) ** 0.5, rel=1e-3)
    assert list(table["beyond_station_m"]) == [600.0, 2100.0]
    assert list(table["beyond_corner"]) == [1, 2]
    assert table.loc[1, "lowest"] == 1.5
    assert list(table["lowest_station_m"]) == [600.0, 2100.0]
    assert table.loc[2, "highest"] == pytest.approx(4.0001)


def test_a_value_near_the_limit_makes_the_time_doubtful() -> None:
    rng = np.random.default_rng(2)
    near = watched(2.0 + rng.normal(0.0, 0.1, 200), "oil_pressure")
    far = watched(3.0 + rng.normal(0.0, 0.1, 200), "oil_pressure")
    bars = []
    for channel in (near, far):
        held, _ = hold([channel], [Limit("oil_pressure", low=2.0)])
        bars.append(held[0].time_beyond(slice(0, 200))[1])
    # Each of 200 values is above or below by chance: at most sqrt(200) / 2 of half a second.
    assert 2.0 < bars[0] < 6.0
    assert bars[1] < 1e-4


def test_a_limit_that_counts_from_an_engine_speed_on() -> None:
    oil = _oil()
    rpm = watched(np.where(np.arange(400) < 45, 5000.0, 2000.0), "rpm")
    held, _ = hold([oil, rpm], [Limit("oil_pressure", low=2.0, above_rpm=3000.0)])
    table = car_table([oil], held, places(2)).set_index("lap")
    # Of the ten values five are above 3000 rpm, the single one of lap 2 is not.
    assert list(table["beyond_s"]) == [2.5, 0.0]


def test_both_sides_and_a_column_by_its_own_name() -> None:
    volts = watched(np.r_[np.full(100, 13.0), np.full(20, 15.5), np.full(80, 11.0)], "battery", "V")
    held, _ = hold([volts], [Limit("battery", low=12.0, high=15.0)])
    assert [one.side for one in held] == ["below", "above"]
    assert [one.time_beyond(slice(0, 200))[0] for one in held] == [40.0, 10.0]
    assert car_table([volts], held, places(1))["beyond_s"].iloc[0] == 50.0


def test_limits_that_cannot_be_held_are_named() -> None:
    oil = _oil()
    limits = [Limit("battery", low=12.0), Limit("oil_pressure", low=30.0, unit="psi"),
              Limit("oil_pressure", low=2.0, above_rpm=3000.0)]  # fmt: skip
    held, said = hold([oil], limits)
    assert held == ()
    assert "no column for 'battery'" in said[0]
    assert "is in psi, the column 'oil_pressure' in bar" in said[1]
    assert "needs engine speed" in said[2]


def test_without_a_limit_there_is_no_time_beyond() -> None:
    table = car_table([_oil()], [], places(2))
    assert table["beyond_s"].isna().all()
    assert car_table([], [], places(2)).empty
