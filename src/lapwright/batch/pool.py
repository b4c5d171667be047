"""
Many jobs over several processes, of which any may die without taking the others along.

The processes end with this one, however it ends: nothing works on unseen for a table nobody makes.
"""

import multiprocessing
import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import TypeVar

from lapwright.ends_with_parent import end_with_parent

J = TypeVar("J")
R = TypeVar("R")

# One thread of linear algebra a process: nested threads cost more than they give.  The libraries
# read these when they are loaded, so they have to be set before the processes start.
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
# Not all systems have them all.
_ENDING = {
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
}


def each(
    work: Callable[[J], R], jobs: Sequence[J], workers: int, died: Callable[[J, str], R],
    executor: Executor | None = None,
) -> Generator[tuple[int, R], None, None]:  # fmt: skip
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
        Gives the result of a job whose process died, twice, or that an executor lost, from the job
        and what happened.
    executor : Executor, optional
        Where to work instead: anything with the interface of `concurrent.futures`, such as one
        that spreads the jobs over several machines.

    Yields
    ------
    (int, result)
        Position of the job and what came of it.
    """
    if executor is not None:
        lost: dict[int, str] = {}
        # What such a place may raise is its own: `work` itself answers for the job.
        yield from _in(executor, work, jobs, range(len(jobs)), lost, Exception)
        for i, why in lost.items():
            yield i, died(jobs[i], why)
        return
    if workers <= 1:
        for i, job in enumerate(jobs):
            yield i, work(job)
        return
    broken: dict[int, str] = {}
    with _one_thread_each():
        with _processes(min(workers, len(jobs))) as pool:
            yield from _in(pool, work, jobs, range(len(jobs)), broken, BrokenProcessPool)
        # A process that dies takes the whole pool down.  Which job it was is not known, so each
        # that was under way or waiting gets a process to itself.
        for i in broken:
            again: dict[int, str] = {}
            with _processes(1) as pool:
                yield from _in(pool, work, jobs, [i], again, BrokenProcessPool)
            if again:
                yield i, died(jobs[i], "the process that worked on it died, twice")


def _in(
    executor: Executor, work: Callable[[J], R], jobs: Sequence[J], which: Sequence[int],
    lost: dict[int, str], losing: type[Exception],
) -> Iterator[tuple[int, R]]:  # fmt: skip
    """Submit jobs and yield results; what kept a job from being done goes into ``lost``."""
    futures: dict[Future[R], int] = {}
    ours = isinstance(executor, _Ours)
    with _held_back(_ENDING if ours else {signal.SIGINT}):
        for i in which:
            try:
                futures[executor.submit(work, jobs[i])] = i
            except losing as error:
                lost[i] = _what_happened(error)
    for future in as_completed(futures):
        # Nobody holds on to it: a worker keeps a result in memory for as long as anyone does.
        i = futures.pop(future)
        try:
            result = future.result()
        except losing as error:
            lost[i] = _what_happened(error)
        else:
            yield i, result


def _what_happened(error: Exception) -> str:
    return f"it was lost where it was worked on ({type(error).__name__}: {error})"


@contextmanager
def _processes(number: int) -> Iterator["_Ours"]:
    # Not forked: a copy of a process with threads (a notebook's, say) may hang.
    context = multiprocessing.get_context("spawn")
    ends, alive = context.Pipe(duplex=False)
    with ends, alive:
        pool = _Ours(number, mp_context=context, initializer=end_with_parent, initargs=(ends,))
        with pool:
            try:
                yield pool
            except BaseException:
                # Stopped: what is done is kept, so what is under way need not be waited for.
                pool.shutdown(wait=False, cancel_futures=True)
                alive.close()
                raise


class _Ours(ProcessPoolExecutor):
    """The processes that this module starts, which begin with `end_with_parent`."""


@contextmanager
def _held_back(signals: set[signal.Signals]) -> Iterator[None]:
    """
    Put off signals that come while processes are started; they are heard here afterwards.

    A process whose parent is gone before it has begun says so at length.  What is started here is
    deaf to the same signals: to Ctrl-C, which goes to all of a terminal, for good, as it ends with
    this one anyhow.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, signals)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


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
