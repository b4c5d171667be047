"""What is asked of times and positions before they are believed to be a drive."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.ingest.csv.inference.drive_evidence import comes_round, fit_speed, motion_of

RADIUS_M, SPEED_MPS = 120.0, 25.0
METRES_PER_DEGREE = 111_320.0


def motion(east_m, north_m, step_s: float = 0.1):
    """Put a path on the equator, where both degrees are equally long."""
    time_ns = np.rint(np.arange(len(east_m)) * step_s * 1e9).astype(np.int64)
    return motion_of(time_ns, north_m / METRES_PER_DEGREE, east_m / METRES_PER_DEGREE)


def circle(seconds: float, step_s: float = 0.1):
    angle = np.arange(0.0, seconds, step_s) * SPEED_MPS / RADIUS_M
    return RADIUS_M * np.sin(angle), RADIUS_M * np.cos(angle)


def test_a_circle_by_hand() -> None:
    seen = motion(*circle(60.0))
    assert seen.interval_s == pytest.approx(0.1)
    # In a second it turns by 25 / 120 rad: the chord is 240 sin(25 / 240), and the next one lies
    # at that angle to it.
    assert seen.top_mps == pytest.approx(240 * np.sin(25 / 240), rel=1e-3)
    assert seen.steady == pytest.approx(np.cos(25 / 120), abs=0.01)
    assert seen.is_a_drive()


@pytest.mark.parametrize(
    "wrong",
    [{"interval_s": 0.005}, {"interval_s": 6.0}, {"top_mps": 7.0}, {"top_mps": 111.0},
     {"steady": 0.3}, {"top_mps": np.nan}, {"steady": np.nan}],
)  # fmt: skip
def test_every_limit_is_held(wrong) -> None:
    assert not replace(motion(*circle(60.0)), **wrong).is_a_drive()


@pytest.mark.parametrize("scale", [(0.05, 0.05), (500.0, 500.0), (1.0, 0.02)])
def test_a_course_is_neither_tiny_nor_huge_nor_a_line(scale) -> None:
    seen = motion(*circle(60.0))
    assert not replace(seen, place_m=seen.place_m * scale).is_a_drive()


def test_noise_and_random_walks_are_not_steady() -> None:
    rng = np.random.default_rng(2)
    noise = rng.normal(0, 10, (2, 5000))
    # Steps a and b share one noise value with opposite sign: a correlation of -1/2.
    assert motion(*noise).steady == pytest.approx(-0.5, abs=0.1)
    assert motion(*np.cumsum(noise, axis=1)).steady == pytest.approx(0.0, abs=0.15)


def test_rows_out_of_order_and_without_position_are_left_out() -> None:
    east, north = circle(60.0)
    time_ns = np.rint(np.arange(len(east)) * 1e8).astype(np.int64)
    time_ns[100] = 0
    lat, lon = north / METRES_PER_DEGREE, east / METRES_PER_DEGREE
    lat[50], lat[200], lon[200] = np.nan, 0.0, 0.0
    seen = motion_of(time_ns, lat, lon)
    assert sorted(set(range(len(east))) - set(seen.row.tolist())) == [50, 100, 200]
    assert motion_of(time_ns[:29], lat[:29], lon[:29]) is None


def test_only_a_second_lap_comes_round() -> None:
    lap_s = 2 * np.pi * RADIUS_M / SPEED_MPS
    assert comes_round(motion(*circle(2 * lap_s)))
    assert not comes_round(motion(*circle(0.9 * lap_s)))
    # There and back again on one road is no second lap.
    east, north = circle(0.6 * lap_s)
    assert not comes_round(motion(np.append(east, east[::-1]), np.append(north, north[::-1])))
    assert not comes_round(motion(*circle(20 * lap_s, 2.0), step_s=2.0))


def test_a_speed_must_vary_by_more_than_it_is_off() -> None:
    t = np.arange(0.0, 120.0, 0.1)
    pace = 25 + 10 * np.sin(t / 5)
    angle = np.cumsum(pace) * 0.1 / RADIUS_M
    seen = motion(RADIUS_M * np.sin(angle), RADIUS_M * np.cos(angle))
    assert fit_speed(pace * 3.6, seen).unit == "km/h"
    assert fit_speed(pace * 3.6, seen, "km/h").ratio == pytest.approx(1 / 3.6, rel=0.02)
    assert fit_speed(pace * 3.6, seen, "mph") is None
    # 2.9 is no unit, and rpm that only rise and fall otherwise are no speed.
    assert fit_speed(pace * 2.9, seen) is None
    assert fit_speed(25 + 10 * np.sin(t / 5 + 1), seen, named=True) is None
    steady = motion(*circle(60.0))
    rng = np.random.default_rng(3)
    nearly = SPEED_MPS * (1 + 0.01 * rng.normal(size=len(steady.row)).cumsum() / 20)
    assert fit_speed(nearly, steady) is None
    assert fit_speed(nearly, steady, named=True).unit == "m/s"
