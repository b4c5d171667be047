"""
Quantiles of Student's t, by the standard library alone.

`scipy.special` has them, but importing it takes longer than all the rest of a comparison of two
sessions.
"""

import math

_SMALLEST = 1e-300
_EXACT = 1e-16
# After a step this small, as a share, the next one would be its square.
_LEAST_STEP = 1e-9
_MAX_TERMS = 10_000
# From here on it is the normal distribution, and logarithms of its large numbers lose digits.
_MANY = 1e7


def t_quantile(probability: float, dof: float) -> float:
    """
    Quantile of Student's t.

    Parameters
    ----------
    probability : float
        Between 0 and 1.
    dof : float
        Degrees of freedom, not only whole ones.

    Returns
    -------
    float
        Infinite without a degree of freedom; NaN where one of the two is.
    """
    if math.isnan(dof) or math.isnan(probability):
        return math.nan
    if dof <= 0.0:
        return math.inf
    dof = min(dof, _MANY)
    if probability < 0.5:
        return -t_quantile(1.0 - probability, dof)
    above = 1.0 - probability
    low, high = 0.0, 1.0
    while _above(high, dof) > above and math.isfinite(high):
        low, high = high, 2.0 * high
    if not above < 0.5:
        return 0.0
    # Newton's steps as long as they stay between the two ends, and halves of what is left else.
    t = 0.5 * (low + high)
    while low < t < high:
        apart = _above(t, dof) - above
        low, high = (t, high) if apart > 0.0 else (low, t)
        step = apart / _density(t, dof)
        if abs(step) <= _LEAST_STEP * t:
            return t + step
        t = t + step if low < t + step < high else 0.5 * (low + high)
    return high


def _density(t: float, dof: float) -> float:
    """Density of Student's t; not zero, so that it can be divided by."""
    log_front = math.lgamma(0.5 * (dof + 1.0)) - math.lgamma(0.5 * dof)
    log_front -= 0.5 * math.log(math.pi * dof)
    exponent = log_front - 0.5 * (dof + 1.0) * math.log1p(t * t / dof)
    return max(math.exp(exponent), _SMALLEST)


def _above(t: float, dof: float) -> float:
    """Probability of a value above t >= 0: DLMF 8.17 with x = dof / (dof + t^2)."""
    a, b = 0.5 * dof, 0.5
    x = dof / (dof + t * t)
    y = t * t / (dof + t * t)
    # The fraction converges quickly below this x, and the two ends mirror each other (8.17.4).
    if x < (a + 1.0) / (a + b + 2.0):
        return 0.5 * _beta_ratio(x, y, a, b)
    return 0.5 * (1.0 - _beta_ratio(y, x, b, a))


def _beta_ratio(x: float, y: float, a: float, b: float) -> float:
    """
    Regularised incomplete beta function I_x(a, b), y = 1 - x.

    By its continued fraction, F. W. J. Olver et al., "NIST Digital Library of Mathematical
    Functions", 8.17.22, summed by Lentz's method as modified by Thompson and Barnett, J. Comput.
    Phys. 64 (1986) 490-509.
    """
    if x <= 0.0:
        return 0.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    front = math.exp(log_front + a * math.log(x) + b * math.log(y)) / a if y > 0.0 else 0.0
    total = c = 1.0
    d = 0.0
    for n in range(1, _MAX_TERMS):
        m, odd = divmod(n, 2)
        if odd:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        d = 1.0 / _away_from_zero(1.0 + term * d)
        c = _away_from_zero(1.0 + term / c)
        total *= c * d
        if abs(c * d - 1.0) <= _EXACT:
            break
    return front / total


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _SMALLEST else _SMALLEST
