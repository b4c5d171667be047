r"""
How many more clean laps would settle whether there is a habit in a corner.

A power calculation [1]_ with the test that is used (`lapwright.coaching.two_group_test`): the runs
are taken to go on as they did, in two ways as far apart and as different in time as seen, with the
same scatter; then the runs that are needed for the test to pass four times in five are counted.
The test has a simulated threshold, so its power is simulated as well.  Cutting pure scatter in two
also leaves two groups apart, so the distance put in is the one whose simulated median is what was
seen; where scatter alone has a larger one, there is nothing to wait for.

Where the two ways lie far apart, only the time decides, and the power is that of a one-sided t
test: a difference :math:`(t_{0.95} + t_{0.8})\,s \sqrt{1/n_1 + 1/n_2}` is resolved four times in
five, to within a hundredth or two of that probability.

The count is a guess from few runs: the difference seen is uncertain, and it was looked for.

References
----------
.. [1] J. Cohen, "Statistical Power Analysis for the Behavioral Sciences", 2nd ed., 1988, ch. 2;
   from memory.
"""

from dataclasses import dataclass
from typing import Literal
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from lapwright.coaching.evidence import Evidence
from lapwright.coaching.habit_search import ALPHA, FEATURES, MIN_LAPS, Feature
from lapwright.coaching.two_group_test import (
    MIN_COUNT,
    PRIOR_DOF,
    Split,
    cuts,
    mean_difference,
    not_outlying,
    separation,
    separation_p_value,
    split_in_two,
    usual_scatter,
)
from lapwright.numerics.robust_spread import robust_sd
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.intp]
Splits = dict[int, tuple[Rows, Split]]
Why = Literal["needed", "too_small", "one_way", "few_laps"]

# Four times in five; common practice, Cohen's convention.
POWER = 0.8
# More than a club racer's weekend holds in the same conditions.
MAX_MORE = 30
_STEPS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, MAX_MORE)
# As in the search: a time worth a driver's thought, chance once in twenty, and the usual way.
_MIN_S, _RESOLVED, _USUAL_SHARE = 0.05, 0.95, 0.4
_DRAWS = 1000
_FARTHEST, _GRID = 8.0, 33
# By what they are cut by; kept no longer than the evidence itself.
_KNOWN: "WeakKeyDictionary[Evidence, dict[str, Splits]]" = WeakKeyDictionary()


@dataclass(frozen=True, slots=True)
class TwoWays:
    """
    The two groups that the runs through a corner fall into best, habit or not.

    Attributes
    ----------
    corner : int
    code : str
        What they are cut by: one of the codes of `lapwright.WorthTrying`.
    difference_s, difference_sd_s : float
        How much slower the usual way was.
    apart : float
        See `lapwright.coaching.two_group_test.separation`.
    usual, others : int
        How many runs went which way.
    prior_dof : float
    sides : {1, 2}
    corners : int
        How many corners were looked at.
    """

    corner: int
    code: str
    difference_s: float
    difference_sd_s: float
    apart: float
    usual: int
    others: int
    prior_dof: float
    sides: int
    corners: int

    @property
    def runs(self) -> int:
        """Both ways together."""
        return self.usual + self.others

    @property
    def scatter_s(self) -> float:
        """Scatter of the time of one run, measuring included."""
        return self.difference_sd_s / float(np.sqrt(1.0 / self.usual + 1.0 / self.others))

    def counts(self, runs: int) -> tuple[int, int]:
        """How so many runs would go either way."""
        usual = round(runs * self.usual / self.runs)
        usual = int(np.clip(usual, MIN_COUNT, runs - MIN_COUNT))
        return usual, runs - usual


@dataclass(frozen=True, slots=True)
class LapsNeeded:
    """
    What would settle whether there is a habit in a corner.

    Attributes
    ----------
    corner : int
    code : str
        What the two ways are cut by; empty where there are too few laps to cut.
    difference_s, difference_sd_s : float
        The difference in time seen between them; NaN where there are too few laps.
    more : int or None
        Clean laps that are needed on top of these; None where more would not settle it.
    resolvable_s : float
        The smallest difference that `MAX_MORE` laps more would resolve.
    why : {"needed", "too_small", "one_way", "few_laps"}
        ``"one_way"``: the runs lie no farther apart than those of somebody who only varies.
    """

    corner: int
    code: str
    difference_s: float
    difference_sd_s: float
    more: int | None
    resolvable_s: float
    why: Why


def laps_needed(evidence: Evidence, corner: int) -> LapsNeeded | None:
    """
    Count the clean laps that would settle whether there is a habit in a corner.

    Parameters
    ----------
    evidence : Evidence
    corner : int

    Returns
    -------
    LapsNeeded or None
        None where the runs are enough, and nothing about them can be told apart to begin with.
    """
    laps, nan = evidence.passes["lap"].nunique(), float("nan")
    if laps < MIN_LAPS:
        return LapsNeeded(corner, "", nan, nan, MIN_LAPS - laps, nan, "few_laps")
    ways = two_ways(evidence, corner)
    return None if ways is None else needed_for(ways)


def needed_for(ways: TwoWays) -> LapsNeeded:
    """
    Count the clean laps for two ways of driving.

    Parameters
    ----------
    ways : TwoWays

    Returns
    -------
    LapsNeeded
    """
    least = resolvable(ways, ways.runs + MAX_MORE)
    seen = ways.corner, ways.code, ways.difference_s, ways.difference_sd_s
    if ways.difference_s < least:
        return LapsNeeded(*seen, None, least, "too_small")
    apart = _true_apart(ways)
    if apart == 0.0 or power(ways, apart, ways.runs + MAX_MORE) < POWER:
        return LapsNeeded(*seen, None, least, "one_way")
    low, high = -1, len(_STEPS) - 1
    while high - low > 1:
        middle = (low + high) // 2
        enough = power(ways, apart, ways.runs + _STEPS[middle]) >= POWER
        low, high = (low, middle) if enough else (middle, high)
    return LapsNeeded(*seen, _STEPS[high], least, "needed")


def resolvable(ways: TwoWays, runs: int) -> float:
    """
    Smallest difference in time that so many runs resolve four times in five.

    Parameters
    ----------
    ways : TwoWays
    runs : int

    Returns
    -------
    float
        Not less than what the search takes to be worth a thought. [s]
    """
    share = sum(1.0 / n for n in ways.counts(runs))
    t = t_quantile(_level(ways), runs - 2) + t_quantile(POWER, runs - 2)
    return max(_MIN_S, t * ways.scatter_s * float(np.sqrt(share)))


def _level(ways: TwoWays) -> float:
    return 1.0 - (1.0 - _RESOLVED) / ways.sides


def power(ways: TwoWays, apart: float, runs: int) -> float:
    """
    How often the test would pass, by simulation.

    Parameters
    ----------
    ways : TwoWays
    apart : float
        How far apart the two ways are in truth, in scatters.
    runs : int

    Returns
    -------
    float
        The same every time.
    """
    usual, _ = ways.counts(runs)
    rng = np.random.default_rng(20260301)
    shape = (_DRAWS, runs)
    slow = np.arange(runs) < usual
    x = rng.standard_normal(shape) + apart * slow
    y = ways.scatter_s * rng.standard_normal(shape) + ways.difference_s * slow
    y = np.take_along_axis(y, np.argsort(x, axis=1), axis=1)
    far, best = _separated(np.sort(x, axis=1), ways.prior_dof)
    lower = best + MIN_COUNT
    upper = runs - lower
    below = np.take_along_axis(np.cumsum(y, axis=1), lower[:, None] - 1, axis=1)[:, 0]
    means = below / lower, (y.sum(axis=1) - below) / upper
    squares = (y**2).sum(axis=1) - lower * means[0] ** 2 - upper * means[1] ** 2
    sd = np.sqrt(np.maximum(squares, 0.0) / (runs - 2) * (1.0 / lower + 1.0 / upper))
    gain = means[1] - means[0]
    passed = far >= _threshold(ways, runs)
    passed &= upper / runs >= _USUAL_SHARE
    passed &= gain >= np.maximum(_MIN_S, t_quantile(_level(ways), runs - 2) * sd)
    return float(passed.mean())


def _separated(x: Floats, prior_dof: float) -> tuple[Floats, Rows]:
    """How far apart the groups of sorted rows are, and where each row is cut."""
    within, gap = cuts(x, MIN_COUNT)
    best = np.argmin(within, axis=1)
    squares, gaps = (np.take_along_axis(a, best[:, None], axis=1)[:, 0] for a in (within, gap))
    return gaps / np.sqrt((prior_dof + squares) / (prior_dof + x.shape[1] - 2)), best


def _true_apart(ways: TwoWays) -> float:
    """Distance of two ways whose median separation is the one seen; 0 where scatter has more."""
    usual, _ = ways.counts(ways.runs)
    slow = np.arange(ways.runs) < usual
    noise = np.random.default_rng(20260302).standard_normal((_DRAWS, ways.runs))
    grid = np.linspace(0.0, _FARTHEST, _GRID)
    medians = np.array(
        [np.median(_separated(np.sort(noise + a * slow, axis=1), ways.prior_dof)[0]) for a in grid]
    )
    return float(np.interp(ways.apart, np.maximum.accumulate(medians), grid))


def _threshold(ways: TwoWays, runs: int) -> float:
    """
    How far apart the groups must be.

    On the safe side: as if this corner were the first of all in Holm's procedure.
    """
    level = ALPHA[ways.code] / max(ways.corners, 1)
    low, high = 0.0, 4.0 * _FARTHEST
    for _ in range(20):
        middle = 0.5 * (low + high)
        p = separation_p_value(middle, runs, ways.prior_dof, _USUAL_SHARE, ways.sides)
        low, high = (middle, high) if p > level else (low, middle)
    return high


def two_ways(evidence: Evidence, corner: int) -> TwoWays | None:
    """
    Cut the runs through a corner in two by what the time goes with most clearly.

    Parameters
    ----------
    evidence : Evidence
    corner : int

    Returns
    -------
    TwoWays or None
        None where no quantity is known on enough of the runs, or none is slower the usual way.
    """
    found = [one for f in FEATURES if (one := _cut(evidence, f, corner)) is not None]
    return max(found, key=lambda one: one.difference_s / one.difference_sd_s, default=None)


def _cut(evidence: Evidence, feature: Feature, corner: int) -> TwoWays | None:
    splits = _splits(evidence, feature.judged[0])
    if corner not in splits:
        return None
    rows, split = splits[corner]
    y = evidence.passes[f"{feature.clock}_excess_s"].to_numpy(dtype=np.float64)[rows]
    if not np.isfinite(y).all():
        return None
    usual, sides = split.upper, 2 if feature.slower == 0 else 1
    cov = evidence.covs_s2[feature.clock][np.ix_(rows, rows)]
    gap, sd, _ = mean_difference(y, cov, usual)
    if sides == 2 and gap < 0.0:
        usual, gap = ~usual, -gap
    if gap <= 0.0 or sd <= 0.0 or usual.mean() < _USUAL_SHARE:
        return None
    # As much as the search trusts the scatter of the other corners.
    dof = PRIOR_DOF * min(1.0, max(len(splits) - 1, 0) / 4.0)
    apart = separation(split, usual_scatter([s for _, s in splits.values()]), dof)
    counts = int(usual.sum()), int((~usual).sum())
    return TwoWays(corner, feature.code, gap, sd, apart, *counts, dof, sides, len(splits))


def _splits(evidence: Evidence, column: str) -> Splits:
    """Each corner's runs cut in two by a quantity; the same for whichever corner is asked about."""
    known = _KNOWN.setdefault(evidence, {})
    if column not in known:
        known[column] = _fresh_splits(evidence, column)
    return known[column]


def _fresh_splits(evidence: Evidence, column: str) -> Splits:
    values = evidence.passes[column].to_numpy(dtype=np.float64)
    corners = [int(c) for c in evidence.passes["corner"].unique()]
    spreads = [robust_sd(values[evidence.of(c)]) for c in corners]
    usual = float(np.median([s for s in spreads if np.isfinite(s)] or [0.0]))
    out: Splits = {}
    for corner in corners:
        rows = evidence.of(corner)
        rows = rows[not_outlying(values[rows], usual)]
        if len(rows) >= MIN_LAPS and len(rows) >= 0.8 * len(evidence.of(corner)):
            out[corner] = (rows, split_in_two(values[rows]))
    return out
