r"""
Restricted likelihood of a linear mixed model with a shift for each group.

.. math:: y = X \beta + u_{g} + e, \quad u \sim N(0, \tau^2), \quad e \sim N(0, \sigma^2 R_\rho)

Within a group the errors of two values :math:`d` places apart correlate as :math:`\rho^d` (AR(1)).
The likelihood of the error contrasts alone [1]_ is that of everything with the coefficients
integrated out over a flat prior [2]_; a coefficient may have a normal prior instead.  With
:math:`\lambda = \tau / \sigma` and :math:`\sigma` integrated out over :math:`1 / \sigma` each
coefficient is Student's t [3]_, given :math:`\lambda` and :math:`\rho`.

References
----------
.. [1] H. D. Patterson and R. Thompson, "Recovery of inter-block information when block sizes are
   unequal", Biometrika 58 (1971) 545-554.
.. [2] D. A. Harville, "Bayesian inference for variance components using only error contrasts",
   Biometrika 61 (1974) 383-385.
.. [3] G. E. P. Box and G. C. Tiao, "Bayesian Inference in Statistical Analysis", Addison-Wesley,
   1973, ch. 2.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Data:
    """
    What is fitted.

    Attributes
    ----------
    y : ndarray, shape (n,)
    x : ndarray, shape (n, p)
    group : ndarray of int, shape (n,)
        From 0, in ascending order.
    place : ndarray, shape (n,)
        Place within the group, ascending, one apart where values follow each other.
    precision : ndarray, shape (p,)
        Of each coefficient's prior about zero, in units of the residual's: ``(sigma / sd)²``; zero
        for none.
    least_sd : float
        The residual's standard deviation is taken to be this at least.

    Raises
    ------
    ValueError
        If the values do not leave a degree of freedom.
    """

    y: Floats
    x: Floats
    group: Whole
    place: Floats
    precision: Floats
    least_sd: float = 1e-12

    def __post_init__(self) -> None:
        if self.dof < 1:
            msg = f"{len(self.y)} values are too few for {self.x.shape[1]} coefficients"
            raise ValueError(msg)

    @property
    def dof(self) -> int:
        """Degrees of freedom: a coefficient with a prior costs none."""
        return len(self.y) - int((self.precision == 0.0).sum())


@dataclass(frozen=True, eq=False)
class Nodes:
    """
    The model at given spreads between groups and one correlation.

    Attributes
    ----------
    log_likelihood : ndarray, shape (m,)
        Restricted, with the residual's variance at its best (as REML has it) up to a constant;
        integrated out, it is the same up to another constant.
    coefficient : ndarray, shape (m, p)
    inverse : ndarray, shape (m, p, p)
        Covariance of the coefficients, in residual variances.
    variance : ndarray, shape (m,)
        Residual variance.
    """

    log_likelihood: Floats
    coefficient: Floats
    inverse: Floats
    variance: Floats


def nodes(data: Data, spreads: Floats, correlation: float) -> Nodes:
    """
    Evaluate the model.

    Parameters
    ----------
    data : Data
    spreads : ndarray, shape (m,)
        Between groups, in residual standard deviations.
    correlation : float
        Between values that follow each other, from 0 to below 1.

    Returns
    -------
    Nodes
    """
    p = data.x.shape[1]
    z = np.column_stack([data.x, data.y, np.ones(len(data.y))])
    white, log_det_r = _whitened(z, data, correlation)
    starts = np.flatnonzero(np.diff(data.group, prepend=-1))
    one = white[:, -1]
    # The shift of a group is a rank-one update of its covariance (Sherman and Morrison).
    h = np.add.reduceat(white[:, :-1] * one[:, None], starts, axis=0)
    c = np.add.reduceat(one**2, starts)
    grown = 1.0 + spreads[:, None] ** 2 * c
    pulled = spreads[:, None] ** 2 / grown
    m = white[:, :-1].T @ white[:, :-1] - np.einsum("ms,si,sj->mij", pulled, h, h)
    a = m[:, :p, :p] + np.diag(data.precision)
    inverse = np.linalg.inv(a)
    coefficient = np.einsum("mij,mj->mi", inverse, m[:, :p, p])
    squares = m[:, p, p] - (m[:, :p, p] * coefficient).sum(axis=1)
    variance = np.maximum(squares / data.dof, data.least_sd**2)
    likelihood = -0.5 * (
        log_det_r + np.log(grown).sum(axis=1) + np.linalg.slogdet(a)[1]
        + data.dof * np.log(variance)
    )  # fmt: skip
    return Nodes(likelihood, coefficient, inverse, variance)


def _whitened(z: Floats, data: Data, correlation: float) -> tuple[Floats, float]:
    """Take out of each row what the one before it in its group tells of it."""
    follows = np.diff(data.group, prepend=-1) == 0
    apart = np.maximum(np.diff(data.place, prepend=0.0), 1.0)
    told = np.where(follows, correlation**apart, 0.0)[:, None]
    before = np.vstack([np.zeros_like(z[:1]), z[:-1]])
    left = 1.0 - told**2
    return (z - told * before) / np.sqrt(left), float(np.log(left).sum())
