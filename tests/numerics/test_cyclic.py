"""Distances on a closed path do not depend on which lap a station is counted in."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright.numerics.cyclic import cyclic_difference, distance_ahead, on_lap_near

LENGTH_M = 1000.0
stations = st.floats(-5e3, 5e3)
laps = st.integers(-5, 5)


def test_the_shorter_way_crosses_the_line() -> None:
    # On a lap of 1000 m, 10 m after the line is 30 m ahead of 20 m before it, by hand.
    assert cyclic_difference(10.0, 980.0, LENGTH_M) == 30.0
    assert cyclic_difference(980.0, 10.0, LENGTH_M) == -30.0
    assert distance_ahead(10.0, 980.0, LENGTH_M) == 30.0
    assert distance_ahead(980.0, 10.0, LENGTH_M) == 970.0


def test_what_is_near_is_not_changed_by_a_digit() -> None:
    value = np.array([0.1, 123.456789, 499.9])
    np.testing.assert_array_equal(on_lap_near(value, 0.0, LENGTH_M), value)


@given(stations, stations, laps)
def test_laps_make_no_difference(value: float, other: float, whole: int) -> None:
    moved = value + whole * LENGTH_M
    found = cyclic_difference(moved, other, LENGTH_M)
    assert abs(found) <= LENGTH_M / 2 + 1e-9
    # The same place: found and wanted differ by whole laps only, at half a lap by one.
    assert np.cos(2 * np.pi * (found - (value - other)) / LENGTH_M) == pytest.approx(1.0)
    ahead = float(distance_ahead(moved, other, LENGTH_M))
    assert 0.0 <= ahead <= LENGTH_M
    assert np.cos(2 * np.pi * (ahead - float(found)) / LENGTH_M) == pytest.approx(1.0)


@given(stations, stations)
def test_the_lap_nearest_to_another_station(value: float, near: float) -> None:
    found = float(on_lap_near(value, near, LENGTH_M))
    assert abs(found - near) <= LENGTH_M / 2 + 1e-9
    assert (found - value) / LENGTH_M == pytest.approx(round((found - value) / LENGTH_M), abs=1e-9)
