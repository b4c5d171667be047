"""Delays of the logged velocity, planted and found."""

import numpy as np
import pytest
from motion_worlds import Kind, lapped

from lapwright.motion.latency import delayed, estimate_latency, is_significant


@pytest.mark.parametrize("kind", ["vector", "speed"])
@pytest.mark.parametrize("delay_s", [0.0, 0.03, 0.15, 0.4, -0.08])
@pytest.mark.parametrize("rate_hz", [5.0, 20.0])
def test_a_planted_delay_is_found(kind: Kind, delay_s: float, rate_hz: float) -> None:
    m, _ = lapped(seed=1, rate_hz=rate_hz, kind=kind, velocity_late_s=delay_s)
    found, sd = estimate_latency(m)
    assert sd < 0.015
    assert abs(found - delay_s) < 3.0 * sd + 0.002
    if delay_s == 0.0 or abs(delay_s) > 6.0 * sd:
        assert is_significant(found, sd) == (delay_s != 0.0)


def test_no_velocity_and_short_records_tell_nothing() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="none")
    assert estimate_latency(m) == (0.0, np.inf)
    assert not is_significant(0.0, np.inf)


def test_bringing_forward_undoes_the_delay() -> None:
    late, drive = lapped(seed=2, rate_hz=10.0, kind="vector", velocity_late_s=0.13, speed_noise=0.0)
    m = delayed(late, 0.13)
    true = drive.velocity(m.time_s)
    seen = np.isfinite(m.velocity_factor)
    # Cubics through 10 Hz: a few mm/s at the bends' ends.
    assert np.abs(m.velocity_mps - true)[seen].max() < 0.02
    np.testing.assert_allclose(m.speed_mps[seen], np.hypot(*true[seen].T), atol=0.02)
    assert (~seen).sum() <= 3
    assert delayed(late, 0.0) is late


def test_no_velocity_is_made_up_across_a_gap() -> None:
    m, _ = lapped(seed=2, rate_hz=10.0, kind="vector", gaps=((40.0, 45.0),))
    moved = delayed(m, 0.1)
    beside = np.isinf(moved.velocity_factor)
    assert beside[np.searchsorted(m.time_s, 40.0) - 1]
    assert beside[np.searchsorted(m.time_s, 45.0)] or beside[np.searchsorted(m.time_s, 45.0) - 1]
    assert beside.sum() < 12
