"""How far each lap is from the best one, with an error bar that knows what the two share."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.laps.cutting.cuts import Cuts

Floats = npt.NDArray[np.float64]


def gaps_to_best(laps: pd.DataFrame, cuts: Cuts, best: int | None) -> pd.DataFrame:
    """
    Compare all lap times with that of the best lap.

    The error comes from the joint posterior of all passages of the line: laps in a row share a
    passage, and the receiver's drift, so their errors must not be added as if apart.

    Parameters
    ----------
    laps : DataFrame
        As in `lapwright.Session`.
    cuts : Cuts
    best : int or None
        The lap to compare with; any other will do.

    Returns
    -------
    DataFrame
        ``gap_s`` (positive where slower) and ``gap_sd_s``, with the index of the laps; NaN where
        a lap has no time or there is nothing to compare with.
    """
    gap, sd = np.full(len(laps), np.nan), np.full(len(laps), np.nan)
    out = pd.DataFrame({"gap_s": gap, "gap_sd_s": sd}, index=laps.index)
    known = np.isfinite(laps["time_s"].to_numpy(dtype=np.float64))
    at = np.flatnonzero((laps["lap"] == best).to_numpy() & known)
    if best is None or len(at) == 0:
        return out
    moment = cuts.passages["time_s"].to_numpy()
    pick = np.zeros((len(laps), len(cuts.posterior.mean)))
    for i in np.flatnonzero(known):
        pick[i, int(np.argmin(np.abs(moment - laps["end_s"].iloc[i])))] += 1.0
        pick[i, int(np.argmin(np.abs(moment - laps["start_s"].iloc[i])))] -= 1.0
    apart = cuts.posterior.combined((pick - pick[at[0]])[known])
    gap[known] = (laps["time_s"] - laps["time_s"].iloc[at[0]]).to_numpy()[known]
    sd[known] = apart.sd
    gap[at[0]] = sd[at[0]] = 0.0
    return out.assign(gap_s=gap, gap_sd_s=sd)
