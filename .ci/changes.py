"""
How often does the interval of a change to the car hold the truth?

    python .ci/changes.py [--weekends 200] [--first-seed 0] [--layouts AB,ABA,AABB,ABAB,AAABBB]

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
WORLDS: dict[str, Weekend | None] = {
    "any": None,
    "usual": USUAL,
    "hard": replace(USUAL, session_sd_s=0.2, correlation=0.5),
    "learns": replace(USUAL, change_s=0.0, track_s=0.0, session_sd_s=0.0),
    "nothing": replace(USUAL, change_s=0.0, track_s=0.0, learns_s=0.0),
}


def any_weekend(layout: str, seed: int) -> Weekend:
    """Draw how a weekend goes; they come in all sorts."""
    rng = np.random.default_rng([seed, 1])
    return Weekend(
        layout=layout, learns_s=rng.uniform(0.0, 0.5), track_s=rng.uniform(-0.1, 0.4),
        session_sd_s=rng.uniform(0.0, 0.3), scatter_s=rng.uniform(0.15, 0.5),
        correlation=rng.uniform(0.0, 0.6),
    )  # fmt: skip


def measured(plan: Weekend | None, layout: str, weekends: int, first: int) -> str:
    """Return one row of the table."""
    on_car = np.array([[side == "B"] for side in layout])
    held = claimed = 0
    half, off = [], []
    for seed in range(first, first + weekends):
        drawn = any_weekend(layout, seed) if plan is None else replace(plan, layout=layout)
        laps = [from_table(table, str(k)) for k, (table, _) in enumerate(lap_tables(drawn, seed))]
        (found,) = changes_of(laps, on_car)
        held += found.low95_s <= drawn.change_s <= found.high95_s
        claimed += found.resolved
        half.append(0.5 * (found.high95_s - found.low95_s))
        off.append(found.change_s - drawn.change_s)
    return (
        f"{held / weekends:.1%} | {claimed / weekends:.1%} | {np.median(half):.2f} | "
        f"{np.mean(off):+.2f} | {np.std(off):.2f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weekends", type=int, default=200)
    parser.add_argument("--layouts", default="AB,ABA,AABB,ABAB,AAABBB")
    parser.add_argument("--first-seed", type=int, default=0)
    args = parser.parse_args()
    print("| sessions | weekend | holds the truth | leaves out zero | either way [s] |", end="")
    print(" mean error [s] | its sd [s] |\n|---|---|---|---|---|---|---|")
    for layout in args.layouts.split(","):
        for name, world in WORLDS.items():
            row = measured(world, layout, args.weekends, args.first_seed)
            print(f"| {' '.join(layout)} | {name} | {row} |", flush=True)


if __name__ == "__main__":
    main()
