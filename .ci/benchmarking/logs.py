"""
Write the simulated logs that are measured: `python logs.py FOLDER NAME...`.

A program of its own, so that the one that measures stays small.  All are of the circuit Wren
Hollow, where a lap takes some 95 s.
"""

import sys
from dataclasses import replace
from pathlib import Path

from lapwright import simulate as sim

SEED = 11
MINUTES = 20
SESSIONS = 12


def write(
    path: Path, laps: int, rate_hz: float, fixes: int | None = None, seed: int = SEED
) -> None:
    """Write a log of some timed laps, cut to so many fixes."""
    run = sim.drive(CIRCUIT, sim.LIGHT_CAR, sim.Driver(), sim.Plan((laps,)), seed=seed)
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=float(rate_hz)), seed=seed + 1)
    sim.write_csv(recording, path)
    if fixes is None:
        return
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    if len(lines) <= fixes:
        msg = f"{path.name}: only {len(lines) - 1} fixes of {fixes}; drive more laps"
        raise SystemExit(msg)
    path.write_text("".join(lines[: fixes + 1]), encoding="utf-8")


def _laps_for(fixes: int, rate_hz: float) -> int:
    """Enough laps for so many fixes: no lap of this car takes less than 90 s."""
    return int(fixes / rate_hz / 90.0) + 1


def write_named(folder: Path, name: str) -> None:
    """Write what is named: fixes-NUMBER-HZ, rate-HZ, laps-NUMBER, or the folder weekend."""
    kind, *text = name.split("-")
    numbers = [int(one) for one in text]
    if kind == "fixes":
        write(folder / f"{name}.csv", _laps_for(*numbers), numbers[1], numbers[0])
    elif kind == "rate":
        fixes = MINUTES * 60 * numbers[0]
        write(folder / f"{name}.csv", _laps_for(fixes, numbers[0]), numbers[0], fixes)
    elif kind == "laps":
        write(folder / f"{name}.csv", numbers[0], 10.0)
    else:
        (folder / "weekend").mkdir()
        sim.write_track(CIRCUIT, folder / "weekend" / "track.geojson")
        fixes = MINUTES * 60 * 25
        for k in range(SESSIONS):
            log = folder / "weekend" / f"session_{k + 1:02}.csv"
            write(log, _laps_for(fixes, 25.0), 25.0, fixes, seed=SEED + 2 * k)


if __name__ == "__main__":
    CIRCUIT = sim.invented("wren_hollow")
    sim.write_track(CIRCUIT, Path(sys.argv[1]) / "track.geojson")
    for one in sys.argv[2:]:
        write_named(Path(sys.argv[1]), one)
