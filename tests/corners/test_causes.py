"""Causes of lost time, corner by corner: they add up, swap, and name what was planted."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim

TIDY = sim.Driver(corner_spread=0.003, braking_sd_m=1.0, throttle_sd_m=1.0, lap_spread=0.001)


def test_they_add_up_to_the_difference_and_flip_with_the_laps(world: World) -> None:
    session = world.session
    lap, other = session.timed_laps[-2:]
    there, back = session.compare(lap, other), session.compare(other, lap)
    assert there.causes["lost_s"].sum() == pytest.approx(there.time_difference_s, abs=1e-6)
    np.testing.assert_allclose(there.causes["lost_s"], -back.causes["lost_s"], atol=1e-9)
    np.testing.assert_allclose(there.causes["lost_sd_s"], back.causes["lost_sd_s"], rtol=0.2)
    assert (there.causes["lost_sd_s"] > 0.0).any()


def test_a_lap_against_itself_lost_nothing(world: World) -> None:
    causes = world.session.compare(world.session.timed_laps[0], world.session.timed_laps[0]).causes
    np.testing.assert_array_equal(causes[["lost_s", "lost_sd_s"]], 0.0)


def test_every_corner_has_its_four_causes_and_the_line_its_own(world: World) -> None:
    session = world.session
    causes = session.compare(*session.timed_laps[:2]).causes
    for corner in session.track.corners:
        mine = causes.loc[causes["corner"] == corner.order, "cause"]
        assert list(mine) == ["minimum", "exit", "straight", "braking"]
    assert set(causes.loc[causes["corner"] == 0, "cause"]) <= {"minimum", "exit", "straight"}


@pytest.mark.parametrize(
    ("habit", "cause"),
    [
        (sim.BrakeEarly(3, share=0.5), "braking"),
        (sim.SlowMinimum(4, share=0.5), "minimum"),
        (sim.LateThrottle(3, share=0.5), "exit"),
    ],
)
def test_what_was_planted_is_named(habit: sim.BrakeEarly, cause: str, tmp_path: Path) -> None:
    driver = replace(TIDY, habits=(habit,))
    world = make_world(tmp_path, sim.Plan((6,)), driver=driver, seed=11)
    true = world.run.passes
    true = true[true["corner"] == habit.corner]
    did = {int(n): bool(h) for n, h in zip(true["timed_lap"], true["habits"], strict=True)}
    session = world.session
    laps = dict(enumerate(session.timed_laps, start=1))
    slow = next(laps[n] for n in did if did[n] and laps[n] in session.clean_laps)
    good = next(laps[n] for n in did if not did[n] and laps[n] in session.clean_laps)
    causes = session.compare(slow, good).causes
    here = causes[causes["corner"] == habit.corner].set_index("cause")
    assert here["lost_s"].idxmax() == cause
    assert here.loc[cause, "lost_s"] > 2.0 * here.loc[cause, "lost_sd_s"]
