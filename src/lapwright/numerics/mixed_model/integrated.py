r"""
A mixed model with its variances integrated out, not put at their most likely values.

With two to six groups the most likely spread between them is often zero, and an interval that
takes it for zero is too narrow; one with the few degrees of freedom that are left
(Satterthwaite's, say: two groups on either side leave one or two) is many times too wide to be of
use.  So the restricted likelihood is weighed with a prior for the spread, a half-t [1]_, and for
the correlation, and summed over a grid; each coefficient is a mixture of Student's t.

References
----------
.. [1] A. Gelman, "Prior distributions for variance parameters in hierarchical models", Bayesian
   Analysis 1 (2006) 515-533.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.mixed_model.restricted_likelihood import Data, nodes

Floats = npt.NDArray[np.float64]

# The half-t's degrees of freedom: groups may differ by far more than usual, now and then.
_TAIL_DOF = 4.0
# The prior density of the correlation goes with this power of its distance from one.
_RHO_POWER = 2.0
# The grid, in scales of the prior.
_SPREADS = np.arange(0.0, 5.01, 0.25)
_CORRELATIONS = np.arange(0.0, 0.81, 0.1)
# Nodes that together count less than this are left out.
_LEAST_WEIGHT = 1e-5
# Narrow an end to a hundred thousandth of where the search for it begins.
_HALVINGS = 17


@dataclass(frozen=True, slots=True)
class Prior:
    """
    What is known before looking.

    Attributes
    ----------
    spread : float
        Scale of the half-t of the spread between groups, in residual standard deviations.
    correlated : bool
        Whether values that follow each other may correlate; the density of the correlation then
        falls from 0 to 1 as ``(1 - rho)²``.
    """

    spread: float
    correlated: bool = True


@dataclass(frozen=True, slots=True)
class Estimate:
    """
    One coefficient, or a sum of them.

    Attributes
    ----------
    value, sd : float
        Mean and standard deviation.
    low, high : float
        The interval that was asked for.
    """

    value: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Fit:
    """
    A fitted model: what is left of the grid.

    Attributes
    ----------
    data : Data
    weight : ndarray, shape (m,)
        Sums to one.
    spread, correlation : ndarray, shape (m,)
    coefficient : ndarray, shape (m, p)
    inverse : ndarray, shape (m, p, p)
    variance : ndarray, shape (m,)
    """

    data: Data
    weight: Floats
    spread: Floats
    correlation: Floats
    coefficient: Floats
    inverse: Floats
    variance: Floats

    @property
    def between_sd(self) -> float:
        """How much groups differ: the mean over the grid."""
        return float(self.weight @ (self.spread * np.sqrt(self.variance)))

    @property
    def residual_sd(self) -> float:
        """Scatter within a group: the mean over the grid."""
        return float(self.weight @ np.sqrt(self.variance))

    @property
    def mean_correlation(self) -> float:
        """Correlation of values that follow each other: the mean over the grid."""
        return float(self.weight @ self.correlation)

    def estimate(self, which: int, probability: float = 0.95) -> Estimate:
        """
        Return a coefficient with its central interval.

        Parameters
        ----------
        which : int
            Column of ``x``.
        probability : float

        Returns
        -------
        Estimate
        """
        middle = self.coefficient[:, which]
        scale2 = self.variance * self.inverse[:, which, which]
        value = float(self.weight @ middle)
        dof = self.data.dof
        # Student's t has no variance below three degrees of freedom.
        wider = dof / (dof - 2.0) if dof > 2 else np.inf
        sd = float(np.sqrt(self.weight @ (scale2 * wider + (middle - value) ** 2)))
        tail = 0.5 * (1.0 - probability)
        low, high = (_quantile(q, self.weight, middle, np.sqrt(scale2), dof)
                     for q in (tail, 1.0 - tail))  # fmt: skip
        return Estimate(value, sd, low, high)


def fit(data: Data, prior: Prior) -> Fit:
    """
    Fit a mixed model.

    Parameters
    ----------
    data : Data
    prior : Prior

    Returns
    -------
    Fit

    Examples
    --------
    >>> y = np.array([1.0, 1.2, 0.8, 2.0, 2.2, 1.8])
    >>> x = np.column_stack([np.ones(6), [0, 0, 0, 1, 1, 1]])
    >>> group, place = np.repeat([0, 1], 3), np.tile(np.arange(3.0), 2)
    >>> model = fit(Data(y, x, group, place, np.zeros(2)), Prior(0.5))
    >>> round(model.estimate(1).value, 3)
    1.0
    """
    spreads = prior.spread * _SPREADS
    log_prior = -0.5 * (_TAIL_DOF + 1.0) * np.log1p(_SPREADS**2 / _TAIL_DOF)
    # The rule of trapezoids: half the weight at the ends.
    log_prior[0] -= np.log(2.0)
    parts, logs = [], []
    for rho in _CORRELATIONS if prior.correlated else _CORRELATIONS[:1]:
        parts.append(nodes(data, spreads, float(rho)))
        half = 0.5 if rho == 0.0 else 1.0
        logs.append(parts[-1].log_likelihood + log_prior + np.log((1.0 - rho) ** _RHO_POWER * half))
    log_weight = np.concatenate(logs)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    keep = weight > _LEAST_WEIGHT
    used = _CORRELATIONS[: len(parts)]
    return Fit(
        data, weight[keep] / weight[keep].sum(), np.tile(spreads, len(parts))[keep],
        np.repeat(used, len(spreads))[keep],
        np.concatenate([one.coefficient for one in parts])[keep],
        np.concatenate([one.inverse for one in parts])[keep],
        np.concatenate([one.variance for one in parts])[keep],
    )  # fmt: skip


def _quantile(share: float, weight: Floats, middle: Floats, scale: Floats, dof: int) -> float:
    """Quantile of a mixture of Student's t, by halving."""
    from scipy.special import stdtr, stdtrit

    ends = middle + scale * stdtrit(dof, share)
    low, high = float(ends.min()), float(ends.max())
    for _ in range(_HALVINGS):
        half = 0.5 * (low + high)
        if weight @ stdtr(dof, (half - middle) / scale) < share:
            low = half
        else:
            high = half
    return 0.5 * (low + high)
