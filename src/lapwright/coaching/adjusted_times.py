"""
What of a pass is its own: its time and speed without what comes from elsewhere.

A lap that is quicker everywhere says nothing about one corner, and a corner taken faster is braked
for later and less without anybody having meant to.  Both are taken out before passes are compared.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.intp]

# Shares of a shorter time than this would be mostly noise. [s]
_SHORT_S = 0.5


def without_lap(table: pd.DataFrame, column: str) -> Floats:
    """
    A quantity of each pass without what its lap's corners have in common.

    Parameters
    ----------
    table : DataFrame
        ``lap``, ``corner`` and the column, which must be positive.
    column : str

    Returns
    -------
    ndarray, shape (n,)
        Difference from the corner's median in a lap of usual pace, in the column's unit.  By
        medians, so that a habit in one corner does not spill over into the others.
    """
    usual = table.groupby("corner")[column].transform("median")
    ratio = table[column] / usual
    pace = ratio.groupby(table["lap"]).transform("median")
    value = table[column] / pace
    middle = value.groupby(table["corner"]).transform("median")
    return np.asarray((value - middle).to_numpy(dtype=np.float64))


def at_same_speed(table: pd.DataFrame, clock: str, groups: Sequence[Rows]) -> Floats:
    """
    Share of a pass's time beyond the usual, without what the corner's speed made of it.

    A corner taken faster shortens the way in by itself.  By how much is alike for all corners, so
    it is taken out by regression on the force and the speed held, within groups (analysis of
    covariance).

    Parameters
    ----------
    table : DataFrame
        See `lapwright.coaching.evidence.Evidence.passes`.
    clock : {"span", "run_in", "run_out"}
    groups : sequence of ndarray of int
        Passes of one corner driven one way: rows of the table.

    Returns
    -------
    ndarray, shape (n,)
    """
    usual = table.groupby("corner")[f"{clock}_s"].transform("median").to_numpy()
    share = table[f"{clock}_excess_s"].to_numpy() / np.maximum(usual, _SHORT_S)
    held = table[["unused_share", "slow_share"]].to_numpy(dtype=np.float64)
    # A pass whose way in has no length has no time to judge.
    known = np.isfinite(held).all(axis=1) & np.isfinite(share)
    parts = [rows[known[rows]] for rows in groups if known[rows].any()]
    if not parts:
        return np.asarray(share)
    x = np.concatenate([held[rows] - held[rows].mean(axis=0) for rows in parts])
    y = np.concatenate([share[rows] - share[rows].mean() for rows in parts])
    slopes = np.linalg.lstsq(x, y, rcond=None)[0]
    return np.asarray(share - held @ slopes)
