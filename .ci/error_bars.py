"""
Hold the error bars of lap and sector times against the truth over many simulated sessions.

    python .ci/error_bars.py [--sessions 200] [--kinds "speed only" ...] [--repeat-line]
        [--out FILE]

Four invented circuits and cars at 1, 5, 10 and 25 Hz in turn; each kind of noise of
`lapwright.simulate.NOISE_KINDS` gets the same drives and seeds; "drawn" has other levels in each
session, drawn from the priors that the estimate assumes.  Prints, for each kind, the shares
of 68 % bars and 95 % intervals that hold the truth, each with its sampling sd (sessions taken as
clusters), and the RMSE of lap times over that of straight-line interpolation of the fixes.
About a second a session; with --out, results are kept a line each and taken up again.
"""

import argparse
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import numpy.typing as npt

from lapwright import simulate as sim
from lapwright.geometry import Track, read_track
from lapwright.ingest.log import Log
from lapwright.motion.noise.priors import PRIORS, drift_centre_m
from lapwright.session import Session

Floats = npt.NDArray[np.float64]

RATES_HZ = (1.0, 5.0, 10.0, 25.0)
# Kinds about the positions come with speed and course, with a speed, and with neither in turn.
VELOCITIES = ("both", "speed", "none")
# These are what they are: a phone has its own rate and velocity.
PHONE_KINDS = frozenset(kind for kind in sim.NOISE_KINDS if kind.startswith("phone"))
POSITION_KINDS = frozenset([*list(sim.NOISE_KINDS)[5:], "drawn"]) - PHONE_KINDS
KINDS = (*sim.NOISE_KINDS, "drawn")
DRIVES: tuple[tuple[str | int, sim.Car, int], ...] = (
    ("wren_hollow", sim.LIGHT_CAR, 6),
    (3, sim.KART, 9),
    (5, sim.SALOON, 7),
    (11, sim.FAST_CAR, 7),
)


@cache
def drive(k: int) -> tuple[sim.TrueRun, Track]:
    """One of the four drives and its track, of which only the lines are given."""
    name, car, laps = DRIVES[k]
    circuit = sim.invented(name)
    run = sim.drive(circuit, car, sim.Driver(), sim.Plan((laps,)), seed=k + 1)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "track.geojson"
        sim.write_track(circuit, file)
        members = json.loads(file.read_text(encoding="utf-8"))
        lines = ("start_finish", "sector")
        features = [f for f in members["features"] if f["properties"].get("role") in lines]
        file.write_text(json.dumps(members | {"features": features}), encoding="utf-8")
        return run, read_track(file)


def interpolated(log: Log, track: Track) -> Floats:
    """Times at which the straight lines between fixes cross the start/finish line."""
    fixes = log.fixes
    position = np.stack(
        track.plane.to_metres(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy()), axis=-1
    )
    gate, time = track.start_finish, fixes["time_s"].to_numpy()
    past = gate.signed_distance(*position.T)
    near = np.abs(gate.offset(*position.T)) < gate.width_m / 2 + 80.0
    k = np.flatnonzero((past[:-1] < 0) & (past[1:] >= 0) & (near[:-1] | near[1:]))
    return np.asarray(time[k] - past[k] * (time[k + 1] - time[k]) / (past[k + 1] - past[k]))


def drawn(seed: int) -> sim.Receiver:
    """Return a receiver with levels drawn from the priors of `lapwright.motion.noise`."""
    rng = np.random.default_rng(seed)

    def level(name: str, centre: float | None = None) -> float:
        prior = PRIORS[name]
        middle = prior.centre if centre is None else centre
        return float(middle * np.exp(prior.log_sd * rng.standard_normal()))

    white = level("white_m")
    return replace(
        sim.ORDINARY,
        white_m=white,
        drift_m=level("drift_m", drift_centre_m(white)),
        drift_tau_s=level("drift_tau_s"),
        doppler_mps=level("speed_mps"),
        slow_mps=level("slow_speed_mps"),
        slow_tau_s=level("slow_speed_tau_s"),
    )


def measure(job: tuple[str, int, bool]) -> dict[str, Any]:
    """Errors and bars of one session; times in seconds."""
    kind, seed, repeat_line = job
    receiver = drawn(seed) if kind == "drawn" else sim.NOISE_KINDS[kind]
    if kind not in PHONE_KINDS:
        receiver = replace(receiver, rate_hz=RATES_HZ[seed // 4 % 4])
    if kind in POSITION_KINDS:
        receiver = replace(receiver, velocity=VELOCITIES[seed // 16 % 3])
    run, track = drive(seed % 4)
    recording = sim.receive(run, receiver, seed=seed)
    log = recording.log()
    session = Session(log, track, repeat_line=repeat_line)
    mine = session.laps[session.laps["kind"] == "timed"]
    true = run.laps[(run.laps["kind"] == "timed") & run.laps["complete"]]
    crossed = interpolated(log, track)
    laps, sectors = [], []
    for lap in true.itertuples():
        begin, end = lap.start_s - recording.zero_s, lap.end_s - recording.zero_s
        at = mine[(mine["start_s"] - begin).abs() < 3.0]
        if at.empty:
            continue
        row = at.iloc[0]
        error = row["time_s"] - lap.time_s
        bounds = (row["time_low95_s"] - lap.time_s, row["time_high95_s"] - lap.time_s)
        a, b = (crossed[np.argmin(np.abs(crossed - t))] for t in (begin, end))
        laps.append((error, row["time_sd_s"], *bounds, b - a - lap.time_s))
        away = np.subtract(row["sectors_s"], lap.sectors_s)
        sectors += list(zip(away.tolist(), row["sector_sds_s"], strict=True))
    facts = {"kind": kind, "seed": seed, "repeat_line": repeat_line, "rate_hz": receiver.rate_hz}
    facts |= {"velocity": receiver.velocity, "missed": len(true) - len(laps)}
    return facts | {"extra": len(mine) - len(laps), "laps": laps, "sectors": sectors}


def clustered(shares: list[npt.NDArray[np.bool_]]) -> tuple[float, float]:
    """Share of all and its sampling sd, with sessions as clusters (ratio estimator)."""
    held = np.array([s.sum() for s in shares])
    count = np.array([len(s) for s in shares])
    share = held.sum() / count.sum()
    return float(share), float(np.sqrt(((held - share * count) ** 2).sum()) / count.sum())


def line(name: str, rows: list[dict[str, Any]]) -> str:
    """One line of the table."""
    laps = [np.array(r["laps"]) for r in rows if r["laps"]]
    sectors = [np.array(r["sectors"]) for r in rows if r["sectors"]]
    held68 = clustered([np.abs(x[:, 0]) < x[:, 1] for x in laps])
    held95 = clustered([(x[:, 2] < 0) & (x[:, 3] > 0) for x in laps])
    in_sectors = clustered([np.abs(x[:, 0]) < x[:, 1] for x in sectors])
    rmse, base = (np.sqrt(np.mean([(x[:, c] ** 2).mean() for x in laps])) for c in (0, 4))
    odd = sum(r["missed"] + r["extra"] for r in rows)
    return (
        f"{name:28} {len(laps):5} {sum(map(len, laps)):6}   {held68[0]:.3f} ± {held68[1]:.3f}   "
        f"{held95[0]:.3f} ± {held95[1]:.3f}   {in_sectors[0]:.3f} ± {in_sectors[1]:.3f}   "
        f"{1e3 * rmse:6.1f} {1e3 * base:6.1f} {rmse / base:5.2f} {odd:4}"
    )


def report(rows: list[dict[str, Any]]) -> Iterator[str]:
    """The table: by kind, by rate, by kind of velocity."""
    head = ("laps 68 %", "laps 95 %", "sectors 68 %")
    yield (
        f"{'':28} {'ses.':>5} {'laps':>6}   "
        + "   ".join(f"{h:13}" for h in head)
        + ("   RMSE  naive ratio odd   (ms)")
    )
    for key in ("kind", "rate_hz", "velocity"):
        for value in dict.fromkeys(r[key] for r in rows):
            yield line(str(value), [r for r in rows if r[key] == value])
        yield ""


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").strip().splitlines()[0])
    parser.add_argument("--sessions", type=int, default=200, help="of each kind")
    parser.add_argument("--first", type=int, default=10_000, help="seed of the first session")
    parser.add_argument("--kinds", nargs="*", default=list(KINDS))
    parser.add_argument(
        "--repeat-line", action="store_true", help="with the repeated line as a sensor"
    )
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", type=Path, help="keep results here, a line each")
    arguments = parser.parse_args()
    rows: list[dict[str, Any]] = []
    if arguments.out is not None and arguments.out.exists():
        rows = [json.loads(x) for x in arguments.out.read_text(encoding="utf-8").splitlines()]
    done = {(r["kind"], r["seed"], r["repeat_line"]) for r in rows}
    seeds = range(arguments.first, arguments.first + arguments.sessions)
    jobs = [(kind, seed, arguments.repeat_line) for seed in seeds for kind in arguments.kinds]
    jobs = [job for job in jobs if job not in done]
    with ProcessPoolExecutor(arguments.processes) as pool:
        for row in pool.map(measure, jobs):
            rows.append(row)
            if arguments.out is not None:
                with arguments.out.open("a", encoding="utf-8") as kept:
                    kept.write(json.dumps(row) + "\n")
    print("\n".join(report([r for r in rows if r["repeat_line"] == arguments.repeat_line])))
    return 0


if __name__ == "__main__":
    sys.exit(main())
