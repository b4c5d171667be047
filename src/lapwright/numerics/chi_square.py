"""
Quantiles of the chi-square distribution, by the standard library alone.

`scipy.special` has them, but importing it takes longer than all the rest of a debrief.
"""

import math

_EXACT = 1e-16
_MAX_TERMS = 10_000


def chi_square_quantile(probability: float, dof: float) -> float:
    """
    Quantile of the chi-square distribution.

    Parameters
    ----------
    probability : float
        Between 0 and 1.
    dof : float
        Degrees of freedom, more than none; not only whole ones.

    Returns
    -------
    float

    Examples
    --------
    >>> round(chi_square_quantile(0.95, 10.0), 3)
    18.307
    """
    low, high = 0.0, max(dof, 1.0)
    while _below(high, dof) < probability:
        low, high = high, 2.0 * high
    # Bisected until no number lies between.
    while low < (middle := 0.5 * (low + high)) < high:
        low, high = (middle, high) if _below(middle, dof) < probability else (low, middle)
    return high


def _below(x: float, dof: float) -> float:
    """
    Probability of a value below x: the regularised incomplete gamma function P(dof/2, x/2).

    By its series, F. W. J. Olver et al., "NIST Digital Library of Mathematical Functions", 8.11.4:
    all its terms are positive, so none of its digits is lost.
    """
    a, half = 0.5 * dof, 0.5 * x
    if half <= 0.0:
        return 0.0
    term = total = 1.0
    for k in range(1, _MAX_TERMS):
        term *= half / (a + k)
        total += term
        if term <= _EXACT * total:
            break
    return math.exp(a * math.log(half) - half - math.lgamma(a + 1.0)) * total
