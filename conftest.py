"""What the examples in docstrings may take for granted: `lw`, and a `session` that is open."""

import os
import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# Read when numpy is loaded: small matrices shared out among threads cost more than they give.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Local time is shown beside UTC; what is printed must not depend on where the tests run.
os.environ["TZ"] = "UTC"
# What a test looks at is worked out, not found in somebody's cache folder; tests of what is kept
# name a folder of their own.
os.environ["LAPWRIGHT_CACHE"] = "off"
if hasattr(time, "tzset"):
    time.tzset()
# What the tests run is measured in the processes of pytest; every program that they start would
# begin a third of a second later.
if "PYTEST_XDIST_WORKER" in os.environ:
    os.environ.pop("COVERAGE_PROCESS_START", None)

SESSION = "sample_sessions/saturday_qualifying.gpx"


@cache
def _session() -> Any:
    """Open the session once for all examples: it is not changed by what is asked of it."""
    import lapwright as lw

    return lw.open_session(SESSION)


@pytest.fixture(autouse=True, scope="session")
def _nobodys_files(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or writes the track library of whoever runs it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("data")))
        yield


@pytest.fixture(scope="session")
def cache_of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all the processes of this run; empty when it begins."""
    base = tmp_path_factory.getbasetemp()
    # Each process of pytest-xdist has its own below that of the run.
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "cache"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture
def cached(cache_of_this_run: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """
    Use again what others that ask for this worked out: for tests of what is said and shown.

    That a cache changes nothing is tested elsewhere (tests/session/test_kept.py and
    tests/cli/test_no_cache.py).  Not for tests that change the program.
    """
    monkeypatch.setenv("LAPWRIGHT_CACHE", str(cache_of_this_run))


@pytest.fixture(autouse=True)
def _slow_ones_are_not_measured(request: pytest.FixtureRequest) -> Iterator[None]:
    """
    Let what takes seconds run at full speed: coverage is counted from all other tests.

    They go the same ways through the code, only for longer.
    """
    measuring = None
    if "coverage" in sys.modules and request.node.get_closest_marker("slow") is not None:
        measuring = sys.modules["coverage"].Coverage.current()
    if measuring is not None:
        measuring.stop()
    yield
    if measuring is not None:
        measuring.start()


# Half as many examples as usual, unless all is asked for.
settings.register_profile("quick", max_examples=50)
if not os.environ.get("THOROUGH"):
    settings.load_profile("quick")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave what only goes through many alike cases to those who ask for it."""
    if not os.environ.get("THOROUGH"):
        skip = pytest.mark.skip(reason="many alike cases; THOROUGH=1 runs them")
        for item in items:
            if item.get_closest_marker("thorough") is not None:
                item.add_marker(skip)


@pytest.fixture(autouse=True)
def _names_of_the_examples(
    request: pytest.FixtureRequest, doctest_namespace: dict[str, Any]
) -> Iterator[None]:
    if not isinstance(request.node, pytest.DoctestItem):
        yield
        return
    import lapwright as lw

    doctest_namespace.update(lw=lw, session=_session())
    yield
    # Figures of the examples are looked at by nobody.
    if "matplotlib.pyplot" in sys.modules:
        sys.modules["matplotlib.pyplot"].close("all")
