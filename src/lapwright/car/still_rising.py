"""A temperature that was still rising at the end of the session."""

from dataclasses import dataclass

import numpy as np

from lapwright.car.places import Places
from lapwright.car.watched import Watched
from lapwright.numerics.regression import fit_line

# Rising means by so much a lap, over so many laps, and on the last of them still (common practice,
# no source).  One kelvin, in the unit of the channel.
_PER_LAP_K, _LAST_SHARE = 1.0, 0.75
# An engine that is still warming up levels off: from lap to lap it gains less.  The last step is at
# least such a share of the first.
_STEADY_SHARE = 0.6
_LAPS = 4
_KELVIN = {"°f": 1.8, "f": 1.8, "degf": 1.8, "fahrenheit": 1.8}
# Before that an engine warms up (common practice, no source). [s]
_WARM_UP_S = 300.0


@dataclass(frozen=True, slots=True)
class StillRising:
    """
    How a temperature went over the last laps.

    Attributes
    ----------
    per_lap, sd, low95, high95 : float
        Slope of the laps' means over the lap, its sd and its 95 % interval; in the channel's unit.
    laps : tuple of int
    last : float
        Mean of the last lap.
    """

    per_lap: float
    sd: float
    low95: float
    high95: float
    laps: tuple[int, ...]
    last: float


def still_rising(channel: Watched, places: Places) -> StillRising | None:
    """
    Look whether a temperature still rises at the end.

    Parameters
    ----------
    channel : Watched
    places : Places

    Returns
    -------
    StillRising or None
        None where it does not, or levels off, or there are fewer than four full laps on a warm
        engine.
    """
    laps = places.whole[["lap", "start_s", "end_s"]].to_numpy(float)
    warm = places.moving_s(laps[:, 1]) >= _WARM_UP_S if len(laps) else np.zeros(0, bool)
    laps = laps[warm][-_LAPS:]
    if len(laps) < _LAPS:
        return None
    edges = np.searchsorted(channel.time_s, laps[:, 1:])
    if (edges[:, 1] - edges[:, 0] < 2).any():
        return None
    means = np.array([float(channel.value[a:b].mean()) for a, b in edges])
    line = fit_line(np.arange(_LAPS), means)
    low, high = line.slope_interval()
    least = _PER_LAP_K * _KELVIN.get(channel.unit.casefold(), 1.0)
    steps = np.diff(means)
    if line.slope < least or low <= 0.0:
        return None
    if steps[-1] < max(_LAST_SHARE * least, _STEADY_SHARE * steps[0]):
        return None
    numbers = tuple(int(n) for n in laps[:, 0])
    return StillRising(line.slope, line.slope_sd, low, high, numbers, float(means[-1]))
