"""Processes that die take nobody along."""

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import batch_jobs
import pytest

from lapwright.batch.pool import each


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the other processes find the jobs."""
    folder = str(Path(batch_jobs.__file__).parent)
    monkeypatch.setenv("PYTHONPATH", folder)


def test_a_process_that_dies_does_not_sink_the_rest() -> None:
    jobs = ["a", "die", "b", "c"]
    done = dict(each(batch_jobs.work, jobs, 2, lambda job, why: f"{job}: {why}"))
    assert done == {0: "A", 1: "die: the process that worked on it died, twice", 2: "B", 3: "C"}


def test_one_thread_of_linear_algebra_a_process() -> None:
    before = os.environ.get("OPENBLAS_NUM_THREADS")
    done = dict(each(batch_jobs.threads, ["x", "y"], 2, str))
    assert done == {0: "1", 1: "1"}
    assert os.environ.get("OPENBLAS_NUM_THREADS") == before


def test_any_executor_will_do() -> None:
    with ThreadPoolExecutor(1) as executor:
        assert dict(each(str.upper, ["a", "b"], 9, str, executor)) == {0: "A", 1: "B"}


def test_with_one_worker_all_is_done_here() -> None:
    assert dict(each(lambda job: job + os.getpid(), [0], 1, int)) == {0: os.getpid()}
