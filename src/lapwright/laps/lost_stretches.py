"""
What a time at a station is unsure by because the station is: where no normal of the path guides.

There a car's station goes by the distance driven (see `lapwright.geometry.map_matching`), and it
is not known how the stations that were gained are spread over that distance.  Another station at
the same moment is another moment at the same station.  Before and after such a stretch nothing of
it is left, and none at the start line and the sector lines, to which stations are pinned.
"""

import numpy as np
import numpy.typing as npt

from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]

# Half of the span over which a trace's pace is taken, and the slowest pace that counts.
_AROUND_M, _MIN_MPS = 1.0, 0.3


def lost_time_sd(trace: LapTrace, station_m: Floats) -> Floats:
    """
    Standard deviation of the times at some stations, for this reason alone.

    Parameters
    ----------
    trace : LapTrace
    station_m : ndarray, shape (k,)

    Returns
    -------
    ndarray, shape (k,)
        Zero wherever the normal guides. [s]
    """
    if trace.station_sd_m is None:
        return np.zeros(len(station_m))
    taken = trace.time_at(station_m + _AROUND_M) - trace.time_at(station_m - _AROUND_M)
    pace_spm = np.minimum(taken / (2.0 * _AROUND_M), 1.0 / _MIN_MPS)
    return trace.at_station("station_sd_m", station_m) * pace_spm


def lost_time_cov(trace: LapTrace, station_m: Floats) -> Floats:
    """
    Covariance of the times at some stations, for this reason alone.

    Parameters
    ----------
    trace : LapTrace
    station_m : ndarray, shape (k,)

    Returns
    -------
    ndarray, shape (k, k)
        One stretch is wrong as a whole, different stretches independently. [s²]
    """
    if trace.station_sd_m is None:
        return np.zeros((len(station_m), len(station_m)))
    sd = lost_time_sd(trace, station_m)
    # A new number wherever the normal guides again.
    stretch = np.cumsum(trace.station_sd_m == 0.0)
    nearest = np.clip(np.searchsorted(trace.station_m, station_m), 0, len(stretch) - 1)
    same = stretch[nearest][:, None] == stretch[nearest]
    return np.asarray(np.outer(sd, sd) * same)
