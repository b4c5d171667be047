"""A fix as numbers on the plane, with what its receiver says of itself."""

import math

import numpy as np

from lapwright.live_session.forward.filter import Measured
from lapwright.live_session.receiving.fixes import Fix
from lapwright.plane import Plane

# As in `lapwright.motion.measurements`: an absurd accuracy counts less.
_LEAST, _MOST = 0.5, 100.0
# Slower than this an unchanged position is news: the car stands. [m/s]
_STANDING_MPS = 2.0
# How quickly the usual accuracy follows: some hundred fixes.
_FOLLOWS = 0.01


class Measuring:
    """
    Puts fixes on a plane, one by one.

    Parameters
    ----------
    plane : Plane
    """

    def __init__(self, plane: Plane) -> None:
        self._plane = plane
        self._usual_sd_m = math.nan
        self._last = (math.nan, math.nan)

    def of(self, fix: Fix) -> Measured:
        """Measure one fix."""
        east, north = self._plane.to_metres(fix.lat_deg, fix.lon_deg)
        frozen = (fix.lat_deg, fix.lon_deg) == self._last and fix.speed_mps > _STANDING_MPS
        self._last = (fix.lat_deg, fix.lon_deg)
        return Measured(
            fix.time_s, np.array([float(east), float(north)]), fix.speed_mps,
            math.radians(fix.course_deg), self._factor(fix.position_sd_m), not frozen,
        )  # fmt: skip

    def _factor(self, sd_m: float) -> float:
        """Variance against the usual fix, by the receiver's own word."""
        if not sd_m > 0.0 or math.isinf(sd_m):
            return 1.0
        if math.isnan(self._usual_sd_m):
            self._usual_sd_m = sd_m
        self._usual_sd_m *= (sd_m / self._usual_sd_m) ** _FOLLOWS
        return min(max(sd_m / self._usual_sd_m, _LEAST), _MOST) ** 2
