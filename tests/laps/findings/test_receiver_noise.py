"""What a session says of its receiver's noise is what its most probable parameters are."""

from dataclasses import FrozenInstanceError, fields
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from motion_oracles import ORDINARY, POSITIONS_ONLY, driven

from lapwright.laps.findings.receiver_noise import ReceiverNoise, receiver_noise
from lapwright.motion import Motion
from lapwright.motion.estimate import motion_from
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.plane import Plane


def motion(truth: NoiseParameters) -> Motion:
    m = driven(np.random.default_rng(4), np.arange(0.0, 60.0, 0.2), truth)
    return motion_from(m, Plane(0.0, 0.0))


def test_each_field_is_the_parameter_it_names() -> None:
    found = motion(ORDINARY)
    best = found.best.smoothing.noise
    assert receiver_noise(found, repeat_line=True) == ReceiverNoise(
        position_sd_m=best.white_m, drift_sd_m=best.drift_m, drift_tau_s=best.drift_tau_s,
        speed_sd_mps=best.speed_mps, slow_speed_sd_mps=best.slow_speed_mps,
        lasting_sd_m=best.coloured_m, clock_sd_ppm=1e6 * found.clock_rate_sd,
        sources=tuple(found.sources), repeat_line=True,
    )  # fmt: skip


def test_a_log_without_a_speed_has_no_errors_of_one() -> None:
    noise = receiver_noise(motion(POSITIONS_ONLY), repeat_line=False)
    assert noise.speed_sd_mps is None
    assert noise.slow_speed_sd_mps is None
    assert noise.position_sd_m > 0.0
    assert not noise.repeat_line


def test_it_is_not_changed_once_it_is_made() -> None:
    noise = receiver_noise(motion(ORDINARY), repeat_line=False)
    for field in fields(ReceiverNoise):
        with pytest.raises(FrozenInstanceError):
            setattr(noise, field.name, 0.0)


def test_no_parameter_stands_for_another() -> None:
    # Each one another number.
    noise = NoiseParameters(0.31, 1.2, 210.0, 0.05, 0.02, 20.0, 3.5, 1.1, coloured_m=0.4)
    one = SimpleNamespace(
        best=SimpleNamespace(smoothing=SimpleNamespace(noise=noise)), clock_rate_sd=2e-6,
        sources=["position", "velocity"],
    )  # fmt: skip
    assert receiver_noise(cast("Motion", one), repeat_line=True) == ReceiverNoise(
        position_sd_m=0.31, drift_sd_m=1.2, drift_tau_s=210.0, speed_sd_mps=0.05,
        slow_speed_sd_mps=0.02, lasting_sd_m=0.4, clock_sd_ppm=2.0,
        sources=("position", "velocity"), repeat_line=True,
    )  # fmt: skip
