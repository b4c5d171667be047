r"""
How much each corner's time varies from lap to lap, the receiver's error taken out.

The sample variance of the times holds the driver's variance :math:`\sigma^2` and what measuring
adds, :math:`m = \mathrm{tr}(HC)/(n-1)` for a covariance :math:`C` of the errors and the centring
matrix :math:`H`; what all runs share (a slow clock, a drift) is not in it.  So :math:`m` is taken
out, and out of the ends of the chi-square interval of the whole variance as well.

References
----------
S. R. Searle, G. Casella and C. E. McCulloch, "Variance Components", Wiley, 1992, on estimates by
expected squares that are cut off at zero; from memory.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.evidence import Evidence
from lapwright.columns import arranged, empty
from lapwright.columns.variation import VARIATION
from lapwright.numerics.chi_square import chi_square_quantile

Floats = npt.NDArray[np.float64]

# Two runs differ, but how much runs differ takes a third to see.
MIN_RUNS = 3


@dataclass(frozen=True, slots=True)
class Spread:
    """
    How much something varies, and what measuring adds.

    Attributes
    ----------
    sd : float
        Without the measurement; zero where that explains all of it.
    low95, high95 : float
        95 % interval of the sd.
    measuring : float
        Standard deviation that measuring alone would make.
    """

    sd: float
    low95: float
    high95: float
    measuring: float


def spread_without_errors(y: Floats, cov: Floats) -> Spread:
    """
    Standard deviation of values, without that of their measurement.

    Parameters
    ----------
    y : ndarray, shape (n,)
    cov : ndarray, shape (n, n)
        Covariance of their measurement errors.

    Returns
    -------
    Spread
        NaN for fewer than three values. The interval takes driver and errors to be normal.
    """
    n = len(y)
    if n < MIN_RUNS:
        nan = float("nan")
        return Spread(nan, nan, nan, nan)
    squares = float(np.sum((y - y.mean()) ** 2))
    # The trace of the centred covariance: its diagonal without what all the errors share.
    measuring2 = max(float(np.trace(cov) - cov.sum() / n), 0.0) / (n - 1)
    whole = [
        squares / dof
        for dof in (n - 1, chi_square_quantile(0.975, n - 1), chi_square_quantile(0.025, n - 1))
    ]
    sd, low, high = np.sqrt(np.maximum(np.array(whole) - measuring2, 0.0)).tolist()
    return Spread(sd, low, high, float(np.sqrt(measuring2)))


def variation_table(evidence: Evidence) -> pd.DataFrame:
    """
    How much the time over each corner varies over the clean runs.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    DataFrame
        One row a corner with a clean run, see `lapwright.columns.variation`.
    """
    spans = evidence.spans.set_index("corner")
    time = evidence.passes["span_s"].to_numpy(dtype=np.float64)
    rows = []
    for corner in np.unique(evidence.passes["corner"].to_numpy()):
        at = evidence.of(int(corner))
        at = at[np.isfinite(time[at])]
        spread = spread_without_errors(time[at], evidence.covs_s2["span"][np.ix_(at, at)])
        place = spans.loc[corner]
        rows.append(
            {
                "corner": int(corner), "laps": len(at), "start_m": float(place["start_m"]),
                "end_m": float(place["end_m"]), "varies_s": spread.sd,
                "varies_low95_s": spread.low95, "varies_high95_s": spread.high95,
                "measuring_s": spread.measuring,
            }
        )  # fmt: skip
    return arranged(pd.DataFrame(rows), VARIATION) if rows else empty(VARIATION)
