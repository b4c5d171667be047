"""A straight line by least squares, and an interval for its slope."""

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
