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
        low, high = self.interval(_HALF_68)
        return 0.5 * (high - low)

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
        sds = np.sqrt(np.maximum(np.diagonal(self.covs, axis1=1, axis2=2), 0.0))
        if len(self.weight) == 1:
            return self.means[0] - half_width_sds * sds[0], self.means[0] + half_width_sds * sds[0]
        return self._quantile(sds, -half_width_sds), self._quantile(sds, half_width_sds)

    def _quantile(self, sds: Floats, z: float) -> Floats:
        """Bisect the mixture's distribution function; it lies between the components' quantiles."""
        target = float(distribution(np.array([z]))[0])
        edges = self.means + z * sds
        low, high = edges.min(axis=0), edges.max(axis=0)
        safe = np.maximum(sds, 1e-300)
        for _ in range(45):
            middle = 0.5 * (low + high)
            below = self.weight @ distribution((middle - self.means) / safe)
            low, high = (
                np.where(below < target, middle, low),
                np.where(below < target, high, middle),
            )
        return np.asarray(0.5 * (low + high))
