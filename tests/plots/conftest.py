"""One simulated session for all figures."""

import matplotlib as mpl
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.laps.comparison import Comparison

mpl.use("Agg")


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Three laps of an invented circuit."""
    return make_world(tmp_path_factory.mktemp("drawn"), sim.Plan((3,)), seed=11)


@pytest.fixture(scope="session")
def comparison(drawn: World) -> Comparison:
    """A lap against the best."""
    session = drawn.session
    other = next(int(n) for n in session.laps["lap"][1:] if n != session.best_lap)
    return session.compare(other)


@pytest.fixture(autouse=True)
def _close_figures():
    yield
    import matplotlib.pyplot as plt

    plt.close("all")
