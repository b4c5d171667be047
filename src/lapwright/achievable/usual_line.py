"""
The line a driver usually takes, and every clean lap along it in even steps.

How sharply the line bends is the cornering over the square of speed, averaged over the laps: the
scatter of the line and most of the receiver's error go out, and no position is differenced.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]

# Some 15 steps to a tight corner; finer than a log at 10 Hz has fixes.
_STEP_M = 2.5
# Slower than this a car is standing, and its cornering says nothing of the line. [m/s]
_LEAST_MPS = 1.0


@dataclass(frozen=True, eq=False)
class UsualLine:
    """
    The usual line in n even steps of the track, and l clean laps on it.

    Attributes
    ----------
    lap : ndarray of int, shape (l,)
    station_m : ndarray, shape (n,)
        Where each step begins. [m]
    step_m : ndarray, shape (n,)
        Length of each on the usual line. [m]
    curvature_per_m : ndarray, shape (n,)
        Of the usual line where each begins, positive to the left. [1/m]
    step_s, way_m, speed_mps : ndarray, shape (l, n)
        Time and way of every lap in every step, and its speed where each begins.
    accel_long_mps2, accel_lat_mps2 : ndarray, shape (l, n)
        Where each begins; a left turn is positive (ISO 8855).
    """

    lap: npt.NDArray[np.int64]
    station_m: Floats
    step_m: Floats
    curvature_per_m: Floats
    step_s: Floats
    way_m: Floats
    speed_mps: Floats
    accel_long_mps2: Floats
    accel_lat_mps2: Floats

    @property
    def usual_step_s(self) -> Floats:
        """Time of the usual lap in every step, the mean over the clean laps, shape (n,). [s]."""
        return np.asarray(self.step_s.mean(axis=0))


def usual_line(traces: Sequence[LapTrace]) -> UsualLine:
    """
    Set clean laps on even steps, and average their line.

    Parameters
    ----------
    traces : sequence of LapTrace

    Returns
    -------
    UsualLine
    """
    length = traces[0].length_m
    count = max(8, round(length / _STEP_M))
    mark = np.arange(count + 1) * length / count
    time = np.stack([t.time_at(mark) for t in traces])
    speed, along, across = (
        np.stack([t.at_station(name, mark) for t in traces])
        for name in ("speed_mps", "accel_long_mps2", "accel_lat_mps2")
    )
    speed = np.maximum(speed, _LEAST_MPS)
    step_s = np.diff(time, axis=1)
    way = 0.5 * (speed[:, 1:] + speed[:, :-1]) * step_s
    bend = (across / speed**2)[:, :-1]
    return UsualLine(
        np.array([t.lap for t in traces], dtype=np.int64), mark[:-1], way.mean(axis=0),
        bend.mean(axis=0), step_s, way, speed[:, :-1], along[:, :-1], across[:, :-1],
    )  # fmt: skip
