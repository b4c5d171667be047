"""The height of the ground a log was driven on, for a plane on which lengths are true."""

import numpy as np

from lapwright.ingest.log import Log
from lapwright.plane import HIGHEST_M, LOWEST_M


def ground_height(log: Log) -> float:
    """
    Return the usual height of a log's fixes.

    Parameters
    ----------
    log : Log
        With or without a column ``height_m``.

    Returns
    -------
    height_m : float
        Median of the heights at which there are roads; 0 where there is none. A
        column in feet or millimetres, or a receiver that fills in a number of its
        own, is no height and is not believed. [m]
    """
    if "height_m" not in log.fixes:
        return 0.0
    height_m = log.fixes["height_m"].to_numpy(dtype=np.float64, na_value=np.nan)
    believed = height_m[(height_m >= LOWEST_M) & (height_m <= HIGHEST_M)]
    # A few sound values among many silly ones are luck.
    if 2 * len(believed) <= np.isfinite(height_m).sum():
        return 0.0
    return float(np.median(believed))
