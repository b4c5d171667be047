"""What cost the time: sums and their error bars."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.session import Session

TIDY = sim.Driver(corner_spread=0.003, braking_sd_m=1.0, throttle_sd_m=1.0, lap_spread=0.001)


def test_causes_add_up_and_so_do_their_errors(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    c = world.session.compare(a, b)
    assert c.causes["lost_s"].sum() == pytest.approx(c.time_difference_s, abs=1e-9)
    np.testing.assert_allclose(np.sqrt(np.diagonal(c.causes_cov_s2)), c.causes["lost_sd_s"])
    # What a speed that is off gives to one cause it takes from another, so all of them together
    # are as unsure as the difference of the lap times.
    whole = np.sqrt(c.causes_cov_s2.sum())
    assert whole == pytest.approx(c.time_difference_sd_s, rel=0.02)
    assert np.sqrt((c.causes["lost_sd_s"] ** 2).sum()) > 1.5 * whole


def test_swapping_the_laps_flips_every_sign(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    one, two = world.session.compare(a, b), world.session.compare(b, a)
    assert list(one.causes["cause"]) == list(two.causes["cause"])
    np.testing.assert_allclose(one.causes["lost_s"], -two.causes["lost_s"], atol=1e-9)
    np.testing.assert_allclose(one.causes["lost_sd_s"], two.causes["lost_sd_s"], rtol=0.05)


def test_a_lap_against_itself_lost_nothing(world: World) -> None:
    lap = world.session.timed_laps[1]
    c = world.session.compare(lap, lap)
    assert (c.causes["lost_s"] == 0.0).all()
    assert (c.causes_cov_s2 == 0.0).all()


def test_two_logs_err_on_their_own(world: World, pit_world: World) -> None:
    other = Session(pit_world.log, world.session.shared_track)
    c = other.compare(other.timed_laps[0], world.session.timed_laps[2], other=world.session)
    assert c.causes["lost_s"].sum() == pytest.approx(c.time_difference_s, abs=1e-9)
    assert np.sqrt(c.causes_cov_s2.sum()) == pytest.approx(c.time_difference_sd_s, rel=0.02)


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
