"""
One process: its CPU time, its wall time and its peak memory.

CPU time (user and system) and not wall time: on a machine that others use too, the latter says more
about the others.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Used:
    """
    What a process used, its own child processes included in its CPU time.

    The system counts the memory of whoever starts it as the least it used, so who measures stays
    small: nothing but the standard library is imported here.
    """

    cpu_s: float
    wall_s: float
    peak_mb: float


def environment(home: Path) -> dict[str, str]:
    """
    Surroundings that are the same for everybody: one thread, byte code kept, nothing of the user's.

    `home` holds what programs keep for a user: no track library and no choice of units at first.
    """
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env |= dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return env | {f"XDG_{name}_HOME": str(home / name) for name in ("CONFIG", "DATA", "CACHE")}


def run(arguments: Sequence[object], env: Mapping[str, str]) -> Used:
    """Run Python with some arguments to its end; whatever goes wrong ends the measurement."""
    command = [sys.executable, *map(str, arguments)]
    with tempfile.TemporaryFile() as said:
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=said, env=env)
        _, status, used = os.wait4(process.pid, 0)
        wall_s = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode:
            said.seek(0)
            msg = f"{' '.join(command)}\n{said.read().decode(errors='replace')}"
            raise SystemExit(msg)
    # In KiB on Linux, in bytes on macOS.
    unit = 1e6 if sys.platform == "darwin" else 1e6 / 1024
    return Used(used.ru_utime + used.ru_stime, wall_s, used.ru_maxrss / unit)
