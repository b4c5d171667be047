r"""
Put the estimates of several sessions together, their differences from day to day allowed for.

Each estimate counts with :math:`w_i = 1 / (s_i^2 + \tau^2)`; the variance between sessions
:math:`\tau^2` is the method of moments' [1]_: from Cochran's :math:`Q = \sum (y_i - \bar y)^2 /
s_i^2`, :math:`\tau^2 = \max(0, (Q - (k - 1)) / (S_1 - S_2 / S_1))` with :math:`S_j = \sum
s_i^{-2j}`.

Of two sessions the variance between them is hardly known, so the interval is somewhat too narrow
where they differ; with the same answer twice it is that of one estimate from all the runs.

References
----------
.. [1] R. DerSimonian and N. Laird, "Meta-analysis in clinical trials", Controlled Clinical Trials 7
   (1986) 177-188.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# Standard normal quantile of 97.5 %.
_HALF_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Pooled:
    """
    Several estimates of one thing as one.

    Attributes
    ----------
    value, sd : float
    between_sd : float
        How much the thing itself differs from session to session; zero where the error bars
        explain the difference.
    """

    value: float
    sd: float
    between_sd: float

    @property
    def low95(self) -> float:
        """Lower end of the 95 % interval."""
        return self.value - _HALF_95 * self.sd

    @property
    def high95(self) -> float:
        """Upper end of the 95 % interval."""
        return self.value + _HALF_95 * self.sd

    @property
    def stands(self) -> bool:
        """Whether the interval lies above zero."""
        return self.low95 > 0.0


def pooled(values: Sequence[float], sds: Sequence[float]) -> Pooled:
    """
    Pool estimates.

    Parameters
    ----------
    values, sds : sequence of float
        An estimate and its standard deviation for each session.

    Returns
    -------
    Pooled

    Raises
    ------
    ValueError
        If there is none, or a standard deviation is not positive.

    Examples
    --------
    >>> same = pooled([0.2, 0.2], [0.05, 0.05])
    >>> round(same.value, 3), round(same.sd, 4), same.between_sd
    (0.2, 0.0354, 0.0)
    """
    y, s = np.asarray(values, dtype=np.float64), np.asarray(sds, dtype=np.float64)
    if not len(y) or not (s > 0.0).all():
        msg = f"standard deviations to pool must be positive, one for each session: {list(sds)}"
        raise ValueError(msg)
    weight = s**-2.0
    middle = float(weight @ y / weight.sum())
    excess = float(weight @ (y - middle) ** 2) - (len(y) - 1)
    spare = float(weight.sum() - (weight**2).sum() / weight.sum())
    between2 = max(excess / spare, 0.0) if len(y) > 1 else 0.0
    weight = 1.0 / (s**2 + between2)
    total = float(weight.sum())
    return Pooled(float(weight @ y) / total, total**-0.5, between2**0.5)
