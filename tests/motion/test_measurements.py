"""From a log's columns to measurements with variances."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.ingest.log import Log
from lapwright.motion.measurements import measurements, slow, slow_speed_sd_mps
from lapwright.plane import Plane

PLANE = Plane(50.0, 10.0)


def log_of(n: int = 40, **columns: object) -> Log:
    """A car driving north at 20 m/s, 10 fixes a second."""
    time = 0.1 * np.arange(n)
    # One degree of latitude at 50 degrees is 111 229 m (WGS 84).
    fixes = pd.DataFrame(
        {
            "line": np.arange(n) + 2,
            "time_s": time,
            "lat_deg": 50.0 + 20.0 * time / 111_229.0,
            "lon_deg": np.full(n, 10.0),
            "frozen": np.zeros(n, dtype=bool),
        }
    ).assign(**columns)
    return Log(Path("a.csv"), "csv", fixes, fixes[["line", "time_s"]], "relative", 0.0, None, 10.0)


def test_positions_alone() -> None:
    m = measurements(log_of(), PLANE)
    assert m.kind == "none"
    assert len(m) == 40
    assert m.stated_sd_m is None
    assert np.isinf(m.velocity_factor).all()
    np.testing.assert_allclose(m.position_m[:, 0], 0.0, atol=1e-6)
    np.testing.assert_allclose(np.diff(m.position_m[:, 1]), 2.0, atol=1e-3)
    np.testing.assert_array_equal(m.position_factor, 1.0)


def test_speed_without_course_is_along_the_way() -> None:
    m = measurements(log_of(speed_mps=np.full(40, 20.0)), PLANE)
    assert m.kind == "speed"
    np.testing.assert_array_equal(m.speed_mps, 20.0)
    np.testing.assert_array_equal(m.velocity_mps, 0.0)


@pytest.mark.parametrize(
    ("course_deg", "east", "north"), [(0.0, 0, 20), (90.0, 20, 0), (180.0, 0, -20), (270.0, -20, 0)]
)
def test_course_is_clockwise_from_north(course_deg: float, east: float, north: float) -> None:
    columns = {"speed_mps": np.full(40, 20.0), "course_deg": np.full(40, course_deg)}
    m = measurements(log_of(**columns), PLANE)
    assert m.kind == "vector"
    np.testing.assert_allclose(m.velocity_mps, np.tile([east, north], (40, 1)), atol=1e-12)


def test_a_standing_car_needs_no_course() -> None:
    speed, course = np.full(40, 20.0), np.full(40, 45.0)
    speed[:5], course[:5] = 0.1, np.nan
    course[20] = np.nan
    m = measurements(log_of(speed_mps=speed, course_deg=course), PLANE)
    assert np.isfinite(m.velocity_factor[:5]).all()
    assert np.isinf(m.velocity_factor[20])


def test_a_course_that_is_mostly_missing_is_no_vector() -> None:
    course = np.full(40, np.nan)
    course[:5] = 10.0
    assert (
        measurements(log_of(speed_mps=np.full(40, 9.0), course_deg=course), PLANE).kind == "speed"
    )


def test_missing_speeds_and_empty_columns() -> None:
    speed = np.full(40, 20.0)
    speed[7] = np.nan
    m = measurements(log_of(speed_mps=speed), PLANE)
    assert np.flatnonzero(np.isinf(m.velocity_factor)).tolist() == [7]
    assert measurements(log_of(speed_mps=np.full(40, np.nan)), PLANE).kind == "none"


def test_frozen_fixes_are_no_news() -> None:
    frozen = np.zeros(40, dtype=bool)
    frozen[11:14] = True
    m = measurements(log_of(frozen=frozen, speed_mps=np.full(40, 20.0)), PLANE)
    for factor in (m.position_factor, m.velocity_factor):
        assert np.flatnonzero(np.isinf(factor)).tolist() == [11, 12, 13]


def test_accuracy_column_is_relative_to_its_median() -> None:
    sd = np.full(40, 1.5)
    sd[3], sd[4], sd[5], sd[6], sd[7] = 3.0, 1e9, 1e-9, np.nan, 0.0
    m = measurements(log_of(position_sd_m=sd, speed_mps=20.0, speed_sd_mps=sd), PLANE)
    assert m.stated_sd_m == 1.5
    for factor in (m.position_factor, m.velocity_factor):
        # Twice the sd; an absurd value is taken as 100 times or half; no value as usual.
        np.testing.assert_allclose(factor[2:9], [1.0, 4.0, 1e4, 0.25, 1.0, 1.0, 1.0])


def test_weights_multiply_and_velocity_can_be_left_out() -> None:
    m = measurements(log_of(speed_mps=np.full(40, 20.0)), PLANE)
    twice = m.weighted(np.full(40, 2.0), np.full(40, 3.0)).weighted(np.full(40, 2.0), np.ones(40))
    np.testing.assert_array_equal(twice.position_factor, 4.0)
    np.testing.assert_array_equal(twice.velocity_factor, 3.0)
    assert m.without_velocity().kind == "none"
    assert m.kind == "speed"


def test_slow_speeds() -> None:
    m = measurements(log_of(speed_mps=np.linspace(0.0, 3.9, 40)), PLANE)
    np.testing.assert_array_equal(slow(m), m.speed_mps < 2.0)
    # A slow car's velocity is zero give or take its speed and three decimetres a second.
    np.testing.assert_allclose(slow_speed_sd_mps(m), m.speed_mps + 0.3)
