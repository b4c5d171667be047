"""
A slow lap that nothing set aside, such as one in traffic, must not decide.

Huber's modified residuals [1]_: each lap is brought to within 2.5 robust sd of what its session and
its place in the session let expect, and what is left of all is made larger by the share that was
not touched, so that least squares of the new times have the right error bars.  Equally good laps
lose one in eighty.

References
----------
.. [1] P. J. Huber, "Robust Statistics", Wiley, 1981, ch. 7.
"""

import numpy as np
import numpy.typing as npt

from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

_REACH = 2.5
_ROUNDS = 12
# No driver is steadier than this (common practice, no source): laps written down to a tenth may
# seem all the same. [s]
LEAST_SD_S = 0.01


def reined_in(time_s: Floats, session: Whole, lap: Floats) -> tuple[Floats, float]:
    """
    Bring freak laps closer.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
    session : ndarray of int, shape (n,)
        From 0, each with a lap at least.
    lap : ndarray, shape (n,)
        Laps since the session's first.

    Returns
    -------
    time_s : ndarray, shape (n,)
    sd_s : float
        Robust scatter within sessions. [s]
    """
    own = (session[:, None] == np.arange(session.max() + 1)).astype(np.float64)
    # One slope for all, how tyres fade and fuel burns, as far as it is the same in each session;
    # and cold tyres on the first lap.
    x = np.column_stack([own, lap - lap.mean(), lap == 0.0])
    middle = np.array([np.median(time_s[session == k]) for k in range(own.shape[1])])
    expected = middle[session]
    wider = np.sqrt(len(time_s) / max(len(time_s) - x.shape[1], 1))
    for _ in range(_ROUNDS):
        rest = time_s - expected
        sd = max(robust_sd(rest, 0.0) * wider, LEAST_SD_S)
        expected = x @ np.linalg.lstsq(x, expected + np.clip(rest, -_REACH * sd, _REACH * sd),
                                       rcond=None)[0]  # fmt: skip
    rest = time_s - expected
    near = np.abs(rest) <= _REACH * sd
    return expected + np.clip(rest, -_REACH * sd, _REACH * sd) / near.mean(), float(sd)
