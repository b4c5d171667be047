"""Reports of the sample sessions and of simulated ones with troubles, to be read back."""

from typing import Any

import matplotlib as mpl
import pytest
from page_reading import page_of
from readback_worlds import NAMES, truth_of
from session_truth import Truth

mpl.use("Agg")

# Every session in km/h, and some in the other units.
PAGES = (
    *((name, "km/h") for name in NAMES),
    ("friday_test.csv", "mph,ft"), ("sunday_race.csv", "m/s"), ("missing_passes", "mph,ft"),
)  # fmt: skip


@pytest.fixture(autouse=True)
def _cached(cached: None) -> None:
    """Work nothing out twice: what is read back is what was shown, however it was come by."""


@pytest.fixture(scope="session", params=PAGES, ids=lambda p: f"{p[0]}-{p[1]}")
def report(request: Any) -> tuple[Any, Truth, str]:
    """A page, what it should say, and its units."""
    name, units = request.param
    truth = truth_of(name)
    reference = truth.timed[0] if name == "friday_test.csv" else None
    return page_of(name, units, reference), truth, units


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep these tests in one worker, where each session is opened once."""
    for item in items:
        if "readback" in item.path.parts:
            item.add_marker(pytest.mark.xdist_group("readback"))
