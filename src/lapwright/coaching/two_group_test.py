"""
Two ways of driving, or one that varies?  The statistics behind what is worth trying.

A driver's quicker runs always have something in common: whoever varies at random goes a little
faster here and a little slower there.  So a link between a feature and the time proves no habit,
and the best pass of n is quick by luck alone (the best of ten lies 1.54 sd off the mean [1]_).
What shows a habit is that the passes fall into two groups farther apart than the driver's own
scatter makes them, the scatter being judged from all corners together [2]_, because a dozen laps
say little about the scatter in one.  How far apart groups lie where there is only scatter is
simulated.  Many corners are looked at, which Holm's procedure [3]_ allows for.

References
----------
.. [1] H. A. David and H. N. Nagaraja, "Order Statistics", 3rd ed., Wiley, 2003, sec. 3.2.
.. [2] G. K. Smyth, "Linear models and empirical Bayes methods for assessing differential
   expression in microarray experiments", Stat. Appl. Genet. Mol. Biol. 3 (2004) 3: a variance
   moderated by those of its neighbours.
.. [3] S. Holm, "A simple sequentially rejective multiple test procedure", Scand. J. Statist. 6
   (1979) 65-70.
.. [4] F. E. Satterthwaite, "An approximate distribution of estimates of variance components",
   Biometrics Bulletin 2 (1946) 110-114.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import comb

import numpy as np
import numpy.typing as npt

from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Fewer passes than this are no group.
MIN_COUNT = 3
# Prior degrees of freedom, how alike the scatter of different corners is taken to be: as if known
# from so many passes more.
PRIOR_DOF = 15.0
# Cutting one group in two leaves about so much of its sd within the halves: 0.52
# to 0.58 for 6 to 30 normal values, by simulation.
HALVED = 0.55
# Values this many robust sd from the median are another event, not another way of driving.
_OUTLIER_SDS, _ALONE_SDS = 8.0, 4.0
_DRAWS = 20000
_CORNERS_DRAWN = 8
_EXACT = 4000
# Beyond this Student's t is the normal distribution.
_MAX_DOF = 1e4


@dataclass(frozen=True, eq=False)
class Split:
    """
    Passes cut in two by one feature.

    Attributes
    ----------
    gap : float
        Upper group's mean minus lower group's mean, in the feature's unit.
    within_ss : float
        Sum of squares about the groups' means.
    upper : ndarray of bool, shape (n,)
    """

    gap: float
    within_ss: float
    upper: Flags

    @property
    def within_sd(self) -> float:
        """Scatter about the groups' means."""
        return float(np.sqrt(self.within_ss / (len(self.upper) - 2)))


def luck_of_best(n: int) -> float:
    """
    How many sd the best of n equally good laps lies off their mean, by luck alone.

    Parameters
    ----------
    n : int

    Returns
    -------
    float
        Expected largest of n independent standard normal values; David and Nagaraja, sec. 3.2.
    """
    from scipy.special import ndtr

    x = np.linspace(-10.0, 10.0, 4001)
    density = n * np.exp(-0.5 * x**2) / np.sqrt(2.0 * np.pi) * ndtr(x) ** (n - 1)
    # Smooth and zero at both ends: the plain sum converges faster than any rule.
    return float((x * density).sum() * (x[1] - x[0]))


def not_outlying(x: Floats, usual_spread: float = 0.0, least: int = MIN_COUNT) -> Flags:
    """
    Which values are finite and no freaks.

    Parameters
    ----------
    x : ndarray, shape (n,)
    usual_spread : float
        The spread is taken to be this at least: a habit makes most passes more alike.
    least : int
        So many freaks alike on one side are a group.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    fine = np.isfinite(x)
    if fine.sum() < 2 * least:
        return fine
    middle = float(np.median(x[fine]))
    spread = max(robust_sd(x[fine]), usual_spread, 1e-9)
    for sign in (1.0, -1.0):
        away = sign * (np.nan_to_num(x, nan=middle) - middle) / spread
        ordered = np.sort(away[fine])[::-1]
        # Fewer than `least` values, far away and far from the next one.
        alone = ordered[: least - 1] - ordered[1:least] > _ALONE_SDS
        alone &= ordered[: least - 1] > _OUTLIER_SDS
        if alone.any():
            fine = fine & (away < ordered[int(np.flatnonzero(alone)[-1])])
    return fine


def split_in_two(x: Floats, least: int = MIN_COUNT) -> Split:
    """
    Cut values in two where the groups are tightest.

    Parameters
    ----------
    x : ndarray, shape (n,)
    least : int
        Smallest group allowed; n must be at least twice as many.

    Returns
    -------
    Split
    """
    order = np.argsort(x, kind="stable")
    within, gap = cuts(x[order][None, :], least)
    best = int(np.argmin(within[0]))
    upper = np.zeros(len(x), dtype=bool)
    upper[order[best + least :]] = True
    return Split(float(gap[0, best]), float(within[0, best]), upper)


def cuts(rows: Floats, least: int) -> tuple[Floats, Floats]:
    """
    Within sum of squares and gap at every allowed cut of sorted rows.

    Parameters
    ----------
    rows : ndarray, shape (m, n)
        Each in ascending order.
    least : int
        Smallest group allowed.

    Returns
    -------
    within, gap : ndarray, shape (m, n - 2 least + 1)
    """
    n = rows.shape[1]
    rows = rows - rows.mean(axis=1, keepdims=True)
    lower = np.cumsum(rows, axis=1)[:, least - 1 : n - least]
    k = np.arange(least, n - least + 1)
    total = rows.sum(axis=1, keepdims=True)
    upper = total - lower
    between = lower**2 / k + upper**2 / (n - k)
    within = np.maximum((rows**2).sum(axis=1, keepdims=True) - between, 0.0)
    return within, upper / (n - k) - lower / k


def usual_scatter(splits: list[Split]) -> float:
    """
    Scatter that is usual over the corners; a habit in one does not touch it.

    From the halves that one group cut in two leaves, not from the whole: a habit widens those less.
    """
    return float(np.median([s.within_sd for s in splits])) / HALVED if splits else 0.0


def separation(split: Split, scatter: float, prior_dof: float, noise: float = 0.0) -> float:
    """
    How far apart two groups are, in scatters.

    Parameters
    ----------
    split : Split
    scatter : float
        Usual over the corners, see `usual_scatter`.
    prior_dof : float
        How much that counts, in passes: its degrees of freedom.
    noise : float
        Measurement error (sd) of one value: the scatter cannot be less.

    Returns
    -------
    float
    """
    own = len(split.upper) - 2
    variance = (prior_dof * scatter**2 + split.within_ss) / (prior_dof + own)
    floor = max(noise, 1e-12)
    return split.gap / float(np.sqrt(max(variance, floor**2)))


@lru_cache(maxsize=64)
def _separations(n: int, prior_dof: float, share: float, sides: int) -> Floats:
    """
    Sorted separations of passes that only vary, in sessions whose corners differ in scatter.

    Minus infinity where the group that would count as the usual way is too small to.
    """
    apart, lower, lot = _simulated(n, prior_dof)
    # Where either group may be the quicker one, it is so by lot.
    usual = np.where(lot < 0.5, lower, 1.0 - lower) if sides == 2 else 1.0 - lower
    return np.sort(np.where(usual >= share, apart, -np.inf).ravel())


@lru_cache(maxsize=64)
def _simulated(n: int, prior_dof: float) -> tuple[Floats, Floats, Floats]:
    """Separations of passes that only vary, the lower group's share of them, and a lot for each."""
    rng = np.random.default_rng(20260101)
    shape = (_DRAWS // _CORNERS_DRAWN, _CORNERS_DRAWN)
    spread = np.ones(shape)
    if prior_dof > 0.0:
        spread = np.sqrt(prior_dof / rng.chisquare(max(prior_dof, 1.0), shape))
    x = np.sort(rng.standard_normal((*shape, n)) * spread[..., None], axis=-1)
    within, gap = cuts(x.reshape(-1, n), MIN_COUNT)
    best = np.argmin(within, axis=1)[:, None]
    ss = np.take_along_axis(within, best, axis=1).reshape(shape)
    apart = np.take_along_axis(gap, best, axis=1).reshape(shape)
    scatter2 = (np.median(np.sqrt(ss / (n - 2)), axis=1, keepdims=True) / HALVED) ** 2
    variance = (prior_dof * scatter2 + ss) / (prior_dof + n - 2)
    lower = (best.reshape(shape) + MIN_COUNT) / n
    return apart / np.sqrt(variance), lower, rng.random(shape)


def separation_p_value(
    apart: float, n: int, prior_dof: float = PRIOR_DOF, share: float = 0.0, sides: int = 1
) -> float:
    """
    p-value of a separation: that passes which only vary fall at least so far apart.

    Parameters
    ----------
    apart : float
        From `separation`.
    n : int
        Number of passes.
    prior_dof : float
    share : float
        The usual way must make up this share of the passes at least.
    sides : {1, 2}
        Whether the upper group is the usual one, or either may be.

    Returns
    -------
    float
        By simulation, the same every time; not below 1 in 20 000.
    """
    null = _separations(n, prior_dof, share, sides)
    more = len(null) - int(np.searchsorted(null, apart, side="left"))
    return (more + 1) / (len(null) + 1)


def permutation_p_value(y: Floats, group: Flags) -> float:
    """
    p-value of so much larger a mean in one group, if the groups were drawn by lot.

    Parameters
    ----------
    y : ndarray, shape (n,)
    group : ndarray of bool, shape (n,)

    Returns
    -------
    float
        One-sided; over all possible groups, or 4000 drawn ones where there are more.
    """
    n, k = len(y), int(group.sum())
    sum_ = float(y[group].sum())
    if comb(n, k) <= _EXACT:
        sums = y[np.array(list(combinations(range(n), k)))].sum(axis=1)
        return float(np.mean(sums >= sum_ - 1e-12))
    rng = np.random.default_rng(20260102)
    drawn = rng.permuted(np.tile(y, (_EXACT, 1)), axis=1)[:, :k].sum(axis=1)
    return float((np.sum(drawn >= sum_ - 1e-12) + 1) / (_EXACT + 1))


def holm(p_values: Floats) -> Floats:
    """
    Adjust p-values for having looked at all of them.

    Parameters
    ----------
    p_values : ndarray, shape (m,)

    Returns
    -------
    ndarray, shape (m,)
        By Holm's step-down procedure.
    """
    m = len(p_values)
    order = np.argsort(p_values, kind="stable")
    stepped = np.maximum.accumulate(p_values[order] * (m - np.arange(m)))
    out = np.empty(m)
    out[order] = np.minimum(stepped, 1.0)
    return out


def mean_difference(
    y: Floats, cov: Floats, group: Flags, fitted: int = 2
) -> tuple[float, float, float]:
    """
    Mean of one group minus that of the other.

    Parameters
    ----------
    y : ndarray, shape (n,)
    cov : ndarray, shape (n, n)
        Covariance of the measurement errors of y.
    group : ndarray of bool, shape (n,)
    fitted : int
        Numbers that were fitted to y: the two means, and what else was taken out of it.

    Returns
    -------
    difference, sd : float
        The sd holds the scatter from pass to pass within the groups and the measurement.
    dof : float
        Degrees of freedom of the sd: those of the scatter, more where the measurement, which is
        known, makes up much of it; Satterthwaite's [4]_ ``dof (V / A)^2`` for a variance V
        of which A has been estimated.
    """
    weights = np.where(group, 1.0 / group.sum(), -1.0 / (~group).sum())
    difference = float(weights @ y)
    rest = np.where(group, y - y[group].mean(), y - y[~group].mean())
    own = len(y) - fitted
    scatter2, share = float(rest @ rest) / own, float(weights @ weights)
    driver2 = max(scatter2 - float(np.mean(np.diagonal(cov))), 0.0)
    variance = driver2 * share + max(float(weights @ cov @ weights), 0.0)
    known = variance / max(scatter2 * share, 1e-300)
    dof = float(np.clip(own * min(known, 1e3) ** 2, 1.0, _MAX_DOF))
    return difference, float(np.sqrt(variance)), dof
