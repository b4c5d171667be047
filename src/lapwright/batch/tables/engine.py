"""A session in one row, for a weekend's table: times, spread, drift, what the engine did."""

import numpy as np
import pandas as pd

from lapwright.car.watched import engine_channels
from lapwright.coaching.two_group_test import luck_of_best
from lapwright.columns import names
from lapwright.columns.weekend import ENGINE
from lapwright.ingest.log import Log
from lapwright.numerics.regression import fit_line


def session_summary(laps: pd.DataFrame) -> dict[str, float | int | None]:
    """
    A session's laps in one row.

    Parameters
    ----------
    laps : DataFrame
        See `lapwright.laps.lap_table`.

    Returns
    -------
    dict
        ``laps`` (timed), ``clean_laps``, ``best_s``, ``median_s`` and ``spread_s`` (standard
        deviation) of the clean laps' times,
        ``best_by_luck_s`` (how far below the mean the best of so many laps lies by scatter alone),
        ``drift_s_per_lap`` (slope of the clean laps' times over the lap number; negative where
        the driver got quicker) with ``drift_low95_s_per_lap`` and ``drift_high95_s_per_lap``, and
        ``top_speed_mps`` (of all laps, out and in laps too).  None where there are too few laps.
    """
    timed = laps[(laps["kind"] == "timed") & laps["time_s"].notna()]
    clean = laps[laps["representative"]]
    times = clean["time_s"].to_numpy(dtype=np.float64)
    top = laps["top_speed_mps"].max()
    row: dict[str, float | int | None] = {
        "laps": len(timed),
        "clean_laps": len(clean),
        "best_s": float(times.min()) if len(times) else None,
        "median_s": float(np.median(times)) if len(times) else None,
        "spread_s": None,
        "best_by_luck_s": None,
        "drift_s_per_lap": None,
        "drift_low95_s_per_lap": None,
        "drift_high95_s_per_lap": None,
        "top_speed_mps": float(top) if np.isfinite(top) else None,
    }
    if len(times) >= 2:
        row["spread_s"] = spread = float(np.std(times, ddof=1))
    if len(times) >= 3:
        row["best_by_luck_s"] = luck_of_best(len(times)) * spread
        line = fit_line(clean["lap"].to_numpy(dtype=np.float64), times)
        low, high = line.slope_interval()
        row.update(
            drift_s_per_lap=line.slope, drift_low95_s_per_lap=low, drift_high95_s_per_lap=high
        )
    return row


def engine_table(log: Log, laps: pd.DataFrame) -> pd.DataFrame:
    """
    What the engine did on each lap.

    Parameters
    ----------
    log : Log
    laps : DataFrame
        See `lapwright.laps.lap_table`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.ENGINE`.  Empty where the log holds no such channel.
    """
    time = log.channels["time_s"].to_numpy(dtype=np.float64) if len(log.channels) else np.zeros(0)
    rows = []
    for name in engine_channels(log):
        values = log.channels[name].to_numpy(dtype=np.float64)
        for lap, start, end in zip(laps["lap"], laps["start_s"], laps["end_s"], strict=True):
            first, last = np.searchsorted(time, [start, end])
            inside = values[first:last]
            inside = inside[np.isfinite(inside)]
            if len(inside):
                rows.append((lap, name, log.channel_units.get(name) or "", float(inside.min()),
                             float(inside.mean()), float(inside.max())))  # fmt: skip
    return pd.DataFrame(rows, columns=names(ENGINE))
