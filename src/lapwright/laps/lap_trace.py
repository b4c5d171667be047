"""
One lap along the reference path: time, place and motion at every station.

Station is pinned to the gates where they are crossed, the correction blended over 50 m, so that
what is read off a trace agrees with the lap and sector times.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Track
from lapwright.geometry.path import MIN_METRIC_FACTOR
from lapwright.laps.gaps import gaps
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# A gate shifts the stations this far on either side of it: long against the metre or so of the
# shift, so that speeds hardly change, short against the way to the next gate.
BLEND_M = 50.0
# More than a braking zone and a corner, so that one on the line is whole.
_MARGIN_M = 600.0
# At 70 m/s a point every 1.4 to 3.5 m (common practice, no source); in between the log's step.
_FINEST_S, _COARSEST_S = 0.02, 0.05


@dataclass(frozen=True, eq=False)
class LapTrace:
    """
    One lap, and some of the track before and after it.

    Attributes
    ----------
    lap : int
    start_s, end_s : float
        Passages of the line. [s]
    length_m : float
        Of the reference path. [m]
    time_s : ndarray, shape (n,)
    station_m : ndarray, shape (n,)
        Strictly increasing; 0 at the start, the length at the end, beyond them outside the lap.
    offset_m : ndarray, shape (n,)
        From the reference path, positive to the left. [m]
    east_m, north_m : ndarray, shape (n,)
    speed_mps, accel_long_mps2, accel_lat_mps2 : ndarray, shape (n,)
        Braking is negative, a left turn positive (ISO 8855).
    heading_rad : ndarray, shape (n,)
        Direction of travel, anticlockwise from east.
    station_sd_m : ndarray, shape (n,), or None
        How doubtful the station is where no normal of the path guides; None where one does all
        along. [m]
    gaps_s : ndarray, shape (k, 2)
        Begin and end of each hole in the log, see `lapwright.laps.gaps`. [s]
    """

    lap: int
    start_s: float
    end_s: float
    length_m: float
    time_s: Floats
    station_m: Floats
    offset_m: Floats
    east_m: Floats
    north_m: Floats
    speed_mps: Floats
    accel_long_mps2: Floats
    accel_lat_mps2: Floats
    heading_rad: Floats
    station_sd_m: Floats | None = None
    gaps_s: Floats = field(default_factory=lambda: np.zeros((0, 2)))

    def time_at(self, station_m: npt.ArrayLike) -> Floats:
        """
        Time at which the car was at some stations.

        Parameters
        ----------
        station_m : array_like, shape (k,)

        Returns
        -------
        ndarray, shape (k,)
            On the session's clock, by monotone cubic interpolation. [s]

        References
        ----------
        F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM Journal on
        Numerical Analysis 17 (1980) 238-246.
        """
        s = np.atleast_1d(np.asarray(station_m, dtype=np.float64))
        i = np.clip(np.searchsorted(self.station_m, s, side="right") - 1, 0, len(self.time_s) - 2)
        slope = self._slope_spm
        h = self.station_m[i + 1] - self.station_m[i]
        x = np.clip((s - self.station_m[i]) / h, 0.0, 1.0)
        t0, t1 = self.time_s[i], self.time_s[i + 1]
        m0, m1 = slope[i] * h, slope[i + 1] * h
        return np.asarray(
            t0
            + x * m0
            + x**2 * (3.0 * (t1 - t0) - 2.0 * m0 - m1)
            + x**3 * (m0 + m1 - 2.0 * (t1 - t0))
        )

    @cached_property
    def _slope_spm(self) -> Floats:
        """Time along the way at every sample, no steeper than stays monotone. [s/m]."""
        secant = np.diff(self.time_s) / np.diff(self.station_m)
        lower = np.minimum(
            np.concatenate([secant[:1], secant]), np.concatenate([secant, secant[-1:]])
        )
        return np.asarray(np.minimum(np.gradient(self.time_s, self.station_m), 3.0 * lower))

    def at_station(self, name: str, station_m: npt.ArrayLike) -> Floats:
        """Value of one of the arrays at some stations, shape (k,)."""
        return np.asarray(np.interp(np.asarray(station_m), self.station_m, getattr(self, name)))

    def within(self, start_m: float, end_m: float) -> slice:
        """Samples from one station to another."""
        first, last = np.searchsorted(self.station_m, [start_m, end_m])
        return slice(int(first), int(last))

    def unseen(self, time_s: float | None) -> bool:
        """Whether a moment lies in a hole of the log."""
        if time_s is None:
            return False
        return bool(((self.gaps_s[:, 0] < time_s) & (time_s < self.gaps_s[:, 1])).any())

    @property
    def inside(self) -> slice:
        """Samples of the lap itself."""
        return self.within(0.0, self.length_m + 1e-9)


def lap_trace(
    track: Track, motion: Motion, mapped: TrackMapping, lap: int, marks: list[tuple[float, float]]
) -> LapTrace:
    """
    Trace one lap.

    Parameters
    ----------
    track : Track
    motion : Motion
    mapped : TrackMapping
    lap : int
        Its number.
    marks : list of (time_s, station_m)
        The gates crossed, in order: the line at station 0 first, at the length last.

    Returns
    -------
    LapTrace
    """
    length = mapped.path.length_m
    start, end = marks[0][0], marks[-1][0]
    time = _sample_times(motion, mapped, start, end, [t for t, _ in marks])
    state = motion.at(time)
    station, offset = _stations(mapped, time, state.position_m)
    at_start = float(np.interp(start, time, station))
    station -= length * np.round(at_start / length)
    station, pinned = _pinned(station, time, marks)
    station = np.maximum.accumulate(station) + 1e-9 * np.arange(len(station))
    return LapTrace(
        lap, start, end, length, time, station, offset,
        state.position_m[:, 0], state.position_m[:, 1], state.speed_mps,
        state.accel_long_mps2, state.accel_lat_mps2, state.heading_rad,
        _station_sd(mapped, time, pinned), gaps(mapped, float(time[0]), float(time[-1])),
    )  # fmt: skip


def _sample_times(
    motion: Motion, mapped: TrackMapping, start: float, end: float, through: list[float]
) -> Floats:
    """Even times over the lap and a margin, with every gate's moment among them."""
    step = float(np.clip(np.median(np.diff(mapped.time_s)), _FINEST_S, _COARSEST_S))
    station = mapped.station_m
    low = mapped.station_at(start) - _MARGIN_M
    high = mapped.station_at(end) + _MARGIN_M
    # The margin ends where the car stood: what was before a stop is no run-up.
    near = (mapped.time_s > start - 60.0) & (mapped.time_s < end + 60.0)
    near &= (station > low) & (station < high)
    first = float(mapped.time_s[near][0]) if near.any() else start
    last = float(mapped.time_s[near][-1]) if near.any() else end
    until = min(last, motion.end_s)
    # Steps of 0.02 s add up to a little more than the end.
    grid = np.minimum(np.arange(max(first, motion.start_s), until, step), until)
    fixed = np.array([t for t in through if np.isfinite(t)])
    apart = np.abs(grid[:, None] - fixed).min(axis=1) > 0.2 * step
    return np.sort(np.concatenate([grid[apart], fixed]))


def _stations(mapped: TrackMapping, time: Floats, position: Floats) -> tuple[Floats, Floats]:
    """Unwrapped station and offset; by distance where no normal is a guide."""
    near = mapped.station_at(time)
    station, offset, metric_factor = mapped.path.foot(position, near)
    lost = np.interp(time, mapped.time_s, mapped.lost.astype(np.float64)) > 0.0
    lost |= (np.abs(station - near) > 20.0) | (metric_factor < MIN_METRIC_FACTOR)
    return np.where(lost, near, station), offset


def _station_sd(mapped: TrackMapping, time: Floats, pinned: Floats) -> Floats | None:
    """How doubtful the stations are by going by distance; not at all where they are pinned."""
    if mapped.station_sd_m is None:
        return None
    sd = np.interp(time, mapped.time_s, mapped.station_sd_m) * (1.0 - pinned)
    return sd if sd.any() else None


def _pinned(
    station: Floats, time: Floats, marks: list[tuple[float, float]]
) -> tuple[Floats, Floats]:
    """Shift stations near each gate so that it is crossed at its own; and by what share of it."""
    weight_sum, shift = np.zeros(len(station)), np.zeros(len(station))
    for moment, own in marks:
        if not np.isfinite(moment):
            continue
        error = float(np.interp(moment, time, station)) - own
        x = np.clip(np.abs(station - own) / BLEND_M, 0.0, 1.0)
        weight = 0.5 * (1.0 + np.cos(np.pi * x))
        weight_sum += weight
        shift += weight * error
    return station - shift / np.maximum(weight_sum, 1.0), np.minimum(weight_sum, 1.0)
