"""A driver with a slow corner, and one already at the limit, on a short circuit."""

from dataclasses import replace

import pytest
from worlds import World, make_world

from lapwright import simulate as sim

CIRCUIT = 2186
# Corner whose slowest point is 4 km/h slow in two laps of three.
SLOW = 2
# A tenth of an ordinary driver's scatter, and no waiting for the throttle.
AT_LIMIT = replace(
    sim.Driver(), line_sd_m=0.04, wide_moments_per_lap=0.0, corner_spread=0.001, lap_spread=0.0003,
    braking_sd_m=0.3, throttle_sd_m=0.0, settling=0.0,
)  # fmt: skip


def _world(folder, driver: sim.Driver, laps: int) -> World:
    return make_world(
        folder, sim.Plan((laps,)), circuit=sim.invented(CIRCUIT), driver=driver, seed=3
    )


@pytest.fixture(scope="session")
def slow_in_a_corner(tmp_path_factory: pytest.TempPathFactory) -> World:
    driver = sim.Driver(habits=(sim.SlowMinimum(SLOW),))
    return _world(tmp_path_factory.mktemp("slow"), driver, 9)


@pytest.fixture(scope="session")
def at_the_limit(tmp_path_factory: pytest.TempPathFactory) -> World:
    return _world(tmp_path_factory.mktemp("limit"), AT_LIMIT, 6)
