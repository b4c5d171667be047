"""
Stints: the laps between two visits to the pits, their pace, and how it fades.

The fade is a trend of the clean laps' times over the laps of the stint.  Tyres, fuel, the track and
the driver are all in it; a log cannot take them apart.
"""

from collections.abc import Collection

import numpy as np
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.race import STINTS
from lapwright.numerics.regression import theil_sen

# Of four laps in any order one in 12 falls or rises throughout by chance: no 95 % interval there.
MIN_FADE_LAPS = 5


def stints(
    laps: pd.DataFrame, held_up: Collection[int] = (), *, changing: bool = False
) -> pd.DataFrame:
    """
    Cut the laps into stints.

    Parameters
    ----------
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    held_up : collection of int
        Laps that look held up: they count, but the trend is without them.
    changing : bool
        Whether the track is noted to have changed, such as from dry to wet: there is no fade then.

    Returns
    -------
    DataFrame
        See `lapwright.columns.race.STINTS`; one row a stint with a timed lap.
    """
    kind = laps["kind"].to_numpy()
    # An out lap begins a stint, and what comes after an in lap.
    number = np.cumsum((kind == "out") | np.r_[False, kind[:-1] == "in"])
    rows = []
    for _, part in laps.groupby(number, sort=True):
        timed = part[part["kind"] == "timed"]
        if len(timed):
            rows.append({"stint": len(rows) + 1} | _stint(timed, held_up, changing=changing))
    return arranged(pd.DataFrame(rows), STINTS) if rows else empty(STINTS)


def _stint(timed: pd.DataFrame, held_up: Collection[int], *, changing: bool) -> dict[str, object]:
    clean = timed[timed["representative"]]
    times = clean["time_s"].to_numpy(dtype=np.float64)
    free = clean[~clean["lap"].isin(list(held_up))]
    fade, low, high = np.nan, np.nan, np.nan
    if len(free) >= MIN_FADE_LAPS and not changing:
        trend = theil_sen(free["lap"], free["time_s"])
        fade, low, high = trend.slope, trend.low, trend.high
    return {
        "first_lap": int(timed["lap"].iloc[0]),
        "last_lap": int(timed["lap"].iloc[-1]),
        "clean_laps": len(clean),
        "median_s": float(np.median(times)) if len(times) else np.nan,
        "spread_s": float(times.std(ddof=1)) if len(times) > 1 else np.nan,
        "fade_laps": len(free),
        "fade_s_per_lap": fade,
        "fade_low95_s_per_lap": low,
        "fade_high95_s_per_lap": high,
    }
