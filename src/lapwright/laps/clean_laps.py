"""Which laps are clean (representative), which is the best, and the best sectors added up."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.discovery.loop.usual_pace import CLEAN_FACTOR, usual_time_s
from lapwright.laps.cutting.cuts import Cuts
from lapwright.laps.lap_flags import SLOW_FACTOR

Floats = npt.NDArray[np.float64]

# A lap with one of these was not driven whole, or is not known well enough, to be the best.
NOT_FOR_BEST = frozenset({"gap", "off_path", "short_cut", "reversed"})


def with_clean_laps(table: pd.DataFrame) -> pd.DataFrame:
    """Add the flag ``slow`` and which laps are representative."""
    timed = (table["kind"] == "timed") & table["time_s"].notna()
    times = table.loc[timed, "time_s"].to_numpy(dtype=np.float64)
    if len(times) == 0:
        return table.assign(representative=False)
    usual = usual_time_s(times)
    slow = timed & (table["time_s"] > SLOW_FACTOR * usual)
    flags = pd.Series(
        [
            ("slow", *f) if s and "standing_start" not in f else f
            for f, s in zip(table["flags"], slow, strict=True)
        ],
        index=table.index,
    )
    table = table.assign(flags=flags)
    clean = table["flags"].map(len) == 0
    near = table["time_s"] <= CLEAN_FACTOR * usual
    return table.assign(representative=timed & clean & near)


def best_lap(table: pd.DataFrame) -> int | None:
    """Number of the fastest timed lap that went the whole way on the track, or None."""
    good = (table["kind"] == "timed") & table["time_s"].notna()
    good &= table["flags"].map(NOT_FOR_BEST.isdisjoint)
    if not good.any():
        return None
    laps, times = table["lap"].to_numpy()[good], table["time_s"].to_numpy()[good]
    return int(laps[np.argmin(times)])


def theoretical_best(table: pd.DataFrame, cuts: Cuts) -> tuple[float, float] | None:
    """
    Sum of the best sectors of clean laps, which nobody drove in one lap.

    Parameters
    ----------
    table : DataFrame
        See `lapwright.laps.lap_table`.
    cuts : Cuts

    Returns
    -------
    (time_s, sd_s) or None
        None where a sector has no clean time.  Being the best of several, each sector is lucky by
        a part of its own error bar, which the sd does not take away.
    """
    clean = table[table["representative"]]
    if clean.empty:
        return None
    sectors = np.array([list(row) for row in clean["sectors_s"]])
    if not np.isfinite(sectors).any(axis=0).all():
        return None
    best = np.nanargmin(np.where(np.isfinite(sectors), sectors, np.inf), axis=0)
    passage = np.searchsorted(cuts.passages["time_s"], clean["start_s"].to_numpy() - 1e-6)
    pick = np.zeros((1, len(cuts.posterior.mean)))
    for k, row in enumerate(best):
        i = int(passage[row])
        marks = [i, *(int(j) for j in cuts.index[i]), i + 1]
        pick[0, marks[k + 1]] += 1.0
        pick[0, marks[k]] -= 1.0
    total = cuts.posterior.combined(pick)
    return float(total.mean[0]), float(total.sd[0])
