"""
Before and after a change: an interval, not a verdict.

The interval holds the scatter from lap to lap on both sides and what the measurements of one side
have in common (a receiver's drift, where a session lies on the track).  It does not hold what else
changed with the change: the driver's day, tyres, temperature, fuel.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]

# With fewer laps on one side the scatter itself is hardly known.
MIN_LAPS = 4
# Standard normal quantile of 97.5 %.
_HALF_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Difference:
    """
    After minus before.

    Attributes
    ----------
    before, after : float
        Means.
    difference : float
    low95, high95 : float
        Interval that holds the true difference with 95 % probability.
    count_before, count_after : int
    """

    before: float
    after: float
    difference: float
    low95: float
    high95: float
    count_before: int
    count_after: int

    @property
    def too_few(self) -> bool:
        """Whether one side has too few values for the interval to be trusted."""
        return min(self.count_before, self.count_after) < MIN_LAPS

    @property
    def resolved(self) -> bool:
        """Whether the interval leaves out zero."""
        return self.low95 > 0.0 or self.high95 < 0.0


def difference_of_means(
    before: Floats, after: Floats, common_var_before: float = 0.0, common_var_after: float = 0.0
) -> Difference:
    """
    Difference of two means with its interval.

    Parameters
    ----------
    before, after : ndarray
        Values, for example lap times.
    common_var_before, common_var_after : float
        Variance of the measurement error that all values of a side share, which their scatter
        does not show.

    Returns
    -------
    Difference
        By Welch's t with Satterthwaite's degrees of freedom [1]_; infinite where a side has fewer
        than two values, NaN where it has none.

    References
    ----------
    .. [1] B. L. Welch, "The generalization of 'Student's' problem when several different
       population variances are involved", Biometrika 34 (1947) 28-35.
    """
    n = np.array([len(before), len(after)])
    nan = float("nan")
    first = float(np.mean(before)) if n[0] else nan
    second = float(np.mean(after)) if n[1] else nan
    change = second - first
    if n.min() < 2:
        wide = float("inf") if n.min() else nan
        return Difference(first, second, change, -wide, wide, int(n[0]), int(n[1]))
    parts = np.array([np.var(before, ddof=1), np.var(after, ddof=1)]) / n
    scatter = float(parts.sum())
    dof = float(n.sum() - 2)
    if scatter > 0.0:
        dof = scatter**2 / float((parts**2 / (n - 1)).sum())
    common = max(common_var_before, 0.0) + max(common_var_after, 0.0)
    half = float(np.hypot(t_quantile(0.975, dof) * np.sqrt(scatter), _HALF_95 * common**0.5))
    return Difference(first, second, change, change - half, change + half, int(n[0]), int(n[1]))


def lap_time_change(before: pd.DataFrame, after: pd.DataFrame) -> Difference:
    """
    Change of the time of clean laps from one session to another.

    Parameters
    ----------
    before, after : DataFrame
        Lap tables; see `lapwright.laps.lap_table`.

    Returns
    -------
    Difference
        Of lap times. [s]

    References
    ----------
    B. L. Welch, "The generalization of 'Student's' problem when several different population
    variances are involved", Biometrika 34 (1947) 28-35.

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> friday = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2], "representative": True})
    >>> saturday = friday.assign(time_s=friday["time_s"] - 0.5)
    >>> change = lw.lap_time_change(friday, saturday)
    >>> round(change.difference, 3), change.resolved
    (-0.5, True)
    """
    sides = [t.loc[t["representative"], "time_s"].to_numpy(np.float64) for t in (before, after)]
    return difference_of_means(sides[0], sides[1])
