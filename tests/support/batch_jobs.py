"""Jobs for other processes, which have to be able to import them."""

import os
import time
from pathlib import Path


def work(job: str) -> str:
    """Do a job, or die as a process does that has no memory left."""
    if job == "die":
        os._exit(9)
    return job.upper()


def threads(job: str) -> str:
    """How many threads of linear algebra this process may use."""
    return os.environ["OPENBLAS_NUM_THREADS"]


def spin(job: str) -> str:
    """Work for half a second."""
    until = time.monotonic() + 0.5
    while time.monotonic() < until:
        pass
    return job


def wait(file: str) -> str:
    """Write down which process this is, then work for longer than any test."""
    Path(file).write_text(str(os.getpid()))
    time.sleep(300)
    return file


def alive(pid: int) -> bool:
    """Whether a process is at work; one that ended and was not yet fetched is not."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat")
    return not state.exists() or state.read_text().rpartition(")")[2].split()[0] != "Z"


def ended(pids: list[int], within_s: float) -> bool:
    """Whether all processes end in time."""
    until = time.monotonic() + within_s
    while any(map(alive, pids)):
        if time.monotonic() > until:
            return False
        time.sleep(0.05)
    return True


def wait_after_first(file: str) -> str:
    """`wait`, or for the first be done as soon as the other has begun."""
    if Path(file).name != "a":
        return wait(file)
    other = Path(file).with_name("b")
    while not (other.exists() and other.read_text()):
        time.sleep(0.05)
    return file
