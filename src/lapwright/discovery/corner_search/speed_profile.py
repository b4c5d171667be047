"""Usual speed and time along a ring, to tell what a third of the lap is."""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats
from lapwright.discovery.loop.averaged import medians
from lapwright.discovery.loop.find_loop import Loop, NoCircuitError

# Over such a length even hard braking changes a car's speed by only a tenth or so at 30 m/s.
CELL_M = 10.0


@dataclass(frozen=True, eq=False)
class SpeedProfile:
    """
    Usual speed in cells of about 10 m along a ring.

    Attributes
    ----------
    speed_mps : ndarray, shape (cells,)
        Median over the passes. [m/s]
    length_m : float
        Length of the ring. [m]
    """

    speed_mps: Floats
    length_m: float

    def speed_at(self, station_m: Floats) -> Floats:
        """Usual speed at stations [m/s]."""
        cells = len(self.speed_mps)
        at = np.floor(np.mod(station_m, self.length_m) / self.length_m * cells).astype(np.int64)
        speed: Floats = self.speed_mps[np.minimum(at, cells - 1)]
        return speed

    def elapsed_s(self, station_m: Floats, from_m: float = 0.0) -> Floats:
        """Usual time from one station on to others, within one lap [s]."""
        cell_m = self.length_m / len(self.speed_mps)
        clock = np.r_[0.0, np.cumsum(cell_m / self.speed_mps)]
        edges = np.arange(len(clock)) * cell_m
        lap_s = clock[-1]

        def at(station: Floats) -> Floats:
            out: Floats = np.interp(np.mod(station, self.length_m), edges, clock)
            return out

        elapsed: Floats = np.mod(at(np.asarray(station_m)) - at(np.array(from_m)), lap_s)
        return elapsed


def speed_profile(loop: Loop) -> SpeedProfile:
    """
    Median speed of the passes along a loop's ring.

    Parameters
    ----------
    loop : Loop

    Returns
    -------
    SpeedProfile
        From stations and times of neighbouring fixes, not from a logged speed.

    Raises
    ------
    NoCircuitError
        If the fixes are too far from each other to tell a speed.
    """
    station_m, time_s = loop.along.station_m, loop.trace.time_s
    apart_s = np.diff(time_s)
    moved_m = np.diff(station_m)
    good = np.isfinite(moved_m) & (loop.along.stretch[1:] == loop.along.stretch[:-1])
    good &= (apart_s < 3.0) & (moved_m > 0.0)
    cells = max(8, int(loop.ring.length_m / CELL_M))
    middle_m = 0.5 * (station_m[1:] + station_m[:-1])[good]
    share = np.mod(middle_m, loop.ring.length_m) / loop.ring.length_m
    cell = np.minimum(np.floor(share * cells).astype(np.int64), cells - 1)
    speed = medians((moved_m[good] / apart_s[good]), cell, cells)
    known = np.isfinite(speed)
    if not known.any():
        step_s = float(np.median(apart_s))
        msg = f"the fixes are {step_s:.1f} s apart: too far from each other to tell the car's speed"
        raise NoCircuitError(msg)
    index = np.arange(cells)
    speed = np.interp(index, index[known], speed[known], period=cells)
    return SpeedProfile(np.maximum(speed, 0.5), loop.ring.length_m)
