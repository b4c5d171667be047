"""
Count how often a planted cause of lost time is named, and what it is said to cost.

    python .ci/causes.py [--sessions 50] [--first 20000] [--cars kart "fast GT"] [--bridge]

Eight laps at 10 Hz with an ordinary receiver and a tidy driver.  In about half of the
laps one thing is done in one corner: braking 12 m early, 4 km/h slow at the slowest point, or the
throttle 15 m late.  The middle one of the clean laps with it is compared with the best without.
"Named" is that in this corner most of the time is charged to it; "wrong" that most is charged to
another cause by more than twice its error bar.  With --bridge 60 m of every lap have no fix, half
a lap from the corner.
"""

import argparse
import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from habits import COST_S, Habit, cost_s, found_corner, track_of

from lapwright import simulate as sim
from lapwright.ingest.log import Log
from lapwright.session import Session

EXPECTED = {"BrakeEarly": "braking", "SlowMinimum": "minimum", "LateThrottle": "exit"}
# Two laps are compared, so what a driver does by chance must be less than what is planted.
TIDY = sim.Driver(corner_spread=0.004, braking_sd_m=1.5, throttle_sd_m=1.5)
KINDS = (sim.BrakeEarly, sim.SlowMinimum, sim.LateThrottle)


def planted(seed: int, car: sim.Car, kind: type[Habit]) -> tuple[sim.Circuit, Habit]:
    """Draw a circuit and a corner where the habit costs something."""
    rng = np.random.default_rng(seed)
    for k in range(20):
        circuit = sim.invented(100 * seed + k)
        for corner in rng.permutation(len(circuit.bends)) + 1:
            habit = kind(int(corner), share=0.5)
            if cost_s(circuit, car, habit) >= COST_S:
                return circuit, habit
    msg = f"seed {seed}: no corner for {kind.__name__}"
    raise ValueError(msg)


def under_bridge(run: sim.TrueRun, recording: sim.Recording, at_m: float) -> Log:
    """A log without the fixes of 60 m of every lap."""
    log = recording.log()
    progress = np.asarray(run.progress(log.fixes["time_s"].to_numpy() + recording.zero_s))
    seen = np.abs(np.mod(progress - at_m + 30.0, run.circuit.length_m) - 30.0) > 30.0
    return replace(log, fixes=log.fixes[seen].reset_index(drop=True))


def measure(job: tuple[int, str, int, bool]) -> tuple[str, str]:
    """What was planted, and whether it was named: named, equal, wrong or none."""
    seed, name, which, bridge = job
    car, kind = sim.CARS[name], KINDS[which]
    circuit, habit = planted(seed, car, kind)
    run = sim.drive(circuit, car, replace(TIDY, habits=(habit,)), sim.Plan((8,)), seed=seed)
    recording = sim.receive(run, sim.ORDINARY, seed=seed)
    far_m = circuit.bends[habit.corner - 1].apex_m + 0.5 * circuit.length_m
    log = under_bridge(run, recording, far_m) if bridge else recording.log()
    session = Session(log, track_of(circuit))
    true = run.passes[run.passes["corner"] == habit.corner]
    did = {int(n) for n, h in zip(true["timed_lap"], true["habits"], strict=True) if h}
    clean = session.laps[session.laps["representative"]].sort_values("time_s")
    timed = {lap: k for k, lap in enumerate(session.timed_laps, start=1)}
    mine = [int(n) for n in clean["lap"] if timed[int(n)] in did]
    others = [int(n) for n in clean["lap"] if timed[int(n)] not in did]
    if not mine or not others:
        return kind.__name__, "none"
    causes = session.compare(mine[len(mine) // 2], others[0]).causes
    here = causes[causes["corner"] == found_corner(circuit, session.track, habit.corner)]
    top = here.loc[here["lost_s"].idxmax()]
    if top["cause"] == EXPECTED[kind.__name__]:
        return kind.__name__, "named"
    return kind.__name__, "wrong" if top["lost_s"] > 2.0 * top["lost_sd_s"] else "equal"


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").strip().splitlines()[0])
    parser.add_argument("--sessions", type=int, default=50, help="for each car and cause")
    parser.add_argument("--first", type=int, default=20_000, help="seed of the first session")
    parser.add_argument("--cars", nargs="+", default=list(sim.CARS))
    parser.add_argument("--bridge", action="store_true", help="60 m of every lap without a fix")
    parser.add_argument("--processes", type=int, default=1)
    arguments = parser.parse_args()
    seeds = range(arguments.first, arguments.first + arguments.sessions)
    bridge = arguments.bridge
    jobs = [(s, car, k, bridge) for car in arguments.cars for k in range(len(KINDS)) for s in seeds]
    found: Counter[tuple[str, str, str]] = Counter()
    with ProcessPoolExecutor(arguments.processes) as pool:
        for (seed, car, *_), (kind, how) in zip(jobs, pool.map(measure, jobs), strict=True):
            found[car, kind, how] += 1
            if how != "named":
                print(f"{car}, {seed}: {kind} {how}")
    for car in arguments.cars:
        for kind in EXPECTED:
            counts = {how: found[car, kind, how] for how in ("named", "equal", "wrong", "none")}
            print(f"{car:18} {kind:13} {counts}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
