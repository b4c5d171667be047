"""The solver against closed forms, all to half a per cent."""

import numpy as np
import pytest

from lapwright.achievable.solver import Limits, lap_times, steady_lap

STEP_M = 2.5
# What the page on the method promises of the solver.
TOLERANCE = 0.005
# So many steps from the hairpin its grip is no longer asked for.
FROM = 4


def limits(count: int, *, lateral: float, braking: float, push: float, power: float, drag: float):
    ones = np.ones((count, 1))
    return Limits(lateral * ones, braking * ones, push * ones, power * ones, drag)


def hairpin_and_straight(length_m: float, radius_m: float) -> tuple[np.ndarray, np.ndarray]:
    """A straight with one tight step at its begin, which sets the speed there."""
    count = round(length_m / STEP_M)
    bend = np.zeros(count)
    bend[0] = 1.0 / radius_m
    return np.full(count, STEP_M), bend


def test_circle_at_constant_grip() -> None:
    # v² = a r: Milliken and Milliken, Race Car Vehicle Dynamics, ch. 1 (from memory).
    radius, accel = 50.0, 9.0
    count = round(2 * np.pi * radius / STEP_M)
    step = np.full(count, 2 * np.pi * radius / count)
    free = limits(count, lateral=accel, braking=9.0, push=9.0, power=1e4, drag=0.0)
    time = lap_times(step, steady_lap(step, np.full(count, 1 / radius), free)).sum()
    assert time == pytest.approx(2 * np.pi * radius / np.sqrt(accel * radius), rel=TOLERANCE)


def test_straight_with_power_and_drag() -> None:
    # d(v³)/dx = 3 (P - k v³): v³ = P/k - (P/k - u³) exp(-3 k x), by hand.
    power, drag, radius, lateral = 120.0, 1.0e-3, 10.0, 9.0
    step, bend = hairpin_and_straight(1500.0, radius)
    car = limits(len(step), lateral=lateral, braking=1e4, push=1e4, power=power, drag=drag)
    speed = steady_lap(step, bend, car)[FROM:-FROM, 0]
    x = np.arange(len(speed)) * STEP_M
    closed = np.cbrt(power / drag - (power / drag - speed[0] ** 3) * np.exp(-3 * drag * x))
    assert speed == pytest.approx(closed, rel=TOLERANCE)


def test_constant_push_without_drag() -> None:
    # v² = u² + 2 a x, by hand.
    step, bend = hairpin_and_straight(800.0, 10.0)
    car = limits(len(step), lateral=9.0, braking=1e4, push=3.0, power=1e9, drag=0.0)
    speed = steady_lap(step, bend, car)[FROM:-FROM, 0]
    closed = np.sqrt(speed[0] ** 2 + 2 * 3.0 * np.arange(len(speed)) * STEP_M)
    assert speed == pytest.approx(closed, rel=TOLERANCE)


@pytest.mark.parametrize("drag", [0.0, 1.0e-3])
def test_stopping_way(drag: float) -> None:
    # d(v²)/dx = -2 (b + k v²): x = ln((b + k v²) / (b + k u²)) / 2k; v²/2b without drag. By hand.
    braking = 8.0
    step, bend = hairpin_and_straight(800.0, 1.0)
    car = limits(len(step), lateral=9.0, braking=braking, push=1e4, power=1e9, drag=drag)
    speed = steady_lap(step, bend, car)[FROM:-FROM, 0]
    way = (len(speed) - 1 - np.arange(len(speed))) * STEP_M
    far = (way > 40.0) & (speed < 140.0)
    v2, u2 = speed[far] ** 2, speed[-1] ** 2
    if drag:
        closed = np.log((braking + drag * v2) / (braking + drag * u2)) / (2 * drag)
    else:
        closed = (v2 - u2) / (2 * braking)
    assert closed == pytest.approx(way[far], rel=TOLERANCE)


def test_the_lap_closes_wherever_it_begins() -> None:
    step, bend = hairpin_and_straight(900.0, 12.0)
    bend[140:170] = 1 / 40.0
    car = limits(len(step), lateral=9.0, braking=8.0, push=4.0, power=120.0, drag=7e-4)
    speed = steady_lap(step, bend, car)
    turned = steady_lap(step, np.roll(bend, 100), car)
    assert np.roll(turned, -100, axis=0) == pytest.approx(speed, rel=1e-9)


def test_no_corner_that_limits_still_settles() -> None:
    # Where power and drag balance: v = (P/k)^(1/3), by hand.
    count = 2000
    step = np.full(count, STEP_M)
    car = limits(count, lateral=9.0, braking=8.0, push=4.0, power=64.0, drag=1e-3)
    speed = steady_lap(step, np.full(count, 1e-4), car)
    assert speed == pytest.approx(40.0, rel=TOLERANCE)


def test_variants_side_by_side_are_the_same_as_one_by_one() -> None:
    step, bend = hairpin_and_straight(900.0, 12.0)
    one = limits(len(step), lateral=9.0, braking=8.0, push=4.0, power=120.0, drag=7e-4)
    two = limits(len(step), lateral=8.0, braking=7.0, push=4.0, power=120.0, drag=7e-4)
    names = ("lateral_mps2", "braking_mps2", "traction_mps2", "power_wpkg")
    both = Limits(*(np.hstack([getattr(one, n), getattr(two, n)]) for n in names), 7e-4)
    speed = steady_lap(step, bend, both)
    assert speed[:, :1] == pytest.approx(steady_lap(step, bend, one))
    assert speed[:, 1:] == pytest.approx(steady_lap(step, bend, two))


def test_no_step_is_so_long_that_the_car_stands() -> None:
    # As of a log with a hole of minutes in a lap: drag would take off more than there is.
    step, bend = hairpin_and_straight(900.0, 12.0)
    step[100] = 5.0e4
    car = limits(len(step), lateral=9.0, braking=8.0, push=4.0, power=120.0, drag=7e-4)
    speed = steady_lap(step, bend, car)
    assert (speed >= 1.0).all()
    assert np.isfinite(lap_times(step, speed)).all()
