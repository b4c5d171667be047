"""A season of as many sessions as wanted, made as tables: its best minimum speeds are known."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.batch.season import add_to_season
from lapwright.columns import empty
from lapwright.columns.weekend import SESSIONS, WEEKEND_PASSES

CIRCUITS, SETS = ("Wren Hollow", "Ösel/Nord"), ("1", "2", "3")
CORNERS, LAPS, SESSIONS_A_WEEKEND = 10, 8, 10


@dataclass(frozen=True)
class SeasonWorld:
    """
    A season, and what it holds.

    Attributes
    ----------
    place : path or str
    best_mps : dict
        By (circuit, corner, tyre set): the highest minimum speed on a clean lap.
    """

    place: str | Path
    best_mps: dict[tuple[str, int, str], float]


def season_world(place: str | Path, sessions: int, seed: int) -> SeasonWorld:
    """Make a season; each weekend is put into it by itself."""
    rng = np.random.default_rng(seed)
    best: dict[tuple[str, int, str], float] = {}
    for first in range(0, sessions, SESSIONS_A_WEEKEND):
        circuit = CIRCUITS[int(rng.integers(len(CIRCUITS)))]
        heads, passes = [], []
        start = pd.Timestamp("2025-03-01T10:00", tz="UTC") + pd.Timedelta(days=3 * first // 10)
        for k in range(min(SESSIONS_A_WEEKEND, sessions - first)):
            # Every weekend's sessions have the same names.
            name = f"run {k + 1}"
            heads.append({"session": name, "path": f"{name}.csv", "status": "ok", "track": circuit,
                          "start_utc": start + pd.Timedelta(hours=k)})  # fmt: skip
            table = _passes(rng, name, circuit, SETS[int(rng.integers(len(SETS)))])
            passes.append(table)
            for row in table[table["representative"]].itertuples():
                key = (circuit, int(row.corner), str(row.tyre_set))
                best[key] = max(best.get(key, 0.0), float(row.min_speed_mps))
        tables = {
            "sessions": pd.concat([empty(SESSIONS), pd.DataFrame(heads)], ignore_index=True),
            "passes": pd.concat(passes, ignore_index=True),
        }
        add_to_season(
            place, tables, {f"run {k + 1}": f"{first + k:016x}" for k in range(len(heads))}
        )
    return SeasonWorld(place, best)


def _passes(rng: np.random.Generator, session: str, circuit: str, tyre_set: str) -> pd.DataFrame:
    lap, corner = (a.ravel() for a in np.mgrid[1 : LAPS + 1, 1 : CORNERS + 1])
    columns = {c: np.full(lap.size, np.nan) for c in empty(WEEKEND_PASSES, "weekend")}
    texts = ("log", "driver", "car", "tyres", "conditions", "brake_source", "throttle_source")
    columns |= {name: np.full(lap.size, "", dtype=object) for name in texts}
    clean = rng.random(LAPS) < 0.8
    columns |= {
        "session": session, "track": circuit, "tyre_set": tyre_set, "lap": lap, "corner": corner,
        "corner_name": [f"Corner {n}" for n in corner], "flat": False,
        "representative": clean[lap - 1],
        "min_speed_mps": rng.normal(15.0 + 2.0 * corner, 0.6),
        "min_speed_sd_mps": np.full(lap.size, 0.1),
    }  # fmt: skip
    return pd.DataFrame(columns)
