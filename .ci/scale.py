"""
Look at very many sessions on a scheduler with two workers, stopped half-way and taken up.

    python .ci/scale.py [--sessions 1000] [--stop 0.5]

Twenty sessions are simulated, most of three laps at 2 Hz, one of an hour at 25 Hz; the others are
the same drives on another day.  Printed: the largest memory of each worker and of the command that
waits for them, and what was done before the stop and after it.  The exit status is 1 where a worker
had more than 600 MB, or a finished log was looked at again.  Half an hour on two cores.
"""

import argparse
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from distributed import LocalCluster

from lapwright import simulate as sim

LIMIT_MB = 600.0
FIRST_DAY = date(2025, 3, 1)
DAY = f"{FIRST_DAY}"
# Laps, and fixes a second: most are short, so that a thousand can be had.
_LENGTHS = ((3, 2.0), (15, 10.0), (40, 25.0))


def drives(folder: Path) -> list[bytes]:
    """Simulate twenty sessions, the last an hour at 25 Hz, and write the track file."""
    circuit = sim.invented("wren_hollow")
    sim.write_track(circuit, folder / "track.geojson")
    made = []
    for seed in range(20):
        laps, rate_hz = _LENGTHS[0 if seed < 16 else 1 if seed < 19 else 2]
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((laps,)), seed=seed)
        got = sim.receive(run, replace(sim.ORDINARY, rate_hz=rate_hz), seed=seed + 100)
        file = folder / "one.csv"
        sim.write_csv(got, file, sim.CsvStyle(time="utc"), f"{DAY}T10:00:00Z")
        made.append(file.read_bytes())
        file.unlink()
    return made


def write_sessions(folder: Path, number: int) -> None:
    """Write as many sessions, one a day; each twentieth is of middling length, four are long."""
    folder.mkdir()
    made = drives(folder)
    for k in range(number):
        which = 19 if k % 250 == 249 else 16 + (k // 20) % 3 if k % 20 == 19 else k % 16
        day = FIRST_DAY + timedelta(days=k)
        log = made[which].replace(DAY.encode(), f"{day}".encode())
        (folder / f"run_{k:04}.csv").write_bytes(log)


def memory_mb(pid: int) -> float:
    """Return the largest memory a process had so far."""
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return 0.0
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return 0.0 if found is None else int(found[1]) / 1024


class Watch(threading.Thread):
    """Keeps the largest memory of processes, and says now and then what it is."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.most: dict[str, float] = {}
        self.pids: dict[str, int] = {}

    def run(self) -> None:
        """Look twice a second."""
        while True:
            for name, pid in list(self.pids.items()):
                self.most[name] = max(self.most.get(name, 0.0), memory_mb(pid))
            time.sleep(0.5)


def results(cache: Path) -> int:
    """Count the logs that are done and kept."""
    return len(list(cache.glob("*.lasting.kept")))


def begin(base: Path, address: str) -> "subprocess.Popen[str]":
    """Start the command."""
    command = ["weekend", str(base / "logs"), "--out", str(base / "out"), "--scheduler", address]
    return subprocess.Popen(
        [sys.executable, "-m", "lapwright", *command],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def stopped(run: "subprocess.Popen[str]", cache: Path, number: float) -> None:
    """Stop the command with Ctrl-C when so many logs are done."""
    began = time.monotonic()
    while run.poll() is None and results(cache) < number:
        time.sleep(0.5)
    run.send_signal(signal.SIGINT)
    _, errors = run.communicate()
    took = time.monotonic() - began
    print(f"stopped after {took:.0f} s: exit status {run.returncode}, {errors.strip()[-80:]!r}")


def taken_up(run: "subprocess.Popen[str]", kept: int) -> bool:
    """Wait for the command; whether no log that was kept was looked at again."""
    began = time.monotonic()
    output, errors = run.communicate()
    took = time.monotonic() - began
    said = re.search(r"(\d+) analysed now, (\d+) unchanged", output)
    print(f"taken up: {took:.0f} s, {said[0] if said else errors[-300:]}; {kept} were done before")
    # What was under way at the stop may have ended since.
    return said is not None and int(said[2]) >= kept


def main() -> int:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description="Very many sessions on two workers.")
    parser.add_argument("--sessions", type=int, default=1000)
    parser.add_argument("--stop", type=float, default=0.5, help="after this share of the logs")
    args = parser.parse_args()
    watch = Watch()
    watch.start()
    with tempfile.TemporaryDirectory() as place:
        base = Path(place)
        write_sessions(base / "logs", args.sessions)
        size = sum(f.stat().st_size for f in (base / "logs").iterdir()) / 1e6
        print(f"{args.sessions} logs, {size:.0f} MB", flush=True)
        os.environ |= {"LAPWRIGHT_CACHE": str(base / "cache"), "XDG_DATA_HOME": str(base / "data")}
        with LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster:
            watch.pids |= {f"worker {name}": one.pid for name, one in cluster.workers.items()}
            run = begin(base, cluster.scheduler_address)
            watch.pids["command"] = run.pid
            stopped(run, base / "cache", args.stop * args.sessions)
            kept = results(base / "cache")
            run = begin(base, cluster.scheduler_address)
            watch.pids["command, taken up"] = run.pid
            good = taken_up(run, kept)
    for name, most in watch.most.items():
        print(f"{name}: {most:.0f} MB")
    return int(not good or max(m for n, m in watch.most.items() if "worker" in n) > LIMIT_MB)


if __name__ == "__main__":
    sys.exit(main())
