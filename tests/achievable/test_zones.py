"""Where a made-up lap is slowest and quickest."""

import numpy as np
import pytest

from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zones import find_zones

STEPS = 200


def line_of(speed: np.ndarray, across: np.ndarray | None = None) -> UsualLine:
    """One lap in steps of 2 m with so much speed in each."""
    step = np.full(len(speed), 2.0)
    across = np.zeros_like(speed) if across is None else across
    return UsualLine(
        np.array([1]), np.arange(len(speed)) * 2.0, step, across / speed**2, (step / speed)[None],
        step[None], speed[None], 0.0 * speed[None], across[None],
    )  # fmt: skip


def waves(count: int, *, shift: int = 0) -> np.ndarray:
    return np.roll(30.0 + 8.0 * np.cos(2 * np.pi * count * np.arange(STEPS) / STEPS), shift)


@pytest.mark.parametrize("shift", [0, 7, 25, 60])
def test_each_dip_is_found_wherever_the_lap_begins(shift: int) -> None:
    # Four waves of 50 steps: slowest 25 steps behind each crest, by hand.
    zones = find_zones(line_of(waves(4, shift=shift)))
    assert zones.slow.tolist() == sorted((25 + 50 * k + shift) % STEPS for k in range(4))
    assert (np.mod(zones.slow - zones.fast, STEPS) == 25).all()


def test_a_gear_change_is_no_corner() -> None:
    speed = waves(2)
    speed[20:23] -= 0.8
    assert len(find_zones(line_of(speed))) == 2


def test_a_steady_lap_has_none() -> None:
    assert len(find_zones(line_of(np.full(STEPS, 25.0)))) == 0


def test_the_window_lies_where_the_cornering_is_highest() -> None:
    across = np.zeros(STEPS)
    across[93:97] = -9.0  # just before the slowest place, at step 100
    zones = find_zones(line_of(waves(1), across))
    first, last = int(zones.held[0]), int(zones.held[0] + zones.width[0])
    assert first <= 93
    assert last >= 97
    # 2 m in each step over the time in it: the mean speed of the window, by hand.
    speed = waves(1)[first:last]
    assert zones.held_speed(np.full(STEPS, 2.0), (2.0 / waves(1))[None])[0, 0] == pytest.approx(
        len(speed) / (1.0 / speed).sum()
    )
