"""When a car got away from the grid, with and without a measured speed."""

from dataclasses import replace

import numpy as np
import pytest
from race_worlds import mine, plan_of, raced

from lapwright import simulate as sim
from lapwright.laps.cutting.standing_start import got_away_s


def _line_s() -> float:
    laps = mine().session.laps
    return float(laps.loc[laps["lap"] == 1, "start_s"].iloc[0])


def test_the_moment_is_that_of_the_launch() -> None:
    world = mine()
    assert world.run.launch_s is not None
    found = got_away_s(world.session.mapped, _line_s())
    # The last fix below walking pace, at ten a second.
    assert found == pytest.approx(world.run.launch_s - world.zero_s, abs=0.3)


def test_a_car_that_came_by_at_speed_did_not_start() -> None:
    world = mine()
    laps = world.session.laps
    third = float(laps.loc[laps["lap"] == 3, "start_s"].iloc[0])
    assert got_away_s(world.session.mapped, third) is None


def test_positions_that_tremble_still_show_a_standing_car() -> None:
    mapped = mine().session.mapped
    # As without a measured speed: never slower than 0.6 m/s, but the place stays.
    trembling = replace(mapped, speed_mps=np.maximum(mapped.speed_mps, 0.6))
    line_s = _line_s()
    assert got_away_s(trembling, line_s) == pytest.approx(got_away_s(mapped, line_s), abs=1.5)


@pytest.mark.parametrize("seed", [7])
def test_a_start_without_velocity_is_seen(seed: int) -> None:
    receiver = replace(sim.ORDINARY, velocity="none")
    laps = raced(plan_of((1,), 14.0), seed, receiver=receiver).session.laps
    assert "standing_start" in laps.loc[laps["kind"] == "timed", "flags"].iloc[0]
