"""A session of a weekend in a few figures: best, middle and spread of its laps."""

from typing import Any

import numpy as np
import pandas as pd

from lapwright.batch.tables.engine import session_summary

_SUMMARY = (
    "median_s", "spread_s", "best_by_luck_s", "drift_s_per_lap", "drift_low95_s_per_lap",
    "drift_high95_s_per_lap", "top_speed_mps",
)  # fmt: skip


def figures_of(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """
    Sum up the laps of a session.

    Parameters
    ----------
    rows : list of dict
        One object a lap, see `lapwright.batch.worker.Result`.

    Returns
    -------
    dict
        Columns of `lapwright.columns.weekend.SESSIONS`; NaN or None where there are no such laps.
    """
    laps = pd.DataFrame(rows)
    figures: dict[str, Any] = {
        "laps": 0, "clean_laps": 0, "best_lap": None, "best_lap_s": np.nan,
        "best_lap_sd_s": np.nan, **dict.fromkeys(_SUMMARY, np.nan),
    }  # fmt: skip
    if laps.empty:
        return figures
    timed = laps[(laps["kind"] == "timed") & laps["time_s"].notna()]
    best = timed[timed["is_best"].astype(bool)]
    if len(best):
        row = best.iloc[0]
        figures |= {"best_lap": int(row["lap"]), "best_lap_s": float(row["time_s"]),
                    "best_lap_sd_s": float(row["time_sd_s"])}  # fmt: skip
    summary = session_summary(laps.assign(representative=laps["representative"].astype(bool)))
    known = {name: summary[name] for name in ("laps", "clean_laps", *_SUMMARY)}
    return figures | {k: np.nan if v is None else v for k, v in known.items()}
