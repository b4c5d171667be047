"""Least squares on two motions: what each row changes by, and error bars where they do not fit."""

from typing import Any

import numpy as np
import pytest

from lapwright.motion.motion_state import MotionState
from lapwright.two_logs.refine import _design, _directions, _honest, _mean

# A circle of 100 m at 25 m/s, on which the speed rises by 0.5 m/s every second.
RADIUS_M, SPEED_MPS, RISE_MPS2 = 100.0, 25.0, 0.5


class _Circle:
    """The receiver may sit further ahead, further left, further east, or be late."""

    def __init__(
        self, late_s: float = 0.0, rate: float = 0.0, east_m: float = 0.0, ahead_m: float = 0.0,
        left_m: float = 0.0,
    ) -> None:  # fmt: skip
        self.late_s, self.rate, self.east_m = late_s, rate, east_m
        self.ahead_m, self.left_m = ahead_m, left_m

    def _place(self, t: np.ndarray) -> np.ndarray:
        t = t + self.late_s + self.rate * (t - 10.0)
        angle = (SPEED_MPS * t + 0.5 * RISE_MPS2 * t**2) / RADIUS_M
        ahead = np.stack([-np.sin(angle), np.cos(angle)], axis=1)
        left = np.stack([-np.cos(angle), -np.sin(angle)], axis=1)
        centre = RADIUS_M * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        shift = np.array([self.east_m, 0.0])
        return centre + shift + self.ahead_m * ahead + self.left_m * left

    def at(self, time_s: Any) -> MotionState:
        t, h = np.asarray(time_s, dtype=np.float64), 1e-3
        before, here, after = (self._place(t + k * h) for k in (-1, 0, 1))
        # Velocities count seconds of the receiver's own clock.
        h *= 1.0 + self.rate
        return MotionState(t, here, (after - before) / (2 * h), (after - 2 * here + before) / h**2)


@pytest.mark.parametrize(
    ("column", "moved", "by"),
    [
        (0, _Circle(late_s=1e-4), 1e-4), (1, _Circle(rate=1e-5), 1e-5),
        (2, _Circle(east_m=0.01), 0.01), (4, _Circle(ahead_m=0.01), 0.01),
        (5, _Circle(left_m=0.01), 0.01),
    ],
)  # fmt: skip
def test_each_row_changes_as_the_motion_does(column: int, moved: _Circle, by: float) -> None:
    moments = np.linspace(5.0, 15.0, 9)
    time_s = np.concatenate([moments, moments])
    one: Any = _Circle()
    weights = _directions(one, moments)
    state = one.at(time_s)
    columns = np.concatenate([state.position_m, state.velocity_mps, state.accel_mps2], axis=1)
    design = _design(one, weights, columns, time_s - 10.0)
    other: Any = moved
    change = (_mean(other, time_s, weights) - _mean(one, time_s, weights)) / by
    # To the first order; a receiver further left also goes a little slower as the car speeds up.
    assert design[:, column] == pytest.approx(change, rel=0.03, abs=0.03)


def test_error_bars_grow_where_the_motions_do_not_fit() -> None:
    rng = np.random.default_rng(1)
    white = rng.normal(size=(320, 6))
    inverse = np.linalg.inv(white.T @ white)
    good = rng.normal(size=320)
    assert _honest(inverse, white, good, 0.9) == pytest.approx(inverse[:2, :2])
    # Three times the size: nine times the variance, whatever the neighbours say at least.
    wide = _honest(inverse, white, 3.0 * good, 9.0)
    assert (np.diag(wide) >= 9.0 * np.diag(inverse)[:2] * (1 - 1e-12)).all()
    # The same error on eight neighbours weighs as one, not as eight.
    shared = np.repeat(rng.normal(size=20), 8)
    same = np.repeat(white[:20], 8, axis=0)
    same = np.concatenate([same, same])
    inverse = np.linalg.inv(same.T @ same)
    lasting = _honest(inverse, same, 2.0 * np.concatenate([shared, shared]), 4.0)
    assert (np.diag(lasting) > 4.0 * 4.0 * np.diag(inverse)[:2]).all()
    assert lasting == pytest.approx(lasting.T)
