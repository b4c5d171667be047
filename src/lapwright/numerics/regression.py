"""
A straight line by least squares or by the median of slopes, and an interval for its slope.

The median of the slopes of all pairs is not bent by single odd values.  Its interval rests on the
order of the residuals alone: it holds for any spread of them and for few points.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """
    A fitted line ``intercept + slope x``.

    Attributes
    ----------
    intercept, slope : float
    intercept_sd, slope_sd : float
        Standard deviations of the two.
    residual_sd : float
        With n - 2 degrees of freedom; NaN for two points.
    count : int
        Number of points.
    """

    intercept: float
    slope: float
    intercept_sd: float
    slope_sd: float
    residual_sd: float
    count: int

    def slope_interval(self, probability: float = 0.95) -> tuple[float, float]:
        """Central interval of the slope by Student's t; infinite for two points."""
        half = t_quantile(0.5 + 0.5 * probability, self.count - 2) * self.slope_sd
        return self.slope - half, self.slope + half


@dataclass(frozen=True, slots=True)
class Trend:
    """
    Slope of a line through points, and an interval for it.

    Attributes
    ----------
    slope : float
    low, high : float
        Infinite where there are too few points for the probability asked for.
    count : int
        Number of points.
    """

    slope: float
    low: float
    high: float
    count: int


def fit_line(x: npt.ArrayLike, y: npt.ArrayLike) -> Line:
    """
    Fit a straight line by least squares.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        At least two different x.

    Returns
    -------
    Line
        From sums about the means, which keep the digits that plain sums of squares lose.

    Raises
    ------
    ValueError
        If there are not two different x.
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if len(xs) < 2 or not np.ptp(xs) > 0.0:
        msg = "a line needs points at two different places at least"
        raise ValueError(msg)
    x0, y0 = float(xs.mean()), float(ys.mean())
    dx, dy = xs - x0, ys - y0
    spread = float(dx @ dx)
    slope = float(dx @ dy) / spread
    rest = dy - slope * dx
    dof = len(xs) - 2
    sd = float(np.sqrt(rest @ rest / dof)) if dof else float("nan")
    return Line(
        intercept=y0 - slope * x0,
        slope=slope,
        intercept_sd=sd * float(np.sqrt(1.0 / len(xs) + x0**2 / spread)),
        slope_sd=sd / float(np.sqrt(spread)),
        residual_sd=sd,
        count=len(xs),
    )


def theil_sen(x: npt.ArrayLike, y: npt.ArrayLike, probability: float = 0.95) -> Trend:
    """
    Slope of a line through points by the median of all pairs [1]_, with Sen's interval [2]_.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        All x different; two points at least.
    probability : float
        Of the interval.  It holds the true slope at least so often, whatever the distribution of
        the residuals, as long as they are independent and all of one kind.

    Returns
    -------
    Trend

    Raises
    ------
    ValueError
        If there are fewer than two points, or two at one x.

    References
    ----------
    .. [1] H. Theil, "A rank-invariant method of linear and polynomial regression analysis", Proc.
       Kon. Ned. Akad. Wetensch. A 53 (1950) 386-392.
    .. [2] P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Amer.
       Statist. Assoc. 63 (1968) 1379-1389, doi:10.1080/01621459.1968.10480934.

    Examples
    --------
    >>> theil_sen([1, 2, 3, 4, 5], [1.0, 2.0, 3.0, 40.0, 5.0]).slope
    1.0
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    n = len(xs)
    if n < 2 or len(np.unique(xs)) < n:
        msg = "a trend needs two points at least, all at different places"
        raise ValueError(msg)
    i, j = np.triu_indices(n, 1)
    slopes = np.sort((ys[j] - ys[i]) / (xs[j] - xs[i]))
    # How many pairs go the other way than the true slope: at most so many on either side by chance.
    chance = np.cumsum(_inversions(n))
    beyond = int(np.searchsorted(chance, 0.5 * (1.0 - probability), side="right")) - 1
    low, high = (-np.inf, np.inf) if beyond < 0 else (slopes[beyond], slopes[-1 - beyond])
    return Trend(float(np.median(slopes)), float(low), float(high), n)


def _inversions(n: int) -> Floats:
    """
    Probability of each number of inversions in a random order of n things, shape (pairs + 1,).

    M. G. Kendall, "A new measure of rank correlation", Biometrika 30 (1938) 81-93: each further
    thing stands before 0 to k of those there are, all equally likely.
    """
    out = np.ones(1)
    for k in range(1, n):
        out = np.convolve(out, np.full(k + 1, 1.0 / (k + 1)))
    return out
