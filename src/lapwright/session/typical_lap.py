"""The lap that is held against the best one: what the driver usually does."""

import numpy as np
import pandas as pd

# Less than this is rounding. [s]
_SAME_S = 1e-6


def typical_lap(laps: pd.DataFrame, best: int | None) -> int | None:
    """
    Return the clean lap, other than the best, whose time is nearest the median of these.

    Parameters
    ----------
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    best : int or None
        Number of the best lap.

    Returns
    -------
    int or None
        None where no other lap is clean.  Of two laps it is simply the other one.  Of two in the
        middle it is the earlier one.  The lap after an out lap or a standing start begins on cold
        tyres, so it is taken only where there is no other.
    """
    rest = laps[laps["representative"] & (laps["lap"] != best)]
    if rest.empty:
        return None
    warm = rest[~_after_start(laps).reindex(rest.index)]
    rest = rest if warm.empty else warm
    time = rest["time_s"].to_numpy()
    away = np.abs(time - np.median(time))
    # Two are equally near the median of an even number: which one must not be up to rounding.
    return int(rest["lap"].to_numpy()[np.flatnonzero(away < away.min() + _SAME_S)[0]])


def _after_start(laps: pd.DataFrame) -> "pd.Series[bool]":
    """Which laps follow an out lap or a standing start, by the table's index."""
    starts = (laps["kind"] == "out") | laps["flags"].map(lambda f: "standing_start" in f)
    return starts.astype(bool).shift(1, fill_value=False)
