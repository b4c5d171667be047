"""A speed that is not what the positions do is noticed; an honest one is not."""

import numpy as np
import pytest

from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.speed_consistency import disagreement

WHITE_M = 0.05


def running(wrong_mps: np.ndarray | float, white_m: float = WHITE_M) -> Measurements:
    """A straight way at about 7 m/s, 10 Hz, four minutes."""
    rng = np.random.default_rng(3)
    t = np.arange(0.0, 240.0, 0.1)
    speed = 7.0 + 0.5 * np.sin(t / 15.0)
    way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * 0.1)])
    position = np.stack([way, np.zeros_like(way)], axis=-1)
    position = position + white_m * rng.standard_normal(position.shape)
    ones = np.ones(len(t))
    return Measurements(
        t, position, ones, "speed", np.zeros((len(t), 2)), speed + wrong_mps, ones, None
    )


def test_an_honest_speed_agrees() -> None:
    rng = np.random.default_rng(4)
    assert disagreement(running(0.05 * rng.standard_normal(2400)), WHITE_M) is None


@pytest.mark.parametrize("period_s", [4.0, 12.0])
def test_a_speed_that_sways_is_noticed_with_its_size(period_s: float) -> None:
    t = np.arange(0.0, 240.0, 0.1)
    found = disagreement(running(0.5 * np.sin(2.0 * np.pi * t / period_s)), WHITE_M)
    assert found is not None
    # A sine of amplitude 0.5 has an sd of 0.35; a median of it is 1.4826 x 0.354 = 0.52, less what
    # a window of a second averages away.
    assert found.sd_mps == pytest.approx(0.5, rel=0.25)
    # Its autocorrelation, a cosine, falls to 1/e after 0.19 of the period.
    assert found.tau_s == pytest.approx(max(0.19 * period_s, 0.6), rel=0.35)


def test_poor_positions_cannot_tell() -> None:
    t = np.arange(0.0, 240.0, 0.1)
    assert disagreement(running(0.2 * np.sin(t), white_m=1.0), 1.0) is None


def test_a_bend_is_longer_than_its_chord() -> None:
    # Half of the time round bends of 0.28 rad/s at 60 m/s.  The chord of a second is short of the
    # arc by 0.28^2/24 (the sine's series), 0.2 m/s: no error of the speed.
    t = np.arange(0.0, 240.0, 0.1)
    heading = np.concatenate([[0.0], np.cumsum(np.where(np.sin(t / 3.0) > 0.0, 0.028, 0.0))[:-1]])
    # Each step is a chord of its own, of 1 - 0.028^2/24 of the arc: not to be seen.
    step = 6.0 * np.stack([np.cos(heading + 0.014), np.sin(heading + 0.014)], axis=-1)
    ones, speed = np.ones(len(t)), np.full(len(t), 60.0)
    rng = np.random.default_rng(5)
    position = np.cumsum(step, axis=0) + 0.01 * rng.standard_normal((len(t), 2))
    m = Measurements(t, position, ones, "speed", np.zeros((len(t), 2)), speed, ones, None)
    assert disagreement(m, 0.01) is None
