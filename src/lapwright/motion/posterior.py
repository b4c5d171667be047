"""
What is known of some numbers jointly: a mixture of normal distributions.

One component for each set of noise parameters that the data leave plausible, so that not knowing
the noise widens the bars as it should: a bar from four laps is wider than one from forty.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.normal import distribution

Floats = npt.NDArray[np.float64]

# Standard normal quantiles of 84.13 %, which is one sd, and of 97.5 %.
_HALF_68, _HALF_95 = 1.0, 1.959963984540054


@dataclass(frozen=True, eq=False)
class Posterior:
    """
    Joint distribution of ``k`` numbers as a mixture of ``h`` normal distributions.

    Attributes
    ----------
    weight : ndarray, shape (h,)
        Summing to one.
    means : ndarray, shape (h, k)
    covs : ndarray, shape (h, k, k)
    """

    weight: Floats
    means: Floats
    covs: Floats

    def combined(self, matrix: Floats) -> "Posterior":
        """Distribution of linear combinations; ``matrix`` has shape (j, k)."""
        return Posterior(self.weight, self.means @ matrix.T, matrix @ self.covs @ matrix.T)

    def shifted(self, values: Floats) -> "Posterior":
        """Add known numbers, shape (k,)."""
        return Posterior(self.weight, self.means + values, self.covs)

    def widened(self, cov: Floats) -> "Posterior":
        """Add an independent error with a covariance, shape (k, k)."""
        return Posterior(self.weight, self.means, self.covs + cov)

    @property
    def mean(self) -> Floats:
        """Mean of each number, shape (k,)."""
        return np.asarray(self.weight @ self.means)

    @property
    def cov(self) -> Floats:
        """Covariance of the mixture, shape (k, k)."""
        away = self.means - self.mean
        inner = np.einsum("h,hij->ij", self.weight, self.covs)
        return np.asarray(inner + np.einsum("h,hi,hj->ij", self.weight, away, away))

    @property
    def sd(self) -> Floats:
        """Half of the central 68.27 % interval of each number, shape (k,)."""
        return mixture_sd(self.weight, self.means, self._sds)

    def ci95(self) -> tuple[Floats, Floats]:
        """Ends of the central 95 % interval of each number, each of shape (k,)."""
        return self.interval(_HALF_95)

    def interval(self, half_width_sds: float) -> tuple[Floats, Floats]:
        """
        Central interval with the probability of +/- this many standard deviations.

        Parameters
        ----------
        half_width_sds : float

        Returns
        -------
        low, high : ndarray, shape (k,)
        """
        return mixture_interval(self.weight, self.means, self._sds, half_width_sds)

    @property
    def _sds(self) -> Floats:
        """Of each number under each of the components, shape (h, k)."""
        variances = np.diagonal(self.covs, axis1=1, axis2=2)
        return np.asarray(np.sqrt(np.maximum(variances, 0.0)))


def mixture_sd(weight: Floats, means: Floats, sds: Floats) -> Floats:
    """Half of the central 68.27 % interval of each number; see `mixture_interval`."""
    low, high = mixture_interval(weight, means, sds, _HALF_68)
    return 0.5 * (high - low)


def mixture_interval(
    weight: Floats, means: Floats, sds: Floats, half_width_sds: float
) -> tuple[Floats, Floats]:
    """
    Central interval of each of some mixtures of normal distributions.

    Parameters
    ----------
    weight : ndarray, shape (h,)
        Summing to one.
    means, sds : ndarray, shape (h, k)
    half_width_sds : float
        See `Posterior.interval`.

    Returns
    -------
    low, high : ndarray, shape (k,)
    """
    if len(weight) == 1:
        return means[0] - half_width_sds * sds[0], means[0] + half_width_sds * sds[0]
    low, high = (_quantile(weight, means, sds, z) for z in (-half_width_sds, half_width_sds))
    return low, high


def _quantile(weight: Floats, means: Floats, sds: Floats, z: float) -> Floats:
    """Bisect the mixture's distribution function; it lies between the components' quantiles."""
    target = float(distribution(np.array([z]))[0])
    edges = means + z * sds
    low, high = edges.min(axis=0), edges.max(axis=0)
    safe = np.maximum(sds, 1e-300)
    for _ in range(45):
        middle = 0.5 * (low + high)
        below = weight @ distribution((middle - means) / safe)
        low, high = (
            np.where(below < target, middle, low),
            np.where(below < target, high, middle),
        )
    return np.asarray(0.5 * (low + high))
