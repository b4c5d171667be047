"""
Distances on a closed path: a station and the same station a lap later are one place.

Written with rounding to whole laps, so that what is already near is not changed by a digit.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def on_lap_near(value: npt.ArrayLike, near: npt.ArrayLike, length: float) -> Floats:
    """
    Move values by whole laps to the one nearest to others.

    Parameters
    ----------
    value, near : array_like
        In the unit of the length; broadcast against each other.
    length : float
        Of a lap; of a circle, 360 degrees.

    Returns
    -------
    ndarray
        At most half a lap from `near`.

    Examples
    --------
    >>> on_lap_near([5.0, 990.0], 2010.0, 1000.0)
    array([2005., 1990.])
    """
    value = np.asarray(value, dtype=np.float64)
    return np.asarray(value - length * np.round((value - near) / length))


def cyclic_difference(value: npt.ArrayLike, other: npt.ArrayLike, length: float) -> Floats:
    """
    Signed distance from others to values, the shorter way round.

    Parameters
    ----------
    value, other : array_like
    length : float
        Of a lap.

    Returns
    -------
    ndarray
        Positive where the value is ahead; from minus to plus half a lap.

    Examples
    --------
    >>> cyclic_difference([10.0, 980.0], 990.0, 1000.0)
    array([ 20., -10.])
    """
    return on_lap_near(np.subtract(value, other, dtype=np.float64), 0.0, length)


def distance_ahead(value: npt.ArrayLike, start: npt.ArrayLike, length: float) -> Floats:
    """
    Distance from a start on to values, always in driving order.

    Parameters
    ----------
    value, start : array_like
    length : float
        Of a lap.

    Returns
    -------
    ndarray
        In [0, length).

    Examples
    --------
    >>> distance_ahead([10.0, 980.0], 990.0, 1000.0)
    array([ 20., 990.])
    """
    return np.asarray(np.mod(np.subtract(value, start, dtype=np.float64), length))
