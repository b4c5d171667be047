"""When a car passes a speed next to a standstill."""

import numpy as np
import pytest
from race_worlds import mine

from lapwright.race.speed_levels import (
    BACK_TO_REST,
    HIGH_MPS,
    LOW_MPS,
    edge_sd_s,
    reaches,
    rest_edge,
)


def test_a_straight_line_back_to_rest() -> None:
    # v = a (t - t0): the levels are passed at t0 + v / a, whatever a.
    for accel in (2.0, 5.0):
        times = 7.0 + np.array([LOW_MPS, HIGH_MPS]) / accel
        assert BACK_TO_REST @ times == pytest.approx(7.0)


def test_both_edges_of_a_stop() -> None:
    world = mine()
    motion, mapped = world.session.motion, world.session.mapped
    (stood,) = world.stood_s()
    middle = sum(stood) / 2
    arrives, leaves = (rest_edge(motion, mapped, middle, leaves=way) for way in (False, True))
    assert BACK_TO_REST @ arrives.time_s == pytest.approx(stood[0], abs=0.08)
    assert BACK_TO_REST @ leaves.time_s == pytest.approx(stood[1], abs=0.08)
    # The faster level is farther from the stop.
    assert arrives.time_s[1] < arrives.time_s[0] < leaves.time_s[0] < leaves.time_s[1]
    for edge in (arrives, leaves):
        levels = motion.at(edge.time_s).speed_mps
        np.testing.assert_allclose(levels, [LOW_MPS, HIGH_MPS], rtol=0, atol=0.1)


def test_faster_is_earlier_when_leaving_and_later_when_arriving() -> None:
    world = mine()
    motion, mapped = world.session.motion, world.session.mapped
    (stood,) = world.stood_s()
    for leaves, sign in ((True, -1.0), (False, 1.0)):
        edge = rest_edge(motion, mapped, sum(stood) / 2, leaves=leaves)
        along = motion.at(edge.time_s).direction
        shift = np.einsum("kj,kj->k", edge.weights[:, 2:4], along)
        assert (sign * shift > 0.0).all()


def test_a_speed_that_is_never_reached() -> None:
    world = mine()
    motion, mapped = world.session.motion, world.session.mapped
    assert len(reaches(motion, mapped, 10.0, 60.0, 120.0).time_s) == 0
    found = reaches(motion, mapped, 10.0, motion.end_s, 30.0)
    assert motion.at(found.time_s).speed_mps[0] == pytest.approx(30.0, abs=0.02)


def test_a_slow_receiver_rounds_the_corner_off() -> None:
    # 0.7 s at one fix a second, 7 ms at ten.
    assert edge_sd_s(mine().session.mapped) == pytest.approx(0.007, rel=0.02)
