"""
The rate of a logger's own clock.

A receiver's time is kept right by the satellites.  A log that counts from its own start goes by
the logger's quartz, and every time in it is longer or shorter by one and the same share.  Nothing
in the log shows it: a few millionths are far below what speeds and positions can tell.  The share
is one number a session, so it cancels in the difference of two laps of one session, up to that
share of the difference itself; between two sessions it does not.

A quartz is cut to 20 ppm, ages by a few ppm a year, and a tuning-fork one loses 0.034 ppm for each
square of a kelvin away from 25 °C, which is 20 to 40 ppm in a cold or hot car (data sheets of
32.768 kHz crystals, from memory).  Together 20 to 60 ppm; an error spread evenly over that
range, of either sign, is within one standard deviation of 45 ppm in 62 % of loggers and within 1.96
in all of them.
"""

import numpy as np
import numpy.typing as npt

from lapwright.ingest.log import Log

Floats = npt.NDArray[np.float64]

# One standard deviation of the range above.
QUARTZ_SD = 45e-6


def rate_sd(log: Log) -> float:
    """Standard deviation of the rate of a log's clock, a share; zero for a receiver's time."""
    return QUARTZ_SD if log.own_clock else 0.0


def clock_cov(time_s: Floats, sd: float) -> Floats:
    """
    Covariance that the rate of the clock gives to moments of one log.

    Parameters
    ----------
    time_s : ndarray, shape (k,)
        Moments on the log's axis. [s]
    sd : float
        Of the rate, a share.

    Returns
    -------
    ndarray, shape (k, k)
        Of rank one: a lap time gets ``sd`` times its length, a difference of lap times ``sd`` times
        the difference.  [s²]
    """
    return np.asarray(sd**2 * np.outer(time_s, time_s))
