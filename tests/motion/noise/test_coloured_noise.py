"""Errors of positions that last seconds: how large, and who sees them."""

import numpy as np
import pytest
from motion_worlds import lapped

from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.coloured_noise import contradicted_var, lasting_var, share_not_seen
from lapwright.motion.noise.white_noise import short_term_noise

DRIVER = (float(np.log(0.4)), 0.6)


@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_the_mean_variance_is_that_of_a_simulated_population(rate_hz: float) -> None:
    rng = np.random.default_rng(1)
    n = 2_000_000
    there = rng.random(n) < (0.5 if rate_hz < 2.0 else 0.1)
    error = there * np.exp(0.8 * rng.standard_normal(n))
    total = np.hypot(error, np.exp(DRIVER[0] + DRIVER[1] * rng.standard_normal(n)))
    for spread in (0.45, 0.8, 1.3, 2.0):
        near = np.abs(total / spread - 1.0) < 0.02
        # Some thousands of draws each.
        assert lasting_var(np.array([spread]), DRIVER, rate_hz)[0] == pytest.approx(
            (error[near] ** 2).mean(), rel=0.1, abs=0.003
        )


def test_a_usual_driver_is_not_taken_for_a_phone_and_metres_are() -> None:
    low, high = np.sqrt(lasting_var(np.array([0.45, 2.5]), DRIVER, 1.0))
    assert low < 0.2
    assert high > 2.2


def test_a_velocity_of_its_own_sees_what_lasts_and_one_of_the_positions_does_not() -> None:
    m, _ = lapped(seed=5, rate_hz=1.0, kind="vector")
    rng = np.random.default_rng(6)
    error = np.zeros((len(m), 2))
    for i in range(1, len(m)):
        error[i] = np.exp(-0.25) * error[i - 1] + 1.6 * rng.standard_normal(2)
    moved = np.gradient(error, m.time_s, axis=0)
    fields = {k: getattr(m, k) for k in Measurements.__dataclass_fields__}
    late = Measurements(**(fields | {"position_m": m.position_m + error}))
    local = short_term_noise(late)
    by_itself = contradicted_var(late, local, m.velocity_mps)
    of_positions = contradicted_var(late, local, m.velocity_mps + moved)
    # Gauss-Markov of 2.5 m and 4 s; means over two seconds are a little steadier.
    assert 3.0 < by_itself < 9.0
    assert of_positions < 0.25 * by_itself
    assert share_not_seen(by_itself, 6.0) == pytest.approx(0.0, abs=0.8)
    assert share_not_seen(6.0, 6.0) == 0.0
    assert share_not_seen(of_positions, 6.0) == 1.0
