"""
Measure the command line against pandas: a 90,000-fix CSV, whole process against whole process.

    python .ci/benchmark.py [--repeats 5] [--check]

Writes a simulated one-hour log at 25 Hz and its track file into a temporary folder and prints
the medians as ratios, with the targets beside them.  With --check, exit status 1 if one is missed.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from lapwright import simulate as sim

FIXES = 90_000
# Runs a command and prints its peak memory (ru_maxrss is in KiB on Linux) when it has ended.
MEASURED = (
    "import resource,subprocess,sys;"
    "r=subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,stderr=subprocess.DEVNULL);"
    "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss);sys.exit(r.returncode)"
)


def write_hour(folder: Path) -> tuple[Path, Path]:
    """Write a log with at least `FIXES` fixes, cut to that many, and the circuit's lines."""
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((38,)), seed=11)
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=25.0), seed=12)
    log, track = folder / "hour.csv", folder / "track.geojson"
    sim.write_csv(recording, log)
    lines = log.read_text(encoding="utf-8").splitlines(keepends=True)
    if len(lines) <= FIXES:
        message = f"the simulated log has only {len(lines) - 1} fixes; drive more laps"
        raise SystemExit(message)
    log.write_text("".join(lines[: FIXES + 1]), encoding="utf-8")
    sim.write_track(circuit, track)
    return log, track


def seconds(*command: str) -> float:
    """Wall time of one process, with byte code kept from run to run as installed code has it."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=kept)
    return time.perf_counter() - start


def paired(
    repeats: int, ours: Callable[[], float], theirs: Callable[[], float]
) -> tuple[float, float]:
    """Medians of two measurements taken in turns, so that a busy machine slows both alike."""
    pairs = [(ours(), theirs()) for _ in range(repeats)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the command line against pandas.")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--check", action="store_true")
    arguments = parser.parse_args()
    python = sys.executable
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        log, track = write_hour(Path(folder))
        megabytes = log.stat().st_size / 1e6
        cli = [python, "-m", "lapwright"]
        laps = [*cli, "laps", str(log), "--track", str(track)]
        read = [python, "-c", f"import pandas; pandas.read_csv({str(log)!r})"]
        pandas = [python, "-c", "import pandas"]
        print(f"log: {FIXES} fixes, {megabytes:.1f} MB; medians of {arguments.repeats}")
        rows = [
            ("laps --repeat-line off / read_csv", [*laps, "--road", "off"], read, 4.0),
            ("laps, everything on / read_csv", laps, read, None),
            ("import lapwright / import pandas", [python, "-c", "import lapwright"], pandas, 1.3),
            ("lapwright --help / import pandas", [*cli, "--help"], pandas, 0.5),
        ]
        for name, ours, theirs, target in rows:
            few = max(arguments.repeats // 2, 1) if target is None else arguments.repeats
            seconds(*ours)
            mine, base = paired(few, lambda c=ours: seconds(*c), lambda c=theirs: seconds(*c))
            ratio = mine / base
            wanted = "" if target is None else f"  (at most {target})"
            print(f"{name:34} {mine:7.2f} s / {base:5.2f} s = {ratio:6.2f}{wanted}")
            missed += target is not None and ratio > target
        command = [python, "-c", MEASURED, *laps, "--repeat-line", "off"]
        peak = int(subprocess.run(command, check=True, capture_output=True, text=True).stdout) / 1e3
        limit = 8.0 * megabytes + 250.0
        print(f"{'peak memory of laps --repeat-line off':34} {peak:7.0f} MB  (at most {limit:.0f})")
        missed += peak > limit
    return int(arguments.check and missed > 0)


if __name__ == "__main__":
    sys.exit(main())
