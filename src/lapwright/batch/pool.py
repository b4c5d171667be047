"""Many jobs over several processes, of which any may die without taking the others along."""

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import TypeVar

J = TypeVar("J")
R = TypeVar("R")

# One thread of linear algebra a process: nested threads cost more than they give.  The libraries
# read these when they are loaded, so they have to be set before the processes start.
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def each(
    work: Callable[[J], R], jobs: Sequence[J], workers: int, died: Callable[[J], R],
    executor: Executor | None = None,
) -> Iterator[tuple[int, R]]:  # fmt: skip
    """
    Do all jobs and yield their results as they are ready.

    Parameters
    ----------
    work : callable
        At the top of a module, so that another process can import it.
    jobs : sequence
    workers : int
        Processes; with 1 the work is done in this one.
    died : callable
        Gives the result of a job whose process died, twice.
    executor : Executor, optional
        Where to work instead: anything with the interface of `concurrent.futures`, such as one
        that spreads the jobs over several machines.

    Yields
    ------
    (int, result)
        Position of the job and what came of it.
    """
    if executor is not None:
        yield from _in(executor, work, jobs, range(len(jobs)), [])
        return
    if workers <= 1:
        for i, job in enumerate(jobs):
            yield i, work(job)
        return
    broken: list[int] = []
    with _one_thread_each():
        with _processes(min(workers, len(jobs))) as pool:
            yield from _in(pool, work, jobs, range(len(jobs)), broken)
        # A process that dies takes the whole pool down.  Which job it was is not known, so each
        # that was under way or waiting gets a process to itself.
        for i in broken:
            again: list[int] = []
            with _processes(1) as pool:
                yield from _in(pool, work, jobs, [i], again)
            if again:
                yield i, died(jobs[i])


def _in(
    executor: Executor, work: Callable[[J], R], jobs: Sequence[J], which: Sequence[int],
    broken: list[int],
) -> Iterator[tuple[int, R]]:  # fmt: skip
    """Submit jobs and yield results; positions of jobs whose process died go into ``broken``."""
    futures: dict[Future[R], int] = {}
    for i in which:
        try:
            futures[executor.submit(work, jobs[i])] = i
        except BrokenProcessPool:
            broken.append(i)
    for future in as_completed(futures):
        try:
            result = future.result()
        except BrokenProcessPool:
            broken.append(futures[future])
        else:
            yield futures[future], result


def _processes(number: int) -> ProcessPoolExecutor:
    # Not forked: a copy of a process with threads (a notebook's, say) may hang.
    return ProcessPoolExecutor(number, mp_context=multiprocessing.get_context("spawn"))


@contextmanager
def _one_thread_each() -> Iterator[None]:
    before = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
