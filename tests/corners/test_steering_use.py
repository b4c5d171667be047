"""Steering: waves with a known number of turns, the wheel's zero, holes."""

import numpy as np
import pytest

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.steering_use import reversals, steering_use, straight_ahead
from lapwright.laps.lap_trace import LapTrace

TIME = np.arange(0.0, 6.0, 0.05)


def wheel(value: np.ndarray, zero: float = 0.0, span: float = 100.0) -> Channel:
    return Channel("wheel", TIME, value, zero, span, "deg")


def test_turning_in_and_out_is_no_correction() -> None:
    # A sine's half wave turns back once, at its top.
    value = np.sin(np.pi * TIME / 6.0)
    assert reversals(value, 0.03) == 1
    assert steering_use(wheel(value), 0.0, 5.9, 0.0) == (pytest.approx(100.0, abs=0.1), 0.0)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_dip_in_the_middle_is_two_turns_more(count: int) -> None:
    # Each triangle of 0.2 cut out of a flat top: down, up again; with the first turn at the top.
    value = np.clip(TIME, 0.0, 1.0) - np.clip(TIME - 5.0, 0.0, 1.0)
    for k in range(count):
        value = value - 0.2 * np.clip(1.0 - np.abs(TIME - 1.8 - k) / 0.3, 0.0, 1.0)
    assert steering_use(wheel(value), 0.0, 5.9, 0.0)[1] == 2 * count


def test_noise_is_no_correction() -> None:
    noise = np.random.default_rng(5).normal(0.0, 0.01, len(TIME))
    value = np.sin(np.pi * TIME / 6.0) + noise
    assert wheel(value).noise == pytest.approx(0.01, rel=0.4)
    assert steering_use(wheel(value), 0.0, 5.9, 0.0)[1] == 0.0
    # Without the limit the same noise turns back all the time.
    assert reversals(value, 0.0) > 20


def test_the_furthest_counts_to_either_side_from_straight_ahead() -> None:
    value = 0.5 - 0.3 * np.sin(np.pi * TIME / 6.0)
    peak, _ = steering_use(wheel(value, zero=-40.0, span=80.0), 0.0, 5.9, 0.5)
    assert peak == pytest.approx(0.3 * 80.0, abs=0.1)


def test_a_hole_says_nothing() -> None:
    keep = (TIME < 2.0) | (TIME > 3.0)
    holed = Channel("wheel", TIME[keep], np.sin(TIME[keep]), 0.0, 1.0)
    assert np.isnan(steering_use(holed, 1.0, 4.0, 0.0)).all()
    assert np.isfinite(steering_use(holed, 3.1, 5.0, 0.0)).all()


def trace(accel_lat_mps2: np.ndarray, speed_mps: float = 30.0) -> LapTrace:
    """A lap of 6 s with a given lateral acceleration."""
    none, speed = np.zeros(len(TIME)), np.full(len(TIME), speed_mps)
    return LapTrace(
        1, 0.0, 5.95, speed_mps * 5.95, TIME, speed_mps * TIME, none, none, none, speed, none,
        accel_lat_mps2, none,
    )  # fmt: skip


def test_straight_ahead_is_what_it_reads_where_the_car_goes_straight() -> None:
    # Straight for the first 4 s, where the wheel reads 0.4; then a bend.
    bend = np.where(TIME < 4.0, 0.1, 5.0)
    steering = wheel(np.where(TIME < 4.0, 0.4, 0.9))
    assert straight_ahead(steering, [trace(bend)]) == pytest.approx(0.4, abs=1e-9)
    assert np.isnan(straight_ahead(steering, [trace(np.full(len(TIME), 5.0))]))
    assert np.isnan(straight_ahead(steering, [trace(bend, speed_mps=5.0)]))
    assert np.isnan(straight_ahead(steering, []))
