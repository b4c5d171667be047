import numpy as np
import pytest

from lapwright.geometry import Gate
from lapwright.live_session.forward.lines import Moving, crossing, may_reach

# Driven over eastwards at east 0.
GATE = Gate((0.0, 6.0), (0.0, -6.0))


def braking(t: float) -> Moving:
    """East -20 m at 0 s with 40 m/s, braking at 10 m/s^2; two metres left of the middle."""
    return Moving(t, np.array([-20.0 + 40.0 * t - 5.0 * t * t, 2.0]), np.array([40 - 10 * t, 0.0]))


def test_the_moment_under_braking_at_one_fix_a_second_is_exact() -> None:
    # -20 + 40 t - 5 t^2 = 0: t = 4 - sqrt(12). A straight line from 0 to 1 s would say 0.571 s.
    found = crossing(GATE, braking(0.0), braking(1.0))
    assert found is not None
    assert found[0] == pytest.approx(4.0 - np.sqrt(12.0), abs=1e-9)
    assert found[1] == pytest.approx(2.0)


def test_backwards_and_short_of_the_line_is_no_crossing() -> None:
    assert crossing(GATE, braking(0.0), braking(0.3)) is None
    turned = [Moving(m.time_s, -m.position_m, -m.velocity_mps) for m in map(braking, (0.0, 1.0))]
    assert crossing(GATE, *turned) is None


def test_only_a_car_that_can_come_to_the_line_is_looked_at() -> None:
    far = Moving(0.0, np.array([-500.0, 0.0]), np.array([40.0, 0.0]))
    assert not may_reach(GATE, far, 1.0)
    assert may_reach(GATE, far, 11.0)
