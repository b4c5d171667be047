"""
What is promised of any input whatever: a result or one clear error, soon, and in little memory.

What breaks a promise raises `BrokenPromise`, any other exception is broken by itself.
"""

import re
import signal
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from lapwright.errors import LapwrightError
from lapwright.ingest.invariants import BrokenLogError

# A second to begin with and one a megabyte; thirty times the file, and what any look at it takes.
START_S, S_PER_MB = 1.0, 1.0
START_MB, TIMES_FILE = 60.0, 30.0
# More is not read by anybody whose session begins in ten minutes.
MOST_LETTERS = 2_600
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_STATUS, _FORGET = Path("/proc/self/status"), Path("/proc/self/clear_refs")


class BrokenPromise(AssertionError):
    """An input that was answered too late, with too much memory, or not clearly."""


def outcome(run: Callable[[Path], object], path: Path, limits: bool = True) -> str:
    """
    Run something on a file and hold it to what is promised.

    Parameters
    ----------
    run : callable
        Reads the file and checks what came of it.
    path : Path
    limits : bool
        Whether time and memory are looked at; what is too slow once is tried once more.

    Returns
    -------
    str
        ``"good"`` or ``"error"``.

    Raises
    ------
    BrokenPromise
        If it takes too long or too much, or the error is not one clear line.
    """
    size_mb = path.stat().st_size / 1e6
    before = path.read_bytes()
    for last in (False, True):
        # What hangs is stopped where it is, so that the place is known.
        give_up_s = 10 * (START_S + S_PER_MB * size_mb)
        start_mb = peak_mb(forget=True)
        start_s = time.process_time()
        with stopped_after(give_up_s):
            said = _said(run, path)
        took_s = time.process_time() - start_s
        took_mb = peak_mb() - start_mb
        if not limits or (
            took_s <= START_S + S_PER_MB * size_mb and took_mb <= START_MB + TIMES_FILE * size_mb
        ):
            break
        if last and took_s > START_S + S_PER_MB * size_mb:
            msg = f"slow: {took_s:.1f} s of CPU for {size_mb:.2f} MB"
            raise BrokenPromise(msg)
        if last:
            msg = f"memory: {took_mb:.0f} MB for {size_mb:.2f} MB"
            raise BrokenPromise(msg)
    if path.read_bytes() != before:
        msg = "written: the input is no longer what it was"
        raise BrokenPromise(msg)
    return said


def _said(run: Callable[[Path], object], path: Path) -> str:
    try:
        with warnings.catch_warnings():
            # What numpy mutters would stand between the lines that a racer reads.
            warnings.simplefilter("error")
            run(path)
    except BrokenLogError as error:
        msg = f"log: {error}"
        raise BrokenPromise(msg) from error
    except LapwrightError as error:
        check_clear(error)
        return "error"
    return "good"


def check_clear(error: LapwrightError) -> None:
    """Raise `BrokenPromise` where an error is not one line that a person can read."""
    text = str(error)
    if not text.strip() or len(text) > MOST_LETTERS or _CONTROL.search(text):
        msg = f"unclear: {len(text)} letters, {text[:200]!r}"
        raise BrokenPromise(msg)
    text.encode("utf-8")


def check_sentence(text: str) -> None:
    """Raise `BrokenPromise` where a finding is not one line that a person can read."""
    if not text.strip() or len(text) > MOST_LETTERS or _CONTROL.search(text):
        msg = f"unclear finding: {len(text)} letters, {text[:200]!r}"
        raise BrokenPromise(msg)


@contextmanager
def stopped_after(cpu_s: float) -> Iterator[None]:
    """Raise `BrokenPromise` within the block once it has taken so much of the processor."""

    def stop(*_: object) -> None:
        msg = f"hang: stopped after {cpu_s:.0f} s of CPU"
        raise BrokenPromise(msg)

    if threading.current_thread() is not threading.main_thread() or not hasattr(signal, "SIGPROF"):
        yield
        return
    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, cpu_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def peak_mb(forget: bool = False) -> float:
    """Most memory this process had since it was last told to forget it; 0 where nobody counts."""
    try:
        if forget:
            # Linux: the peak is set to what is in use now (man 5 proc, clear_refs).
            _FORGET.write_text("5")
        peak = re.search(r"VmHWM:\s*(\d+) kB", _STATUS.read_text())
    except OSError:
        peak = None
    return 0.0 if peak is None else float(peak[1]) / 1024
