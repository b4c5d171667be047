"""Speeds of a whole lap in the unit people read."""

import numpy as np
import numpy.typing as npt

from lapwright.units import SPEED_PER_MPS


def speed_in(speed_mps: npt.ArrayLike, units: str) -> npt.NDArray[np.float64]:
    """
    Convert speeds from m/s.

    Parameters
    ----------
    speed_mps : array_like, shape (n,)
        [m/s]
    units : {"km/h", "mph", "m/s"}

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> speed_in([10.0, 20.0], "km/h")
    array([36., 72.])
    """
    return np.asarray(speed_mps, dtype=np.float64) * SPEED_PER_MPS[units]
