"""
The lap that is compared with: of another log, or the quickest of this session so far.

A lap of another log brings its own error bars, and both sessions' places on the circuit are unsure.
One of this session shares its receiver's drift with the lap that is going, which is why its places
are kept in the filter.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from lapwright.geometry.path import ReferencePath
from lapwright.laps.comparison import time_since_start
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.lap_trace import BLEND_M
from lapwright.live_session.forward.filter import ForwardFilter, Mark
from lapwright.live_session.forward.lines import MIN_RATE_MPS, Crossed
from lapwright.session import Session

Floats = npt.NDArray[np.float64]
Functional = list[tuple[Mark | None, Floats]]

# The error bar is smooth along the lap, as in `lapwright.laps.comparison`.
_STATIONS = 100


class Reference(Protocol):
    """What a delta is taken against."""

    @property
    def words(self) -> str:
        """Which lap it is."""

    @property
    def lap_time_s(self) -> float:
        """Its time. [s]."""

    @property
    def lap_time_sd_s(self) -> float:
        """Its standard deviation. [s]."""

    def time_at(self, station_m: float) -> float:
        """Time since the line at a station. [s]."""

    def shared(self, station_m: float) -> Functional:
        """Functional of its own error there, as far as the filter knows it."""

    def variance(self, station_m: float, shift: Floats) -> float:
        """What else the delta is unsure by; ``shift`` is the lap's own functional. [s²]."""


@dataclass(frozen=True, eq=False)
class OtherLog:
    """A lap of another log; see `lap_of`."""

    words: str
    lap_time_s: float
    lap_time_sd_s: float
    station_m: Floats
    since_line_s: Floats
    coarse_m: Floats
    var_s2: Floats
    shift: Floats
    place_cov_m2: Floats
    own_place_cov_m2: Floats

    def time_at(self, station_m: float) -> float:
        """Time since the line at a station. [s]."""
        return float(np.interp(station_m, self.station_m, self.since_line_s))

    def shared(self, station_m: float) -> Functional:
        """Nothing: two sessions err independently."""
        return []

    def variance(self, station_m: float, shift: Floats) -> float:
        """Variance of its own time there, and of both sessions' places on the circuit. [s²]."""
        own = float(np.interp(station_m, self.coarse_m, self.var_s2))
        its = np.array([np.interp(station_m, self.coarse_m, column) for column in self.shift.T])
        place = its @ self.place_cov_m2 @ its + shift @ self.own_place_cov_m2 @ shift
        return own + float(place)


def lap_of(session: Session, lap: int, own_place_cov_m2: Floats) -> OtherLog:
    """
    Take a lap of a session as the reference.

    Parameters
    ----------
    session : Session
    lap : int
    own_place_cov_m2 : ndarray, shape (2, 2)
        How unsure the place on the circuit is of the session that is being driven.

    Returns
    -------
    OtherLog

    Raises
    ------
    LapError
        If there is no such lap, or it is not a full one.
    """
    trace, track = session.trace(lap), session.track
    length = track.length_m
    coarse = np.linspace(0.0, length, _STATIONS + 1)
    heading = session.path.at(np.mod(coarse, length)).heading_rad
    normal = np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    normal[[0, -1]] = track.start_finish.forward
    time = trace.start_s + time_since_start(trace, coarse)
    weights = crossing_weights(session.motion, time, normal)
    since = np.eye(len(coarse))
    since[:, 0] -= 1.0
    errors = time_errors(session.motion, time, weights).combined(since)
    station = trace.station_m[trace.inside]
    row = session.row(lap)
    return OtherLog(
        f"lap {lap} of {session.log.path.name}", float(row["time_s"]), float(row["time_sd_s"]),
        station, time_since_start(trace, station), coarse, errors.sd**2,
        since @ weights[:, :2], session.placing.cov_m2, own_place_cov_m2,
    )  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True)
class Place:
    """A place of a lap that the filter keeps: its station in the lap and its functional."""

    station_m: float
    mark: Mark
    weight: Floats


@dataclass(frozen=True, eq=False)
class OwnLap:
    """The quickest lap of this session so far; see `own_lap`."""

    words: str
    lap: int
    lap_time_s: float
    lap_time_sd_s: float
    station_m: Floats
    since_line_s: Floats
    pace_spm: Floats
    start: Crossed
    places: tuple[Place, ...]

    def time_at(self, station_m: float) -> float:
        """Time since the line at a station, by a cubic that never goes back. [s]."""
        at, time = self.station_m, self.since_line_s
        i = min(max(int(np.searchsorted(at, station_m, side="right")) - 1, 0), len(at) - 2)
        h = float(at[i + 1] - at[i])
        x = min(max((station_m - float(at[i])) / h, 0.0), 1.0)
        t0, t1 = float(time[i]), float(time[i + 1])
        # No steeper than stays monotone, as in `LapTrace.time_at`.
        m0, m1 = (min(float(pace) * h, 3.0 * (t1 - t0)) for pace in self.pace_spm[i : i + 2])
        cubic = x**2 * (3.0 * (t1 - t0) - 2.0 * m0 - m1) + x**3 * (m0 + m1 - 2.0 * (t1 - t0))
        return t0 + x * m0 + cubic

    def shared(self, station_m: float) -> Functional:
        """Errors of this lap at a station, between the two places kept about it."""
        rows: Functional = [(self.start.mark, self.start.weight)]
        at = [place.station_m for place in self.places]
        after = int(np.searchsorted(at, station_m))
        low = self.places[max(after - 1, 0)]
        high = self.places[min(after, len(self.places) - 1)]
        apart = high.station_m - low.station_m
        share = (station_m - low.station_m) / apart if apart > 0.0 else 0.0
        rows += [(low.mark, -(1.0 - share) * low.weight), (high.mark, -share * high.weight)]
        return rows

    def variance(self, station_m: float, shift: Floats) -> float:
        """Nothing that the filter does not know."""
        return 0.0


def place_now(
    motion: ForwardFilter, path: ReferencePath, station_m: float, lap_station_m: float
) -> Place:
    """Keep the place where the car is now."""
    mark = motion.mark()
    return Place(lap_station_m, mark, station_weight(path, station_m, mark.velocity_mps))


def station_weight(path: ReferencePath, station_m: float, velocity_mps: Floats) -> Floats:
    """Functional that turns an error of place into one of the time at a station, shape (2,)."""
    heading = float(path.at(np.mod(station_m, path.length_m)).heading_rad)
    normal = np.array([np.cos(heading), np.sin(heading)])
    return -normal / max(float(velocity_mps @ normal), MIN_RATE_MPS)


def pinned(station_m: Floats, pin_m: float) -> Floats:
    """
    Shift stations after the line so that it is crossed at station 0, as in a lap's trace.

    Parameters
    ----------
    station_m : ndarray
        Since the line.
    pin_m : float
        Station at the crossing itself: a line is never quite square to the path.
    """
    x = np.clip(station_m / BLEND_M, 0.0, 1.0)
    return np.asarray(station_m - 0.5 * pin_m * (1.0 + np.cos(np.pi * x)))


def own_lap(
    motion: ForwardFilter, number: int, timed: tuple[float, float], start: Crossed, end: Crossed,
    places: list[Place], rows: Floats, length_m: float, pin_m: float,
) -> OwnLap:  # fmt: skip
    """
    Take a lap of this session as the reference, as known now.

    Parameters
    ----------
    motion : ForwardFilter
    number : int
        Of the lap.
    timed : (float, float)
        Lap time and its sd. [s]
    start, end : Crossed
    places : list of Place
        Kept along the lap.
    rows : ndarray, shape (n, 7)
        Of the lap's trail.
    length_m : float
        Of the path.
    pin_m : float
        See `pinned`.

    Returns
    -------
    OwnLap
    """
    start_s, end_s = start.time_s(motion), end.time_s(motion)
    time, station = rows[:, 0], rows[:, 4]
    station = station - length_m * np.round(np.interp(start_s, time, station) / length_m)
    inside = (time > start_s) & (time < end_s) & (station > 0.0) & (station < length_m)
    # What the later fixes say of the places kept: how much earlier the car was at each station.
    shift_s = [float(p.weight @ (motion.place_at(p.mark) - p.mark.position_m)) for p in places]
    times = time[inside] - start_s
    if places:
        times = times + np.interp(time[inside], [p.mark.time_s for p in places], shift_s)
    station = np.concatenate([[0.0], pinned(station[inside], pin_m), [length_m]])
    times = np.concatenate([[0.0], times, [timed[0]]])
    speeds = np.concatenate([[start.rate_mps], rows[inside, 3], [end.rate_mps]])
    forward = np.diff(np.maximum.accumulate(station), prepend=-1.0) > 0.0
    forward &= np.diff(np.maximum.accumulate(times), prepend=-1.0) > 0.0
    last = Place(length_m, end.mark, end.weight)
    first = Place(0.0, start.mark, start.weight)
    return OwnLap(
        f"lap {number}, the best so far", number, *timed, station[forward], times[forward],
        1.0 / np.maximum(speeds[forward], MIN_RATE_MPS), start, (first, *places, last),
    )  # fmt: skip
