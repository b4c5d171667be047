"""What cost the time: sums and their error bars."""

import numpy as np
import pytest
from worlds import World

from lapwright.session import Session


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
