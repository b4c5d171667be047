"""
How often does the interval of a change to the car hold the truth?

    python .ci/changes.py [--weekends 200] [--layouts AB,ABA,AABB,ABAB,AAABBB]

Weekends are drawn as tables of lap times, see tests/support/lap_tables.py; A is a session without
the change, B one with it.  About 25 weekends a second.
"""

import argparse
import os
import sys
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))

import numpy as np
from lap_tables import Weekend, lap_tables

from lapwright.coaching.car_change.lap_model import changes_of
from lapwright.coaching.car_change.session_laps import from_table

USUAL = Weekend()
WORLDS = {
    "usual": USUAL,
    "hard": replace(USUAL, session_sd_s=0.2, correlation=0.5),
    "learns": replace(USUAL, change_s=0.0, track_s=0.0, session_sd_s=0.0),
    "nothing": replace(USUAL, change_s=0.0, track_s=0.0, learns_s=0.0),
}


def measured(plan: Weekend, weekends: int) -> str:
    """Return one row of the table."""
    on_car = np.array([[side == "B"] for side in plan.layout])
    held = claimed = 0
    half, off = [], []
    for seed in range(weekends):
        laps = [from_table(table, str(k)) for k, (table, _) in enumerate(lap_tables(plan, seed))]
        (found,) = changes_of(laps, on_car)
        held += found.low95_s <= plan.change_s <= found.high95_s
        claimed += found.resolved
        half.append(0.5 * (found.high95_s - found.low95_s))
        off.append(found.change_s - plan.change_s)
    return (
        f"{held / weekends:.1%} | {claimed / weekends:.1%} | {np.median(half):.2f} | "
        f"{np.mean(off):+.2f} | {np.std(off):.2f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weekends", type=int, default=200)
    parser.add_argument("--layouts", default="AB,ABA,AABB,ABAB,AAABBB")
    args = parser.parse_args()
    print("| sessions | weekend | holds the truth | leaves out zero | either way [s] |", end="")
    print(" mean error [s] | its sd [s] |\n|---|---|---|---|---|---|---|")
    for layout in args.layouts.split(","):
        for name, world in WORLDS.items():
            row = measured(replace(world, layout=layout), args.weekends)
            print(f"| {' '.join(layout)} | {name} | {row} |", flush=True)


if __name__ == "__main__":
    main()
