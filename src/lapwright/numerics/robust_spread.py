"""A spread that single outliers do not touch."""

import numpy as np
import numpy.typing as npt

# 1 / quantile(3/4) of the standard normal: makes the median absolute deviation of a normal sample
# its standard deviation (P. J. Huber, "Robust Statistics", Wiley, 1981, sec. 5.1).
MAD_TO_SD = 1.4826


def robust_sd(values: npt.NDArray[np.float64], centre: float | None = None) -> float:
    """
    Standard deviation by the median absolute deviation.

    Parameters
    ----------
    values : ndarray, shape (n,)
        What is not finite is passed over.
    centre : float, optional
        What the deviations are counted from; the median where not given.

    Returns
    -------
    float
        NaN where there is no value.

    Examples
    --------
    >>> robust_sd(np.array([1.0, 2.0, 3.0, 4.0, 1000.0]))
    1.4826
    """
    fine = values[np.isfinite(values)]
    if len(fine) == 0:
        return float("nan")
    middle = float(np.median(fine)) if centre is None else centre
    return float(MAD_TO_SD * np.median(np.abs(fine - middle)))
