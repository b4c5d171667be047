"""
Hold the calculated lap against the lap that it is about, in simulated sessions.

    python .ci/achievable.py [--seeds 50] [--first 2000] [--limit]

The truth is the lap that the simulator drives with the same car, pace and usual line, without
scatter, habits, settling or fade.  Circuit, car, driver, number of laps, rate (5 to 25 Hz) and
whether speed is logged vary.  The calculated lap should lie within 1 % of it, and the 95 % interval
should hold it in 90 to 98 of 100 sessions.  With --limit the driver has next to no scatter and no
habits, and should be told that there is nothing left but scatter.  About two seconds a session.
"""

import argparse
import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from lapwright import simulate as sim
from lapwright.errors import LapwrightError
from lapwright.geometry import Track, read_track
from lapwright.session import Session

# The same driver without anything that costs time.
QUIET = {
    "line_sd_m": 0.0, "wide_moments_per_lap": 0.0, "corner_spread": 0.0, "lap_spread": 0.0,
    "braking_sd_m": 0.0, "throttle_sd_m": 0.0, "settling": 0.0, "fade_per_lap": 0.0, "habits": (),
}  # fmt: skip
# Next to no scatter: a tenth of an ordinary driver's line and corner speeds.
AT_LIMIT = replace(
    sim.Driver(), line_sd_m=0.04, wide_moments_per_lap=0.0, corner_spread=0.001, lap_spread=0.0003,
    braking_sd_m=0.3, throttle_sd_m=0.0, settling=0.0,
)  # fmt: skip
KINDS = (sim.BrakeEarly, sim.SlowMinimum, sim.LateThrottle)


def world(seed: int, *, limit: bool) -> tuple[sim.Circuit, sim.Car, sim.Driver, int, sim.Receiver]:
    """Draw circuit, car, driver, number of laps and receiver."""
    rng = np.random.default_rng([9917, seed])
    circuit = sim.invented("wren_hollow" if seed % 5 == 0 else int(rng.integers(1, 5000)))
    car = list(sim.CARS.values())[seed % len(sim.CARS)]
    receiver = sim.Receiver(
        rate_hz=float(rng.choice([5, 10, 20, 25])), velocity=str(rng.choice(["none", "both"]))
    )
    laps, pace = int(rng.integers(7, 13)), float(rng.uniform(0.92, 1.0))
    if limit:
        return circuit, car, replace(AT_LIMIT, pace=pace), laps, receiver
    habits: list[sim.BrakeEarly | sim.SlowMinimum | sim.LateThrottle] = []
    if rng.random() < 0.7:
        corners = (rng.permutation(len(circuit.bends)) + 1).tolist()
        for kind, corner in zip(KINDS, corners, strict=False):
            one = kind(corner)
            try:
                only = replace(sim.STEADY, pace=pace, habits=(one,))
                sim.drive(circuit, car, only, sim.Plan((2,)), seed=1)
            except ValueError:
                continue
            habits.append(one)
    return circuit, car, sim.Driver(pace=pace, habits=tuple(habits)), laps, receiver


def true_lap_s(circuit: sim.Circuit, car: sim.Car, driver: sim.Driver) -> float:
    """Return the lap without scatter and habits."""
    run = sim.drive(circuit, car, replace(driver, **QUIET), sim.Plan((3,)), seed=1)
    timed = run.laps[run.laps["kind"] == "timed"]
    return float(timed["time_s"].iloc[1])


def track_of(circuit: sim.Circuit) -> Track:
    """Start/finish and sector lines of a circuit, as a racer would give them."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "track.geojson"
        sim.write_track(circuit, file)
        return read_track(file)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").strip().splitlines()[0])
    parser.add_argument("--seeds", type=int, default=50)
    parser.add_argument("--first", type=int, default=2000, help="seed of the first session")
    parser.add_argument("--limit", action="store_true", help="a driver already at the limit")
    arguments = parser.parse_args()
    off, held, usual, scatter, half = [], [], [], [], []
    for seed in range(arguments.first, arguments.first + arguments.seeds):
        circuit, car, driver, laps, receiver = world(seed, limit=arguments.limit)
        run = sim.drive(circuit, car, driver, sim.Plan((laps,)), seed=seed)
        log = sim.receive(run, receiver, seed=seed).log()
        truth = true_lap_s(circuit, car, driver)
        what = (
            f"{seed} {circuit.name}, {car.name}, {receiver.rate_hz:.0f} Hz, {receiver.velocity}, "
            f"{laps} laps, {len(driver.habits)} habits"
        )
        try:
            found = Session(log, track_of(circuit), cache=None).achievable
        except LapwrightError as error:
            print(f"{what}: {error}", flush=True)
            continue
        off.append(100.0 * (found.time_s / truth - 1.0))
        usual.append(100.0 * (found.usual_s / truth - 1.0))
        half.append(50.0 * (found.time_high95_s - found.time_low95_s) / truth)
        held.append(found.time_low95_s <= truth <= found.time_high95_s)
        scatter.append(found.only_scatter)
        print(
            f"{what}: {found.time_s:.2f} for {truth:.2f} s, {off[-1]:+.2f} % "
            f"({'held' if held[-1] else 'NOT held'}; usual {usual[-1]:+.2f} %)",
            flush=True,
        )
    errors = np.array(off)
    rms = float(np.sqrt((errors**2).mean()))
    print(
        f"{len(errors)} sessions: mean {errors.mean():+.2f} %, rms {rms:.2f} %, "
        f"largest {np.abs(errors).max():.2f} %, within 1 % in {(np.abs(errors) <= 1.0).sum()}; "
        f"interval +-{np.mean(half):.2f} %, holds the truth in {sum(held)}; usual lap "
        f"{np.mean(usual):+.2f} %; nothing left but scatter in {sum(scatter)}"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
