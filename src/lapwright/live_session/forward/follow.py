"""
Where along the path the car is, fix after fix, as it comes.

Afterwards the whole session decides which leg of a hairpin a fix belongs to
(`lapwright.geometry.map_matching`).  Here the car is taken to go on from where it was; only where
the thread is lost is the path searched, for the place that fits position and direction best.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.geometry.path import MIN_METRIC_FACTOR, ReferencePath

Floats = npt.NDArray[np.float64]

# Farther beside the path than this a normal says little of where along it the car is. [m]
_FAR_M = 60.0
# So far does a station go by the distance driven before the path is searched again. [m]
_BLIND_M = 60.0
# A search must find the car nearer than this, going this way at least. [m], [1]
_NEAR_M, _AGREES = 40.0, 0.3
# A metre off the path counts as much as this much of a wrong direction: as in map matching.
_OFFSET_COST_PER_M, _AGAINST_COST = 0.05, 0.8


@dataclass(slots=True)
class Follower:
    """
    The thread along a path.

    Attributes
    ----------
    path : ReferencePath
    station_m : float
        Unwrapped: grows by the path's length each lap; NaN until the path is found. [m]
    offset_m : float
        Positive to the left. [m]
    lost : bool
        Whether the station goes by distance.
    driven_m : float
        Distance driven since the first fix. [m]
    """

    path: ReferencePath
    station_m: float = np.nan
    offset_m: float = np.nan
    lost: bool = True
    driven_m: float = 0.0
    _time_s: float = np.nan
    _blind_m: float = 0.0

    def step(self, time_s: float, position_m: Floats, velocity_mps: Floats) -> None:
        """Go on to where the car is now."""
        speed = float(np.hypot(*velocity_mps))
        dt_s = 0.0 if np.isnan(self._time_s) else time_s - self._time_s
        self._time_s = time_s
        self.driven_m += speed * dt_s
        if np.isnan(self.station_m):
            self._search(position_m, velocity_mps)
            return
        heading = float(self.path.at(self.station_m).heading_rad)
        ahead = float(velocity_mps @ [np.cos(heading), np.sin(heading)]) * dt_s
        guess = self.station_m + ahead
        station, offset, factor = (
            float(v[0]) for v in self.path.foot(position_m[None], np.array([guess]), steps=4)
        )
        apart = abs(station - guess)
        self.offset_m = offset
        if abs(offset) < _FAR_M and factor > MIN_METRIC_FACTOR and apart < 20.0 + 0.5 * abs(ahead):
            self.station_m, self.lost, self._blind_m = station, False, 0.0
            return
        self.station_m, self.lost = guess, True
        self._blind_m += speed * dt_s
        if self._blind_m > _BLIND_M:
            self._search(position_m, velocity_mps)

    def _search(self, position_m: Floats, velocity_mps: Floats) -> None:
        """Look for the car on the whole path."""
        stations, samples = self.path.samples()
        away = np.hypot(*(samples - position_m).T)
        speed = float(np.hypot(*velocity_mps))
        cost = away * _OFFSET_COST_PER_M
        agrees = np.ones(len(away))
        if speed > _SLOW_MPS:
            along = np.roll(samples, -1, axis=0) - np.roll(samples, 1, axis=0)
            along /= np.hypot(*along.T)[:, None]
            agrees = along @ velocity_mps / speed
            cost = cost + _AGAINST_COST * (1.0 - agrees)
        best = int(np.argmin(cost))
        if away[best] > _NEAR_M or agrees[best] < _AGREES:
            return
        station, offset, _ = self.path.foot(position_m[None], stations[best : best + 1])
        length = self.path.length_m
        found = float(station[0])
        if not np.isnan(self.station_m):
            found += length * round((self.station_m - found) / length)
        self.station_m, self.offset_m = found, float(offset[0])
        self.lost, self._blind_m = False, 0.0


# Slower than this a direction of travel is not to be relied on. [m/s]
_SLOW_MPS = 3.0
