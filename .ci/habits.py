"""
Count the planted habits that are named, and what is claimed where none is planted.

    python .ci/habits.py [--sessions 50] [--first 10000] [--circuits random] [--none]

Twelve laps at 10 Hz with an ordinary receiver.  In two laps of three the driver brakes 12 m early
in one corner, is 4 km/h slow at the slowest point of another and 15 m late on the throttle in a
third: on Wren Hollow at corners 1, 4 and 10; on random circuits at corners drawn where each costs
0.1 s a lap or more.  With --none there is only the driver's scatter.  About five seconds a session.
"""

import argparse
import os
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from lapwright import simulate as sim
from lapwright.geometry import Corner, Track, read_track
from lapwright.session import Session

Job = tuple[int, bool, bool]
Habit = sim.BrakeEarly | sim.SlowMinimum | sim.LateThrottle
CODES = {"BrakeEarly": "braking", "SlowMinimum": "minimum_speed", "LateThrottle": "throttle"}
AT_WREN_HOLLOW = (sim.BrakeEarly(1), sim.SlowMinimum(4), sim.LateThrottle(10))
# Less than this is not worth planting. [s]
COST_S = 0.1


def track_of(circuit: sim.Circuit) -> Track:
    """Start/finish and sector lines of a circuit, as a racer would give them."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "track.geojson"
        sim.write_track(circuit, file)
        return read_track(file)


def cost_s(circuit: sim.Circuit, car: sim.Car, habit: Habit) -> float:
    """What a habit costs a lap; minus infinity where the corner gives no room for it."""
    times = []
    for habits in ((replace(habit, share=1.0),), ()):
        driver = replace(sim.STEADY, habits=habits)
        try:
            laps = sim.drive(circuit, car, driver, sim.Plan((3,)), seed=1).laps
        except ValueError:
            return -np.inf
        times.append(float(laps.loc[laps["kind"] == "timed", "time_s"].iloc[1]))
    return times[0] - times[1]


def drawn(seed: int) -> tuple[sim.Circuit, sim.Car, tuple[Habit, ...]]:
    """Draw a circuit, a car and a corner for each habit."""
    rng = np.random.default_rng(seed)
    for k in range(20):
        circuit = sim.invented(100 * seed + k)
        car = list(sim.CARS.values())[rng.integers(len(sim.CARS))]
        free = [int(c) for c in rng.permutation(len(circuit.bends)) + 1]
        habits: list[Habit] = []
        for kind in (sim.BrakeEarly, sim.SlowMinimum, sim.LateThrottle):
            fine = (c for c in free if cost_s(circuit, car, kind(c)) >= COST_S)
            corner = next(fine, None)
            if corner is not None:
                habits.append(kind(corner))
                free.remove(corner)
        if len(habits) == len(CODES):
            return circuit, car, tuple(habits)
    msg = f"seed {seed}: no circuit with room for three habits"
    raise ValueError(msg)


def found_corner(circuit: sim.Circuit, track: Track, corner: int) -> int:
    """Number of a corner as found in the log, by the place of its apex along the lap."""
    apex = circuit.bends[corner - 1].apex_m * track.length_m / circuit.length_m

    def away(found: Corner) -> float:
        apart = abs(found.apex_m - apex)
        return min(apart, track.length_m - apart)

    return min(track.corners, key=away).order


def measure(job: Job) -> tuple[set[tuple[int, str]], set[tuple[int, str]]]:
    """What was planted in one session, and what was said: corners and codes."""
    seed, random, none = job
    circuit, car, habits = (
        drawn(seed) if random else (sim.invented("wren_hollow"), sim.LIGHT_CAR, AT_WREN_HOLLOW)
    )
    driver = sim.Driver(habits=() if none else habits)
    run = sim.drive(circuit, car, driver, sim.Plan((12,)), seed=seed)
    session = Session(sim.receive(run, sim.ORDINARY, seed=seed).log(), track_of(circuit))
    said = {(item.corner, item.code) for item in session.worth_trying}
    planted = {
        (found_corner(circuit, session.track, h.corner), CODES[type(h).__name__])
        for h in driver.habits
        if isinstance(h, Habit)
    }
    return planted, said


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").strip().splitlines()[0])
    parser.add_argument("--sessions", type=int, default=50)
    parser.add_argument("--first", type=int, default=10_000, help="seed of the first session")
    parser.add_argument("--circuits", choices=("wren_hollow", "random"), default="wren_hollow")
    parser.add_argument("--none", action="store_true", help="plant nothing")
    parser.add_argument("--processes", type=int, default=1)
    arguments = parser.parse_args()
    seeds = range(arguments.first, arguments.first + arguments.sessions)
    jobs = [(seed, arguments.circuits == "random", arguments.none) for seed in seeds]
    every, claimed, beside = 0, 0, 0
    named: Counter[str] = Counter()
    with ProcessPoolExecutor(arguments.processes) as pool:
        for seed, (planted, said) in zip(seeds, pool.map(measure, jobs), strict=True):
            every += planted <= said
            claimed += bool(said)
            beside += bool(said - planted)
            named.update(code for _, code in planted & said)
            if planted != said:
                print(f"{seed}: missed {sorted(planted - said)}, beside {sorted(said - planted)}")
    print(f"{arguments.sessions} sessions, something said in {claimed}")
    if not arguments.none:
        print(f"all three named in {every}, {dict(named)}, anything else said in {beside}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
