"""Oil pressure in long corners against straights at the same engine speed."""

from typing import Any

import numpy as np
import pytest
from car_worlds import places, watched

from lapwright.car.oil_in_corners import oil_in_corners
from lapwright.motion import Motion

TIME = np.arange(0.0, 800.0, 0.1)
STATION = (30.0 * TIME) % 3000.0
# Long, from 2000 to 2200 m (corner 2), and short, from 550 to 590 m (1.3 s in corner 1).
IN_TWO, IN_ONE = (STATION > 2000.0) & (STATION < 2200.0), (STATION > 550.0) & (STATION < 590.0)
REVS = 4500.0 + 1200.0 * np.sin(TIME / 7.0)
RNG = np.random.default_rng(3)


class _Turning:
    """A motion that is nothing but lateral acceleration."""

    start_s, end_s = 0.0, float(TIME[-1])

    def at(self, time_s: np.ndarray) -> Any:
        lateral = np.where(IN_TWO, -9.0, 0.0) + np.where(IN_ONE, 9.0, 0.0)
        state: Any = type("State", (), {})()
        state.accel_lat_mps2 = np.interp(time_s, TIME, lateral)
        return state


def _found(lost: np.ndarray, late_s: float = 0.0, revs: np.ndarray = REVS) -> Any:
    # Warm oil gives less: the whole falls by 1 bar over the session, which is not the corner's.
    true = np.minimum(4.6, 0.7 + 0.62e-3 * np.interp(TIME - late_s, TIME, revs))
    value = true - TIME / 800.0 - lost + RNG.normal(0.0, 0.04, len(TIME))
    oil, rpm = watched(value, "oil_pressure", "bar", 0.1), watched(revs, "rpm", "", 0.1)
    motion: Any = _Turning()
    assert isinstance(Motion, type)
    return oil_in_corners(oil, rpm, motion, places())


def test_what_is_lost_in_a_long_corner_is_found_with_its_interval() -> None:
    (found,) = _found(np.where(IN_TWO, 0.6, 0.0))
    assert found.corner == 2
    assert found.laps == tuple(range(1, 9))
    assert found.difference == pytest.approx(-0.6, abs=0.03)
    assert found.low95 < -0.6 < found.high95
    assert found.is_low
    assert 2000.0 < found.station_m < 2200.0


def test_nothing_lost_is_nothing_found_though_the_oil_grows_thin() -> None:
    (found,) = _found(np.zeros(len(TIME)))
    assert found.difference == pytest.approx(0.0, abs=0.03)
    assert not found.is_low


def test_less_than_gauges_do_is_no_warning() -> None:
    # 0.1 of about 3 bar is 3 %: known for sure, and still not 5 %.
    (found,) = _found(np.where(IN_TWO, 0.1, 0.0))
    assert found.high95 < 0.0
    assert not found.is_low


def test_a_gauge_that_is_late_is_allowed_for() -> None:
    # Engine speed rises in the corner on every lap, by 250 rpm a second: a gauge that is 0.8 s late
    # shows 0.12 bar less there than on straights, where it rises and falls.
    revs = 4500.0 + 1000.0 * np.sin(8.0 * np.pi * (STATION - 2100.0) / 3000.0)
    (found,) = _found(np.zeros(len(TIME)), late_s=0.8, revs=revs)
    assert abs(found.difference) < 0.05


def test_a_short_corner_is_not_looked_at() -> None:
    assert [one.corner for one in _found(np.where(IN_ONE, 1.0, 0.0))] == [2]
