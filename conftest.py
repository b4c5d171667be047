"""What the examples in docstrings may take for granted: `lw`, and a `session` that is open."""

import os
import sys
import time
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

# Read when numpy is loaded: small matrices shared out among threads cost more than they give.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Local time is shown beside UTC; what is printed must not depend on where the tests run.
os.environ["TZ"] = "UTC"
# What a test looks at is worked out, not found in somebody's cache folder; tests of what is kept
# name a folder of their own.
os.environ["LAPWRIGHT_CACHE"] = "off"
if hasattr(time, "tzset"):
    time.tzset()

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
