"""Processes that die take nobody along."""

import os
import signal
import subprocess
import sys
import time
import weakref
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import batch_jobs
import pytest

import lapwright
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


def test_what_an_executor_loses_is_named() -> None:
    class Lost(RuntimeError):
        pass

    def work(job: str) -> str:
        if job == "b":
            why = "the machine was switched off"
            raise Lost(why)
        return job.upper()

    with ThreadPoolExecutor(1) as executor:
        done = dict(each(work, ["a", "b", "c"], 9, lambda job, why: f"{job}: {why}", executor))
    assert done == {
        0: "A", 2: "C",
        1: "b: it was lost where it was worked on (Lost: the machine was switched off)",
    }  # fmt: skip


SCRIPT = """
import sys
import batch_jobs
from lapwright.batch.pool import each
if __name__ == "__main__":
    list(each(batch_jobs.wait, sys.argv[1:], 2, str))
"""
# Ten times what it takes on a busy machine with two cores.
SOON_S = 5.0


@pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_processes_end_with_the_one_that_started_them(tmp_path: Path, how: int) -> None:
    files = [tmp_path / "a", tmp_path / "b"]
    source = Path(lapwright.__file__).parents[1]
    paths = os.pathsep.join([str(source), os.environ["PYTHONPATH"]])
    parent = subprocess.Popen(
        [sys.executable, "-c", SCRIPT, *map(str, files)],
        env=os.environ | {"PYTHONPATH": paths}, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    until = time.monotonic() + 60.0
    while not all(file.exists() and file.read_text() for file in files):
        assert time.monotonic() < until
        time.sleep(0.05)
    pids = [int(file.read_text()) for file in files]
    assert all(map(batch_jobs.alive, pids))
    parent.send_signal(how)
    assert parent.wait(SOON_S) != 0
    assert batch_jobs.ended(pids, SOON_S)


def test_a_run_that_is_stopped_waits_for_nothing(tmp_path: Path) -> None:
    done = each(batch_jobs.wait_after_first, [str(tmp_path / "a"), str(tmp_path / "b")], 2, str)
    began = time.monotonic()
    with closing(done):
        next(done)
        pid = int((tmp_path / "b").read_text())
        began = time.monotonic()
    assert time.monotonic() - began < SOON_S
    assert batch_jobs.ended([pid], SOON_S)


class Result:
    """What a job gives: it can be seen to be gone."""


def test_what_was_handed_over_is_let_go() -> None:
    # Or the worker of a scheduler would hold every result until the end.
    seen: list[weakref.ref[Result]] = []
    with ThreadPoolExecutor(1) as executor:
        done = each(lambda job: Result(), range(9), 1, lambda job, why: Result(), executor)
        for _, result in done:
            seen.append(weakref.ref(result))
            del result
            # The one that was handed over last is still in hand.
            assert [one() for one in seen[:-1]] == [None] * (len(seen) - 1)
    assert len(seen) == 9
