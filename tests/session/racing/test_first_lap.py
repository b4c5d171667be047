"""The first lap against a flying one."""

import numpy as np
import pytest
from race_worlds import mine, raced

from lapwright import simulate as sim
from lapwright.session import first_lap


def test_the_standing_start_cost_is_the_true_one() -> None:
    world = mine()
    first = first_lap(world.session)
    assert first is not None
    c = first.comparison
    assert (c.lap, first.typical) == (1, True)
    assert c.reference == world.session.typical_lap
    timed = world.run.laps[world.run.laps["kind"] == "timed"].set_index("lap")["time_s"]
    true_s = float(timed[1] - timed[c.reference])
    assert abs(c.time_difference_s - true_s) < 4.0 * c.time_difference_sd_s
    # The fade makes up for a part of what the start cost.
    assert true_s > 1.0


def test_the_places_add_up_and_most_is_lost_at_the_start() -> None:
    first = first_lap(mine().session)
    assert first is not None
    total = sum(one.lost_s for one in first.corners)
    assert total == pytest.approx(first.comparison.time_difference_s, abs=1e-6)
    most = max(first.corners, key=lambda one: one.lost_s)
    # From the grid to the first corner.
    assert most.corner == 0
    assert most.lost_s > 0.5 * first.comparison.time_difference_s
    assert all(one.lost_sd_s > 0.0 for one in first.corners)
    # The bars of neighbours do not just add up to that of the lap.
    alone = float(np.sqrt(sum(one.lost_sd_s**2 for one in first.corners)))
    assert alone != pytest.approx(first.comparison.time_difference_sd_s, rel=1e-3)


def test_with_one_lap_there_is_nothing_to_compare() -> None:
    assert first_lap(raced(sim.Plan((1,), garage_s=20.0), 8).session) is None
