"""
`TrueRun`: what really happened, exactly.

Position, station and offset are cubic splines over time.  Everything else is
computed from them when asked for: crossings are roots of the splines, found to
1e-10 s, not read off a grid.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.interpolate import CubicSpline

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout, pit_share
from lapwright.simulate.driving.cars import Car
from lapwright.simulate.driving.driver import Driver
from lapwright.simulate.driving.happenings import happenings
from lapwright.simulate.driving.plan import Plan
from lapwright.simulate.driving.roots import cubic_root
from lapwright.simulate.passes import corner_passes
from lapwright.simulate.true_laps import cut_laps

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class TrueRun:
    """
    One driven session, without any noise.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        The grid on which the splines are built, from 0. [s]
    progress, offset : CubicSpline
        Station without wrapping and distance to the left of the centre line, over
        time. [m]
    position : CubicSpline
        East and north on the circuit's plane, over time. [m]
    planted : DataFrame
        Which habit acted where: ``timed_lap`` (from 1), ``turn`` (the lap's number along
        the road), ``corner``, ``habit``, ``size``.
    stop_times_s : tuple of (float, float)
        When each stop of the layout began and ended. [s]
    """

    circuit: Circuit
    car: Car
    driver: Driver
    plan: Plan
    seed: int
    layout: Layout
    time_s: Floats
    progress: CubicSpline
    offset: CubicSpline
    position: CubicSpline
    planted: pd.DataFrame
    stop_times_s: tuple[tuple[float, float], ...]

    @property
    def duration_s(self) -> float:
        """End of the run [s]."""
        return float(self.time_s[-1])

    def velocity(self, time_s: Floats) -> Floats:
        """East and north velocity, shape (k, 2) [m/s]."""
        return np.asarray(self.position(time_s, 1))

    def acceleration(self, time_s: Floats) -> Floats:
        """East and north acceleration, shape (k, 2) [m/s²]."""
        return np.asarray(self.position(time_s, 2))

    def speed(self, time_s: Floats) -> Floats:
        """Speed over ground [m/s]."""
        velocity = self.velocity(np.asarray(time_s, dtype=float))
        return np.asarray(np.hypot(velocity[..., 0], velocity[..., 1]))

    def along_across(self, time_s: Floats) -> tuple[Floats, Floats]:
        """Longitudinal and lateral (left positive) acceleration; 0 at rest [m/s²]."""
        v, a = self.velocity(time_s), self.acceleration(time_s)
        speed = np.maximum(np.hypot(v[:, 0], v[:, 1]), 1e-3)
        along = np.sum(v * a, axis=1) / speed
        across = (v[:, 0] * a[:, 1] - v[:, 1] * a[:, 0]) / speed
        return along, across

    @cached_property
    def grid_position_m(self) -> Floats:
        """Positions at `time_s`, shape (n, 2) [m]."""
        return np.asarray(self.position.c[3])[: len(self.time_s)]

    @cached_property
    def _grid_progress(self) -> Floats:
        return np.asarray(self.progress(self.time_s))

    @cached_property
    def _reached(self) -> Floats:
        return np.asarray(np.maximum.accumulate(self._grid_progress))

    @cached_property
    def grid_speed_mps(self) -> Floats:
        """Speed at `time_s` [m/s]."""
        return self.speed(self.time_s)

    @cached_property
    def grid_along_mps2(self) -> Floats:
        """Longitudinal acceleration at `time_s` [m/s²]."""
        return self.along_across(self.time_s)[0]

    @cached_property
    def visit_times_s(self) -> tuple[tuple[float, float], ...]:
        """When the car was in the pit lane, more than half way off the track [s]."""
        share = pit_share(self.circuit, self.layout.visits, self._grid_progress)
        edges = np.flatnonzero(np.diff(np.r_[0, (share > 0.5).astype(int), 0]))
        last = len(self.time_s) - 1
        return tuple(
            (float(self.time_s[a]), float(self.time_s[min(b, last)]))
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        )

    def time_at(self, progress_m: Floats) -> Floats:
        """
        When a station was first reached.

        Parameters
        ----------
        progress_m : ndarray, shape (k,)
            Stations without wrapping, see `progress`. [m]

        Returns
        -------
        time_s : ndarray, shape (k,)
            NaN where the run does not get there. [s]
        """
        wanted = np.atleast_1d(np.asarray(progress_m, dtype=float))
        i = np.searchsorted(self._reached, wanted)
        inside = (i > 0) & (i < len(self._reached))
        piece = np.clip(i, 1, len(self._reached) - 1) - 1
        found = cubic_root(self.progress.c[:, piece], self.time_s[piece], self._step_s, wanted)
        return np.where(inside, found, np.nan)

    @property
    def _step_s(self) -> float:
        return float(self.time_s[1] - self.time_s[0])

    def crossings(self, gate_m: Floats) -> pd.DataFrame:
        """
        Every crossing of a line, in order of time.

        Parameters
        ----------
        gate_m : ndarray, shape (2, 2)
            Left end and right end as a driver sees them, east and north. [m]

        Returns
        -------
        table : DataFrame
            ``time_s``, ``forward``, ``offset_m`` (from the middle, left positive),
            ``speed_mps``, ``in_pit_lane``.
        """
        gate = np.asarray(gate_m, dtype=float)
        along = (gate[1] - gate[0]) / np.hypot(*(gate[1] - gate[0]))
        ahead = np.array([-along[1], along[0]])
        level = float(gate[0] @ ahead)
        beyond = self.grid_position_m @ ahead >= level
        piece = np.flatnonzero(beyond[1:] != beyond[:-1])
        cubic = np.tensordot(self.position.c[:, piece, :], ahead, axes=(2, 0))
        time_s = cubic_root(cubic, self.time_s[piece], self._step_s, np.full(len(piece), level))
        middle = (gate[0] + gate[1]) / 2
        offset = -(self.position(time_s) - middle) @ along
        within = np.abs(offset) <= np.hypot(*(gate[1] - gate[0])) / 2
        time_s, offset, piece = time_s[within], offset[within], piece[within]
        in_pit = np.zeros(len(time_s), dtype=bool)
        for begin, end in self.visit_times_s:
            in_pit |= (time_s >= begin) & (time_s <= end)
        return pd.DataFrame(
            {
                "time_s": time_s,
                "forward": ~beyond[piece],
                "offset_m": offset,
                "speed_mps": self.speed(time_s) if len(time_s) else np.empty(0),
                "in_pit_lane": in_pit,
            }
        )

    @cached_property
    def laps(self) -> pd.DataFrame:
        """The laps at the circuit's own lines, see `laps_at`."""
        return self.laps_at(self.circuit.gates[0], self.circuit.gates[1:])

    def laps_at(self, gate_m: Floats, sector_gates_m: Sequence[Floats] = ()) -> pd.DataFrame:
        """
        Cut the run into laps at any line.

        Parameters
        ----------
        gate_m : ndarray, shape (2, 2)
            The start/finish line, see `crossings`; `Circuit.to_plane` turns degrees into
            metres. [m]
        sector_gates_m : sequence of ndarray, shape (2, 2)
            The sector lines in the order in which they are met. [m]

        Returns
        -------
        laps : DataFrame
            One row a lap: ``lap`` (from 0), ``kind`` (``"out"``, ``"timed"``, ``"in"``),
            ``complete``, ``start_s``, ``end_s``, ``time_s`` (NaN where a line is missing),
            ``sectors_s`` (a tuple, one entry more than there are sector lines, NaN where
            unknown), ``starts_in_pit_lane``, ``ends_in_pit_lane``, ``flags`` (a tuple).

        Notes
        -----
        A car that rolls back over the line and crosses it again has crossed it at the
        first time.  Where a stop in the pit lane misses the line, the laps are parted in
        the middle of the standstill.  The few metres in the pit lane between the box and the
        line, before the first out lap or after the last in lap, are no lap.
        """
        return cut_laps(self, gate_m, sector_gates_m)

    @cached_property
    def happenings(self) -> list[tuple[str, float, float]]:
        """What happened on the way: name, begin and end [s]."""
        return happenings(self.circuit, self.plan, self.layout, self.time_at)

    @cached_property
    def launch_s(self) -> float | None:
        """When the standing start began, the end of the stop on the grid [s]."""
        for (_, end), stop in zip(self.stop_times_s, self.layout.stops, strict=True):
            if stop.why == "grid":
                return end
        return None

    def elapsed(self, lap: int, station_m: Floats) -> Floats:
        """
        Time since the line at stations of one lap (numbered as in `laps`).

        A station is reached when the car crosses the normal of the centre line there.
        """
        row = self.laps.iloc[lap]
        if not np.isfinite(row["start_s"]):
            msg = f"lap {lap} has no beginning on the line"
            raise ValueError(msg)
        turn = round(float(self.progress(row["start_s"])) / self.circuit.length_m)
        times = self.time_at(turn * self.circuit.length_m + np.asarray(station_m, dtype=float))
        return times - float(row["start_s"])

    def delta(self, lap: int, reference: int, station_m: Floats) -> Floats:
        """Rolling delta: time at each station minus the reference lap's; + means slower [s]."""
        return self.elapsed(lap, station_m) - self.elapsed(reference, station_m)

    @cached_property
    def passes(self) -> pd.DataFrame:
        """
        Every timed lap's way through every corner.

        ``lap``, ``timed_lap``, ``corner``, ``min_time_s``, ``min_speed_mps``,
        ``min_station_m``, ``clear`` (the speed really drops and rises by 1.5 m/s),
        ``brake_time_s``, ``brake_station_m`` (first instant after the top speed since the
        corner before at which longitudinal acceleration is below -1.0 m/s²; NaN where there
        is none), ``throttle_time_s``, ``throttle_station_m`` (first instant after the
        slowest point at which it is above +0.5 m/s²), ``habits`` (names of the planted
        habits that acted).
        """
        return corner_passes(self)
