"""A session's motion under one plausible set of noise parameters."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.pseudo_measurements import RowEffect, row_correction, row_means
from lapwright.motion.kalman.smoothing import Smoothing

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """A smoothing under one plausible set of noise parameters, with what extra rows did to it."""

    weight: float
    smoothing: Smoothing
    effect: RowEffect | None = None

    def mean(self, time_s: Floats, weights: Floats) -> Floats:
        """Posterior mean of functionals, shape (k,)."""
        out = row_means(self.smoothing, time_s, weights)
        if self.effect is not None:
            p, v, a = row_correction(self.smoothing, self.effect, time_s)
            out = out + np.einsum("kj,kj->k", weights, np.concatenate([p, v, a], axis=1))
        return out

    def cov(self, time_s: Floats, weights: Floats) -> Floats:
        """Posterior covariance of functionals at any times, shape (k, k)."""
        order = np.argsort(time_s, kind="stable")
        smoothing = self.smoothing
        places = smoothing.places(time_s[order])
        functionals = smoothing.functionals(weights[order])
        sorted_cov = smoothing.chain(places).covariance(functionals)
        if self.effect is not None:
            seen = self.effect.whitening @ self.effect.reach.cov(places, functionals).T
            sorted_cov -= seen.T @ seen
        cov = np.empty_like(sorted_cov)
        cov[np.ix_(order, order)] = sorted_cov
        return cov + self._lasting_cov(time_s, weights)

    def variances(self, time_s: Floats, weights: Floats) -> Floats:
        """
        Posterior variances of sums of functionals, each sum on its own.

        What `cov` has of them, for less than half of its work: no sum need know of another.

        Parameters
        ----------
        time_s : ndarray, shape (k, g)
            Moments of each sum, in any order. [s]
        weights : ndarray, shape (k, g, 6)

        Returns
        -------
        ndarray, shape (k,)
        """
        k, g = time_s.shape
        smoothing = self.smoothing
        places = smoothing.places(time_s.ravel())
        functionals = smoothing.functionals(weights.reshape(-1, 6))
        with_state = places.cov @ functionals
        out = np.einsum("ksc,ksc->k", functionals, with_state).reshape(k, g).sum(axis=1)
        for pair in combinations(range(g), 2):
            # The earlier of the two first, as the chain of gains goes.
            one, other = (np.arange(k) * g + j for j in pair)
            swapped = places.time_s[one] > places.time_s[other]
            a, b = np.where(swapped, other, one), np.where(swapped, one, other)
            led = smoothing.gains(places.take(a), places.take(b)) @ with_state[b]
            out += 2.0 * np.einsum("ksc,ksc->k", functionals[a], led)
        if self.effect is not None:
            cross = self.effect.reach.cov(places, functionals).reshape(k, g, -1).sum(axis=1)
            seen = self.effect.whitening @ cross.T
            out -= np.einsum("mk,mk->k", seen, seen)
        return np.asarray(out + self._lasting_variances(time_s, weights))

    def _lasting_variances(self, time_s: Floats, weights: Floats) -> Floats:
        noise = self.smoothing.noise
        if noise.coloured_m == 0.0:
            return np.zeros(len(time_s))
        alike = np.exp(-np.abs(time_s[:, :, None] - time_s[:, None]) / noise.coloured_tau_s)
        position = weights[:, :, :2]
        sums = np.einsum("kij,kij->k", alike, position @ position.swapaxes(1, 2))
        return np.asarray(noise.coloured_m**2 * sums)

    def _lasting_cov(self, time_s: Floats, weights: Floats) -> Floats:
        """Share of errors that last seconds: they go through the smoother as if the car did it."""
        noise = self.smoothing.noise
        if noise.coloured_m == 0.0:
            return np.zeros((len(time_s), len(time_s)))
        apart = np.abs(time_s[:, None] - time_s) / noise.coloured_tau_s
        position = weights[:, :2]
        return np.asarray(noise.coloured_m**2 * np.exp(-apart) * (position @ position.T))
