"""
The level a driver usually reaches somewhere, from runs of which some fell short of it.

Scatter goes both ways, a habit one way.  So the runs of one place are one group, their level the
mean, unless they fall into two groups so clearly that scatter alone would not part them; then the
level is that of the better group, never of its best run.  Of n normal values the best division into
two takes 2/π of their squares between the groups (from memory); what is asked goes well beyond.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

_SPLIT_SHARE = 2.0 / np.pi
# By so many times the square root of the number of runs, in squares of the scatter.
_CLEARLY = 4.0
# A single best run is no level, nor is a small part of the runs.
_LEAST_RUNS, _LEAST_SHARE = 2, 0.2
_MIN_RUNS = 4
# The scatter of normal values over the median of their distances from the median.
_NORMAL_PER_MAD = 1.4826


@dataclass(frozen=True, eq=False, slots=True)
class Levels:
    """
    What is reached at each of k places.

    Attributes
    ----------
    level, usual : ndarray, shape (k,)
        Of the better group, and of all runs; NaN where nothing is known.
    weight : ndarray, shape (l, k)
        Which runs make up the level; each column adds up to one, or to nothing.
    values : ndarray, shape (l, k)
        NaN where a run says nothing.
    """

    level: Floats
    usual: Floats
    weight: Floats
    values: Floats

    @property
    def influence(self) -> Floats:
        """By how much each lap moves each level, shape (l, k)."""
        return np.asarray(self.weight * np.nan_to_num(self.values - self.level))

    @property
    def usual_influence(self) -> Floats:
        """By how much each lap moves the mean of all, shape (l, k)."""
        there = np.isfinite(self.values)
        return np.asarray(
            np.nan_to_num(self.values - self.usual) / np.maximum(there.sum(axis=0), 1)
        )


def find_levels(values: Floats) -> Levels:
    """
    Find the level of every place.

    Parameters
    ----------
    values : ndarray, shape (l, k)
        One row a lap, NaN where it says nothing; larger is better.

    Returns
    -------
    Levels
    """
    there = np.isfinite(values)
    runs = there.sum(axis=0)
    usual = np.full(values.shape[1], np.nan)
    some = runs > 0
    usual[some] = np.nansum(values[:, some], axis=0) / runs[some]
    scatter = _scatter(values)
    counted = there.astype(np.float64)
    for k in np.flatnonzero(runs >= _MIN_RUNS).tolist():
        from_value = _parted(np.sort(values[there[:, k], k]), scatter)
        if from_value is not None:
            counted[:, k] = there[:, k] & (values[:, k] >= from_value)
    weight = counted / np.maximum(counted.sum(axis=0), 1.0)
    level = np.where(some, np.sum(weight * np.nan_to_num(values), axis=0), np.nan)
    return Levels(level, usual, weight, values)


def _scatter(values: Floats) -> float:
    """Usual spread of the runs of one place; that of most places, so habits do not widen it."""
    enough = np.isfinite(values).sum(axis=0) >= _MIN_RUNS
    if not enough.any():
        return np.inf
    some = values[:, enough]
    away = np.abs(some - np.nanmedian(some, axis=0))
    return float(_NORMAL_PER_MAD * np.median(np.nanmedian(away, axis=0)))


def _parted(runs: Floats, scatter: float) -> float | None:
    """Least run of the better one of two groups; None where sorted runs are one group."""
    n = len(runs)
    least = max(_LEAST_RUNS, int(np.ceil(_LEAST_SHARE * n)))
    below = np.arange(1, n - least + 1)
    if not len(below) or not scatter > 0.0:
        return None
    total = np.cumsum(runs)
    apart = (total[-1] - total[below - 1]) / (n - below) - total[below - 1] / below
    between = below * (n - below) / n * apart**2 / scatter**2
    best = int(np.argmax(between))
    if between[best] <= _SPLIT_SHARE * n + _CLEARLY * np.sqrt(n):
        return None
    return float(runs[below[best]])
