"""Speed in the unit people read."""

import numpy as np
import numpy.typing as npt

PER_MPS = {"km/h": 3.6, "mph": 3600.0 / 1609.344, "m/s": 1.0}


def speed_in(speed_mps: npt.ArrayLike, units: str) -> npt.NDArray[np.float64]:
    """Convert a speed in m/s."""
    return np.asarray(speed_mps, dtype=np.float64) * PER_MPS[units]
