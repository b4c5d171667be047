"""
The usual lap time of a session, and how close to it a clean lap is.

One rule for both: the laps a path is averaged over (`lap_choice`) and the laps a driver is judged
by (`lapwright.laps.clean_laps`, which also asks for a lap without a remark).
"""

import numpy as np

from lapwright.discovery.arrays import Floats

# A clean lap is at most this much slower than the usual one: a club racer who tries keeps within
# one or two per cent, a lap in traffic or with a mistake does not (common practice, no source).
CLEAN_FACTOR = 1.03


def usual_time_s(time_s: Floats) -> float:
    """
    Median of the quicker half of lap times: out laps and slow ones do not move it.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        At least one. [s]

    Returns
    -------
    float
        [s]

    Examples
    --------
    >>> usual_time_s(np.array([140.0, 91.0, 90.0, 92.0, 150.0]))
    91.0
    """
    return float(np.median(np.sort(time_s)[: (len(time_s) + 1) // 2]))
