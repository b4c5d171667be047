"""
What comparing places that were passed more than once says about the drift of the position.

A row is the distance of a lap, at one place, from the line usually driven there (or of a parked car
from where it is parked).  What rows of one place have in common is where the line lies; what is
different at once is the driver; what grows with the time between them is drift.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.gaussian_likelihood import GaussianLikelihood, of_differences

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class RepeatedMeasures:
    """
    Places passed repeatedly, one row a pass: repeated measures, in the word of statistics.

    Attributes
    ----------
    time_s : ndarray, shape (m,)
    direction : ndarray, shape (m, 2)
        Unit vectors in which the distance is measured, east and north.
    value_m : ndarray, shape (m,)
        The measured distance along it. [m]
    place : ndarray of int, shape (m,)
        Rows with the same number share one unknown.
    lap : ndarray of int, shape (m,)
        Rows of one lap share the driver's way of driving it; -1 for a parked car.
    station_m : ndarray, shape (m,)
        Where along the lap. [m]
    averaged : ndarray, shape (m,)
        Number of fixes averaged in the row.
    """

    time_s: Floats
    direction: Floats
    value_m: Floats
    place: Ints
    lap: Ints
    station_m: Floats
    averaged: Floats


class DriverKernel:
    """
    The driver's deviations: alike on the same lap, at nearby places.

    A Matern 3/2 correlation along the lap: a driver's line bends smoothly but is soon forgotten.

    Parameters
    ----------
    repeats : RepeatedMeasures
    """

    def __init__(self, repeats: RepeatedMeasures) -> None:
        lap = repeats.lap
        self._mine, self._other = np.nonzero((lap[:, None] == lap) & (lap[:, None] >= 0))
        along = np.abs(repeats.station_m[self._mine] - repeats.station_m[self._other])
        # Places are as far apart on every lap: few distances, for which alone it is worked out.
        self._along, self._which = np.unique(along.round(6), return_inverse=True)

    def add_to(self, cov: Floats, spread_m: float, length_m: float) -> None:
        """Add the covariance for a standard deviation and a correlation length, in place."""
        share = matern(np.sqrt(3.0) * self._along / length_m)
        cov[self._mine, self._other] += (spread_m**2 * share)[self._which]


def matern(x: Floats) -> Floats:
    """Matern 3/2 correlation at distances counted in lengths over the square root of three."""
    return np.asarray((1.0 + x) * np.exp(-x))


def place_differences(place: Ints) -> tuple[Ints, Ints]:
    """
    Differences that are free of the places' unknowns: each further pass minus the first one.

    Parameters
    ----------
    place : ndarray of int, shape (m,)

    Returns
    -------
    later, first : ndarray of int, shape (m - q,)
        Row numbers.
    """
    _, begin, index = np.unique(place, return_index=True, return_inverse=True)
    first = begin[index]
    later = np.flatnonzero(first != np.arange(len(place)))
    return later, first[later]


def restricted_likelihood(repeats: RepeatedMeasures, white_m: float) -> Callable[[Floats], Floats]:
    """
    Restricted log likelihood (REML) of drift and driver.

    Where the line lies at each place is a fixed effect, and what is left of the data is free of
    it [1]_.

    Parameters
    ----------
    repeats : RepeatedMeasures
    white_m : float
        White noise of one fix. [m]

    Returns
    -------
    callable
        Rows of the logarithms of (drift_m, drift_tau_s, spread_m, length_m) to log likelihoods;
        with two more, (coloured_m, coloured_tau_s), also of an error that lasts seconds.

    References
    ----------
    .. [1] H. D. Patterson and R. Thompson, "Recovery of inter-block information when block sizes
       are unequal", Biometrika 58 (1971) 545-554, doi:10.1093/biomet/58.3.545; from memory.
    """
    later, first = place_differences(repeats.place)
    data = repeats.value_m[later] - repeats.value_m[first]
    facing = repeats.direction @ repeats.direction.T
    since = repeats.time_s - 0.5 * (repeats.time_s.min() + repeats.time_s.max())
    driver = DriverKernel(repeats)
    white = np.diag(white_m**2 / repeats.averaged)
    likelihood = GaussianLikelihood(data)
    apart = np.abs(repeats.time_s[:, None] - repeats.time_s)

    def one(point: Floats) -> float:
        drift, tau, spread, length, *lasting = np.exp(point)
        # exp(-|t - u| / tau) is the smaller of two products, which is quicker than its exponential;
        # over 700 time constants these would be too large to be had.
        grown = np.exp(since / max(tau, since.max() / 350.0))
        ahead = np.outer(grown, 1.0 / grown)
        cov = np.minimum(ahead, ahead.T)
        cov *= drift**2 * facing
        cov += white
        driver.add_to(cov, spread, length)
        if lasting:
            cov += lasting[0] ** 2 * facing * np.exp(-apart / lasting[1])
        return likelihood(of_differences(cov, later, first))

    return lambda points: np.array([one(p) for p in points])
