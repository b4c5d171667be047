"""Several machines that see the same files: the logs of a folder on a Dask scheduler."""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any, TypeVar

from lapwright.errors import LapwrightError

# Long enough for a name to be looked up and a machine to wake; a wrong address is soon known.
_ANSWERS_WITHIN_S = 10
# A worker that was switched off gives its log to another one once.
_RETRIES = 1

R = TypeVar("R")


@contextmanager
def executor_at(address: str) -> Iterator[Executor]:
    """
    Work on a Dask scheduler, through its own adapter to `concurrent.futures`.

    Parameters
    ----------
    address : str
        Such as ``tcp://192.168.1.20:8786``.

    Yields
    ------
    Executor
        To be given to `lapwright.run_weekend`.

    Raises
    ------
    LapwrightError
        If Dask is not installed, or no scheduler answers.
    """
    try:
        from distributed import Client  # only the extra 'cluster' brings it
    except ImportError as error:
        msg = "--scheduler needs Dask, which is not installed. pip install 'lapwright[cluster]'"
        raise LapwrightError(msg) from error
    connect: Any = Client  # in part without types
    try:
        client = connect(address, timeout=_ANSWERS_WITHIN_S)
    except (OSError, ValueError) as error:
        why = " ".join(str(error).split()) or type(error).__name__
        msg = f"{address}: no Dask scheduler answers ({why}). Check the address, or leave it out"
        raise LapwrightError(msg) from error
    with client:
        executor = client.get_executor(pure=False, retries=_RETRIES)
        try:
            yield _OutOfSight(executor)
        except BaseException:
            # Stopped: nobody waits for what is under way there.
            executor.shutdown(wait=False)
            raise
        executor.shutdown()


class _OutOfSight(Executor):
    """
    Works in a thread of its own, where a worker of Dask does not look.

    A worker notes every hundredth of a second where its task is, for the scheduler's own page, and
    keeps an hour of that: of us some 100 kB a second, more than the work itself holds.
    """

    def __init__(self, executor: Executor) -> None:
        self._executor = executor

    def submit(self, fn: Callable[..., R], /, *args: Any, **kwargs: Any) -> "Future[R]":
        return self._executor.submit(_in_a_thread, fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        # Dask's own takes no second argument: not waiting is cancelling there.
        self._executor.shutdown(wait=wait and not cancel_futures)


def _in_a_thread(work: Callable[..., R], *args: Any, **kwargs: Any) -> R:
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(work, *args, **kwargs).result()
