"""Flags from trajectories made by hand on a circle of 100 m."""

import numpy as np
import pytest

from lapwright.geometry import ReferencePath
from lapwright.laps.lap_flags import lap_flags
from lapwright.laps.track_mapping import TrackMapping

RADIUS_M, SPEED_MPS, STEP_S = 100.0, 20.0, 0.1


def circle(angle: np.ndarray, radius: np.ndarray | float = RADIUS_M) -> np.ndarray:
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def mapped(angle: np.ndarray, radius: np.ndarray | float = RADIUS_M) -> TrackMapping:
    around = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    path = ReferencePath(*circle(around).T)
    position = circle(angle, radius)
    time = np.arange(len(angle)) * STEP_S
    speed = np.linalg.norm(np.gradient(position, STEP_S, axis=0), axis=1)
    aside = np.broadcast_to(RADIUS_M - np.asarray(radius), angle.shape)
    return TrackMapping(
        path, time, position, speed, angle * RADIUS_M, aside, aside, speed / SPEED_MPS,
        np.zeros(len(angle), dtype=bool),
    )  # fmt: skip


def even() -> np.ndarray:
    return np.arange(0.0, 2.0 * np.pi, SPEED_MPS * STEP_S / RADIUS_M)


def test_a_plain_lap_has_no_flags() -> None:
    lap = mapped(even())
    assert lap_flags(lap, 0.0, lap.time_s[-1]) == []


def test_across_the_chord_is_a_short_cut_and_off_the_path() -> None:
    angle = even()
    # The chord of a quarter circle: 141.4 m for 157.1 m of circuit.
    cut = (angle > 1.0) & (angle < 1.0 + np.pi / 2.0)
    middle = 1.0 + np.pi / 4.0
    radius = np.where(cut, RADIUS_M * np.cos(np.pi / 4.0) / np.cos(angle - middle), RADIUS_M)
    lap = mapped(angle, radius)
    assert {"off_path", "short_cut"} <= set(lap_flags(lap, 0.0, lap.time_s[-1]))


def test_wide_is_off_the_path_but_no_short_cut() -> None:
    angle = even()
    radius = RADIUS_M + 12.0 * np.exp(-(((angle - 3.0) / 0.3) ** 2))
    flags = lap_flags(mapped(angle, radius), 0.0, 40.0)
    assert "off_path" in flags
    assert "short_cut" not in flags


@pytest.mark.parametrize(("back_m", "flagged"), [(30.0, True), (5.0, False)])
def test_going_back_along_the_circuit(back_m: float, flagged: bool) -> None:
    there = even()[:100]
    back = there[-1] - np.arange(0.0, back_m / RADIUS_M, 0.01)
    again = np.arange(back[-1], 2.0 * np.pi, 0.02)
    lap = mapped(np.concatenate([there, back, again]))
    assert ("reversed" in lap_flags(lap, 0.0, lap.time_s[-1])) is flagged


def test_standing_for_two_seconds_is_a_stop() -> None:
    angle = np.concatenate([even()[:100], np.full(21, even()[100]), even()[100:]])
    lap = mapped(angle)
    assert "stop" in lap_flags(lap, 0.0, lap.time_s[-1])


def stopping(decel_mps2: float, back_m: float) -> TrackMapping:
    """Stop at a steady rate, roll back in three seconds, stand, and drive on."""
    slowing = SPEED_MPS - np.arange(0.0, SPEED_MPS, decel_mps2 * STEP_S)
    rolling = np.full(30, -back_m / 3.0) + 1e-9
    speed = np.concatenate([np.full(60, SPEED_MPS), slowing, rolling, np.zeros(30),
                            np.full(200, SPEED_MPS)])  # fmt: skip
    return mapped(np.cumsum(speed) * STEP_S / RADIUS_M)


# At 8 m/s2 a car stops within 2.5 s of 20 m/s, at 2 m/s2 in 10: from 6 m/s in the last 3 s.
@pytest.mark.parametrize(
    ("decel_mps2", "back_m", "flagged"),
    [(8.0, 2.6, True), (8.0, 1.0, False), (2.0, 2.6, False)],
)
def test_stopping_hard_and_rolling_back_is_a_spin(
    decel_mps2: float, back_m: float, flagged: bool
) -> None:
    lap = stopping(decel_mps2, back_m)
    assert ("spin" in lap_flags(lap, 0.0, lap.time_s[-1])) is flagged


def test_pushed_back_into_the_box_is_no_spin() -> None:
    lap = stopping(8.0, 2.6)
    assert "spin" not in lap_flags(lap, 0.0, lap.time_s[-1], pit_lap=True)


def test_a_missing_second_and_a_half_is_a_gap() -> None:
    whole = mapped(even())
    keep = np.ones(len(whole.time_s), dtype=bool)
    keep[50:65] = False
    parts = {
        name: getattr(whole, name)[keep]
        for name in ("time_s", "position_m", "speed_mps", "station_m", "offset_m", "aside_m",
                     "slowness", "lost")
    }  # fmt: skip
    assert "gap" in lap_flags(TrackMapping(whole.path, **parts), 0.0, whole.time_s[-1])
