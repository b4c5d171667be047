"""The log likelihood of data under a normal distribution, for many covariances of one data set."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


class GaussianLikelihood:
    """
    Log likelihood of fixed data with mean zero, up to a constant, by one factorisation each.

    Parameters
    ----------
    data : ndarray, shape (n,)
    """

    def __init__(self, data: Floats) -> None:
        # The last row of the Cholesky factor of [[V, d], [d', c]] is V^(-1/2) d, whatever c is, as
        # long as it is larger than d' V^-1 d.
        self._bordered = np.empty((len(data) + 1, len(data) + 1))
        self._bordered[-1, :-1] = data
        self._bordered[-1, -1] = 1e200

    def __call__(self, cov: Floats) -> float:
        """
        Evaluate it.

        Parameters
        ----------
        cov : ndarray, shape (n, n)
            Of the data.  Only its lower triangle is looked at.

        Returns
        -------
        float

        Raises
        ------
        numpy.linalg.LinAlgError
            If the covariance is not positive definite.
        """
        self._bordered[:-1, :-1] = cov
        lower = np.linalg.cholesky(self._bordered)
        return float(-0.5 * (lower[-1, :-1] ** 2).sum() - np.log(lower.diagonal()[:-1]).sum())


def of_differences(cov: Floats, later: Ints, first: Ints) -> Floats:
    """
    Covariance of differences ``x[later] - x[first]``.

    Parameters
    ----------
    cov : ndarray, shape (m, m)
        Of x.
    later, first : ndarray of int, shape (n,)

    Returns
    -------
    ndarray, shape (n, n)
    """
    half = cov[later] - cov[first]
    return np.asarray(half[:, later] - half[:, first])
