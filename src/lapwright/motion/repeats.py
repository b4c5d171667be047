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

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Repeats:
    """
    Places passed repeatedly, one row a pass.

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


def driver_cov(repeats: Repeats, spread_m: float, length_m: float) -> Floats:
    """
    Covariance of the driver's deviations: the same lap, nearby places.

    A Matern 3/2 correlation along the lap: a driver's line bends smoothly but is soon forgotten.

    Parameters
    ----------
    repeats : Repeats
    spread_m, length_m : float
        Standard deviation and correlation length.

    Returns
    -------
    ndarray, shape (m, m)
    """
    apart = np.abs(repeats.station_m[:, None] - repeats.station_m) * (np.sqrt(3.0) / length_m)
    same = (repeats.lap[:, None] == repeats.lap) & (repeats.lap[:, None] >= 0)
    return np.asarray(spread_m**2 * same * (1.0 + apart) * np.exp(-apart))


def place_contrasts(place: Ints) -> Floats:
    """Orthonormal combinations free of the places' unknowns, shape (m - q, m)."""
    _, index = np.unique(place, return_inverse=True)
    design = np.zeros((len(place), index.max() + 1))
    design[np.arange(len(place)), index] = 1.0
    full, _ = np.linalg.qr(design, mode="complete")
    return np.asarray(full[:, design.shape[1] :].T)


def repeat_likelihood(repeats: Repeats, white_m: float) -> Callable[[Floats], Floats]:
    """
    Restricted log likelihood of drift and driver.

    Parameters
    ----------
    repeats : Repeats
    white_m : float
        White noise of one fix. [m]

    Returns
    -------
    callable
        Rows of the logarithms of (drift_m, drift_tau_s, spread_m, length_m) to log likelihoods.
    """
    contrast = place_contrasts(repeats.place)
    data = contrast @ repeats.value_m
    facing = repeats.direction @ repeats.direction.T
    apart = np.abs(repeats.time_s[:, None] - repeats.time_s)
    white = np.diag(white_m**2 / repeats.averaged)

    def one(point: Floats) -> float:
        drift, tau, spread, length = np.exp(point)
        cov = white + drift**2 * np.exp(-apart / tau) * facing + driver_cov(repeats, spread, length)
        lower = np.linalg.cholesky(contrast @ cov @ contrast.T)
        z = np.linalg.solve(lower, data)
        return float(-0.5 * z @ z - np.log(np.diagonal(lower)).sum())

    return lambda points: np.array([one(p) for p in points])
