"""
What is typical of a session, and how it changed to another: means with what they are sure to.

The error bar of a mean holds the spread from lap to lap and, in full, the measuring error of one
run: the laps of a session share most of it (a receiver's drift, where a session lies on the track),
so it does not get less with more laps.  The bar is on the wide side for it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.before_after import Difference, difference_of_means
from lapwright.coaching.pooled import Pooled, pooled

Floats = npt.NDArray[np.float64]

# Of fewer laps none is typical.
MIN_TYPICAL = 3
# Standard deviation of the median over that of the mean, for many normal values: sqrt(pi / 2).
# Fewer values have less, see the test. A value from memory.
_MEDIAN_OVER_MEAN = 1.2533


@dataclass(frozen=True, eq=False)
class Typical:
    """
    A quantity over the clean laps of a session.

    Attributes
    ----------
    values : ndarray, shape (n,)
        One per clean lap that has it.
    common_sd : float
        Measuring error that the laps may share.
    """

    values: Floats
    common_sd: float

    @property
    def mean(self) -> float:
        """Mean of the laps."""
        return float(np.mean(self.values))

    @property
    def sd(self) -> float:
        """Its error bar."""
        scatter = float(np.std(self.values, ddof=1)) / len(self.values) ** 0.5
        return float(np.hypot(scatter, self.common_sd))


def typical(values: pd.Series, sds: pd.Series) -> Typical | None:
    """
    Take what is typical of some runs.

    Parameters
    ----------
    values, sds : Series
        Of each clean run, with NaN where there is none (a corner that was not braked for).

    Returns
    -------
    Typical or None
        None where fewer than three runs, or fewer than half of them, have it.

    Examples
    --------
    >>> one = typical(pd.Series([80.0, 81.0, 82.0]), pd.Series([0.5, 0.5, 0.5]))
    >>> one.mean, round(one.sd, 2)
    (81.0, 0.76)
    """
    value, sd = (column.to_numpy(dtype=np.float64) for column in (values, sds))
    known = np.isfinite(value) & np.isfinite(sd)
    if known.sum() < MIN_TYPICAL or 2 * known.sum() < len(value):
        return None
    return Typical(value[known], float(np.median(sd[known])))


def change(first: Typical, last: Typical) -> Difference:
    """
    How a quantity changed from one session to another.

    Parameters
    ----------
    first, last : Typical

    Returns
    -------
    Difference
        Of the means, with its 95 % interval.
    """
    return difference_of_means(first.values, last.values, first.common_sd**2, last.common_sd**2)


def together(sessions: list[Typical]) -> Pooled | None:
    """
    Put the means of several sessions together, their differences from day to day allowed for.

    Parameters
    ----------
    sessions : list of Typical

    Returns
    -------
    Pooled or None
        None where there is none.
    """
    known = [one for one in sessions if one.sd > 0.0]
    return pooled([one.mean for one in known], [one.sd for one in known]) if known else None


@dataclass(frozen=True, slots=True)
class Pace:
    """
    The lap times of a session: each number with its error bar.

    Attributes
    ----------
    median_s, median_sd_s : float
        Of the clean laps; NaN of fewer than three.
    spread_s, spread_sd_s : float
        Their standard deviation.
    """

    median_s: float
    median_sd_s: float
    spread_s: float
    spread_sd_s: float


def pace(times_s: Floats, sds_s: Floats) -> Pace:
    """
    Sum up the lap times of a session.

    Parameters
    ----------
    times_s, sds_s : ndarray, shape (n,)
        Of the clean laps. [s]

    Returns
    -------
    Pace
        The bars are those of normal values: of a median no more than 1.2533 that of the mean, of a
        standard deviation its share ``1 / sqrt(2 (n - 1))``.
    """
    n = len(times_s)
    if n < MIN_TYPICAL:
        return Pace(*[float("nan")] * 4)
    spread = float(np.std(times_s, ddof=1))
    scatter = _MEDIAN_OVER_MEAN * spread / n**0.5
    bar = float(np.hypot(scatter, np.median(sds_s)))
    return Pace(float(np.median(times_s)), bar, spread, spread / (2.0 * (n - 1)) ** 0.5)
