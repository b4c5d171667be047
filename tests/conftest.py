"""Simulated sessions with exact truth, made once."""

import one_thread  # noqa: F401 - before numpy
import pytest
from worlds import World, make_world

from lapwright import simulate as sim


@pytest.fixture(scope="session")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Five timed laps, 10 Hz, an ordinary receiver with speed and course."""
    return make_world(tmp_path_factory.mktemp("world"), sim.Plan((5,)))


@pytest.fixture(scope="session")
def pit_world(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Two stints with a stop at the box between them."""
    return make_world(tmp_path_factory.mktemp("pits"), sim.Plan((2, 2)), seed=5)
