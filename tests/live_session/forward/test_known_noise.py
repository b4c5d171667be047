import numpy as np
import pytest

from lapwright.live_session.forward.known_noise import KnownNoise, default_noise, found_out
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.priors import PRIORS


def test_what_nothing_is_known_of_is_the_root_mean_square_under_the_prior() -> None:
    noise = default_noise().noise
    random = np.random.default_rng(1)
    for name in ("white_m", "drift_m", "speed_mps"):
        prior = PRIORS[name]
        draws = prior.centre * np.exp(random.normal(0.0, prior.log_sd, 400_000))
        assert getattr(noise, name) == pytest.approx(np.sqrt(np.mean(draws**2)), rel=0.02)
        assert getattr(noise, name) > prior.centre


def test_too_few_fixes_say_nothing() -> None:
    before = KnownNoise(
        NoiseParameters(0.3, 1.0, 150.0, 0.06, 0.03, 15.0, 4.0, 2.0), 0.1, "default"
    )
    one = np.ones(50)
    few = Measurements(
        np.arange(50.0), np.zeros((50, 2)), one, "none", np.zeros((50, 2)), one, one, None
    )
    assert found_out(few, None, before) is before  # type: ignore[arg-type]
