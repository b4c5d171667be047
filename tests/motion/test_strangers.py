"""Fixes of another drive amid those of one: found where no car could go from one to the next."""

import numpy as np
import pytest

from lapwright.motion.strangers import strangers

# Thirty metres a second, ten fixes a second.
TIME_S = np.arange(400) / 10
DRIVE_M = np.stack([30.0 * TIME_S, np.zeros(400)], axis=1)


def found(time_s, position_m) -> list[int]:
    used = np.ones(len(time_s), np.bool_)
    return np.flatnonzero(strangers(time_s, position_m, used)).tolist()


def test_one_drive_has_none() -> None:
    assert found(TIME_S, DRIVE_M) == []


@pytest.mark.parametrize("ahead", [False, True])
def test_two_cars_that_take_turns(ahead) -> None:
    """Another car's line beside each of this one's for a second, half a step before or after."""
    rows = np.arange(100, 110)
    time_s = np.insert(TIME_S, rows + (not ahead), TIME_S[rows] + (-0.05 if ahead else 0.05))
    place_m = np.insert(DRIVE_M, rows + (not ahead), DRIVE_M[rows] + [40.0, 300.0], axis=0)
    strange = np.flatnonzero(place_m[:, 1] != 0.0).tolist()
    assert len(strange) == 10
    assert found(time_s, place_m) == strange


def test_two_seconds_somewhere_else() -> None:
    place_m = DRIVE_M.copy()
    place_m[200:220] += [0.0, 500.0]
    assert found(TIME_S, place_m) == list(range(200, 220))


def test_a_jump_that_stays_is_no_stranger() -> None:
    place_m = DRIVE_M.copy()
    place_m[200:] += [0.0, 500.0]
    assert found(TIME_S, place_m) == []
    # Fifteen seconds of it are too many to be another's.
    place_m = DRIVE_M.copy()
    place_m[100:250] += [0.0, 500.0]
    assert found(TIME_S, place_m) == []


def test_what_is_not_used_is_not_looked_at() -> None:
    place_m = DRIVE_M.copy()
    place_m[200:203] += [0.0, 500.0]
    used = np.ones(400, np.bool_)
    used[200:203] = False
    assert not strangers(TIME_S, place_m, used).any()


def test_a_log_in_a_thousand_pieces_is_left_alone() -> None:
    place_m = np.tile(DRIVE_M, (4, 1))
    place_m[::2] += [0.0, 900.0]
    assert found(np.arange(1600) / 10, place_m) == []
