"""
`Session`: one log on one track, cut into laps.

The class only wires rooms together; the work is in plain functions, done when asked for.
"""

from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.coaching.worth_trying import Judgement, judge
from lapwright.corners.driver_inputs import driver_channel
from lapwright.corners.grip import GripUse, grip_use
from lapwright.corners.incidents import corners_in_trouble, trouble_stations
from lapwright.corners.pass_table import corner_passes, corner_table, with_error_bars
from lapwright.discovery.discover import Discovery, discover_track
from lapwright.discovery.line_use import check_line_driven
from lapwright.discovery.reference import complete_track
from lapwright.errors import LapError, LogError
from lapwright.geometry import Track
from lapwright.geometry.path import ReferencePath
from lapwright.ingest.log import Finding, Log
from lapwright.laps.comparison import Comparison, Side, compare_laps, delta_sds
from lapwright.laps.lap_table import (
    Cuts,
    best_lap,
    find_cuts,
    lap_table,
    theoretical_best,
)
from lapwright.laps.lap_trace import LapTrace, lap_trace
from lapwright.laps.margins import gaps_to
from lapwright.laps.path_findings import path_findings
from lapwright.laps.receiver_findings import noise_found, receiver_findings
from lapwright.laps.repeated_line import DriverLevels, repeats_for_noise, with_road
from lapwright.laps.session_offset import Placing, place_session, placed, rough_motion
from lapwright.laps.track_mapping import Mapped, map_motion, map_positions
from lapwright.motion import Motion, Repeats, estimate_motion
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units

Floats = npt.NDArray[np.float64]


class Session:
    """
    One log on one track.

    Parameters
    ----------
    log : Log
    track : Track or Discovery, optional
        Found in the log where not given; what a given one lacks is filled in from the log.
    repeat_line : bool
        Whether to use the repeated line as a sensor where there are three laps or more.
    notes : LogNotes, optional
        What the weekend notes say: ``first_lap`` gives the numbers of an official sheet,
        ``conditions`` say which passes compare.
    units : Units, optional
        For the sentences of `worth_trying`; every number is in SI units all the same.
    """

    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        notes: LogNotes | None = None, units: Units | None = None,
    ) -> None:  # fmt: skip
        self.log = log
        self.notes = LogNotes() if notes is None else notes
        self.units = Units() if units is None else units
        self._given_track = track.track if isinstance(track, Discovery) else track
        self._repeat_line = repeat_line
        self._traces: dict[int, LapTrace] = {}
        self._judgements: dict[Units, Judgement] = {}

    @cached_property
    def track(self) -> Track:
        """The track, complete: path, corners, lines, where this session's receiver saw it."""
        track = self.shared_track
        given = self._given_track
        return track if given is None or given.path is None else placed(track, self.placing)

    @cached_property
    def discovery(self) -> Discovery | None:
        """How the track was found in the log; None where one was given."""
        return discover_track(self.log) if self._given_track is None else None

    @cached_property
    def shared_track(self) -> Track:
        """The complete track as other sessions can be given it, to compare laps with these."""
        if self.discovery is not None:
            return self.discovery.track
        assert self._given_track is not None
        return complete_track(self._given_track, self.log)

    @cached_property
    def placing(self) -> Placing:
        """Constant offset of the session from its track; none where the track is its own."""
        track = self._given_track
        if track is None or track.path is None:
            return Placing(np.zeros(2), np.zeros((2, 2)))
        return place_session(track, *rough_motion(self.log, track.plane))

    @property
    def path(self) -> ReferencePath:
        """The track's reference path, from the start/finish line."""
        path = self.track.path
        if path is None:
            msg = "the track has no path"
            raise LapError(msg)
        return path

    @cached_property
    def _repeats(self) -> Repeats | None:
        return repeats_for_noise(self.path, *rough_motion(self.log, self.track.plane))

    @cached_property
    def motion_without_road(self) -> Motion:
        """The motion from the receiver alone."""
        return estimate_motion(self.log, self.track.plane, lambda: self._repeats)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What is odd: the log's own findings, and what the motion showed of receiver and track."""
        return (
            *self.log.findings, *receiver_findings(self.motion_without_road), *self._path_findings
        )  # fmt: skip

    @property
    def _path_findings(self) -> tuple[Finding, ...]:
        """Where a path from elsewhere is not where the car went."""
        if self._given_track is None or self._given_track.path is None:
            return ()
        time, position, speed = rough_motion(self.log, self.track.plane)
        followed = map_positions(self.path, time, position, None)
        return path_findings(followed, speed, self.path.length_m)

    @cached_property
    def _with_road(self) -> tuple[Motion, DriverLevels | None]:
        if not self._repeat_line:
            return self.motion_without_road, None
        return with_road(self.path, self.motion_without_road)

    @property
    def motion(self) -> Motion:
        """How the car moved."""
        return self._with_road[0]

    @property
    def driver_levels(self) -> DriverLevels | None:
        """How the driver's line varies; None where the road was not used as a sensor."""
        return self._with_road[1]

    @cached_property
    def mapped(self) -> Mapped:
        """Station and offset of every fix."""
        return map_motion(self.track, self.motion)

    @cached_property
    def cuts(self) -> Cuts:
        """Passages of the lines and their joint posterior."""
        return find_cuts(self.track, self.motion, self.mapped)

    @cached_property
    def laps(self) -> pd.DataFrame:
        """
        One row a lap; see `lapwright.laps.lap_table`.

        Raises
        ------
        LogError
            If not even a part of a lap is in the log.
        TrackError
            If the log passes the start/finish line by, or only crosses it the other way.
        """
        table = lap_table(self.track, self.motion, self.mapped, self.cuts)
        timed = table.loc[table["kind"] == "timed", "lap"]
        if timed.empty:
            # A line that is passed by, or driven the other way, is not to be taken for no laps.
            check_line_driven(self.track, self.log)
        if table.empty:
            what = "the car stayed in the pit lane, so there is no lap in the log"
            raise LogError(what, self.log.path, hint="Give the log of a session on the circuit")
        first = self.notes.first_lap
        if first is None or timed.empty:
            return table
        return table.assign(lap=table["lap"] + first - int(timed.iloc[0]))

    @property
    def best_lap(self) -> int | None:
        """Number of the fastest lap that counts, or None."""
        return best_lap(self.laps)

    @cached_property
    def theoretical_best(self) -> tuple[float, float] | None:
        """Sum of the best sectors of clean laps and its sd [s], or None; nobody drove it."""
        return theoretical_best(self.laps, self.cuts)

    def row(self, lap: int) -> pd.Series:
        """
        One row of the lap table.

        Raises
        ------
        LapError
            If there is no such lap.
        """
        rows = self.laps[self.laps["lap"] == lap]
        if rows.empty:
            there = ", ".join(str(n) for n in self.laps["lap"])
            msg = f"there is no lap {lap}; the laps are {there}"
            raise LapError(msg)
        return rows.iloc[0]

    def trace(self, lap: int) -> LapTrace:
        """
        One lap along the reference path.

        Parameters
        ----------
        lap : int

        Returns
        -------
        LapTrace

        Raises
        ------
        LapError
            If there is no such lap, or a line is missing at either end of it.
        """
        if lap not in self._traces:
            row = self.row(lap)
            if not np.isfinite(row["time_s"]):
                msg = f"lap {lap} is not a full lap, so there is nothing to compare"
                raise LapError(msg)
            i = int(np.argmin(np.abs(self.cuts.passages["time_s"] - row["start_s"])))
            marks = [(row["start_s"], 0.0)]
            marks += list(zip(self.cuts.sectors[i], self.track.gate_stations_m[1:], strict=True))
            marks.append((row["end_s"], self.track.length_m))
            self._traces[lap] = lap_trace(self.track, self.motion, self.mapped, lap, marks)
        return self._traces[lap]

    def compare(
        self,
        lap: int,
        reference: int | None = None,
        other: "Session | None" = None,
        step_m: float = 5.0,
    ) -> Comparison:
        """
        Compare a lap with a reference lap.

        Parameters
        ----------
        lap : int
        reference : int, optional
            The best lap where not given.
        other : Session, optional
            The session the reference lap is from, on the same track; this one where not given.
        step_m : float
            Spacing of the delta's stations. [m]

        Returns
        -------
        Comparison

        Raises
        ------
        LapError
            If a lap is missing or has no times.
        """
        base = self if other is None else other
        if abs(base.path.length_m - self.path.length_m) > 1e-6:
            msg = "the two sessions are on different tracks; give both the same complete track"
            raise LapError(msg)
        number = base.best_lap if reference is None else reference
        if number is None:
            msg = "no lap counts as clean, so none can be the reference; name one of them"
            raise LapError(msg)
        return compare_laps(self.track, self._side(lap), base._side(number), step_m)

    def delta_sds(self, laps: list[int]) -> tuple[Floats, Floats]:
        """
        Error bars of the deltas of several laps to the best lap, quicker than a `compare` each.

        Parameters
        ----------
        laps : list of int

        Returns
        -------
        station_m : ndarray, shape (k,)
        sd_s : ndarray, shape (laps, k)
            At the line they are those of the gaps between the lap times; zero without a best lap.
        """
        best = self.best_lap
        if best is None:
            return np.array([0.0, self.track.length_m]), np.zeros((len(laps), 2))
        station, sd = delta_sds(self.track, [self._side(n) for n in laps], self._side(best))
        gap = gaps_to(self.laps, self.cuts, best).set_index(self.laps["lap"])["gap_sd_s"]
        known = np.array([float(gap[n]) for n in laps])
        return station, sd * (known / np.where(sd[:, -1] > 0.0, sd[:, -1], 1.0))[:, None]

    def _side(self, lap: int) -> Side:
        return Side(self.trace(lap), self.motion, self.placing.cov_m2)

    @property
    def corners(self) -> pd.DataFrame:
        """The corners of the track; see `lapwright.corners.pass_table.corner_table`."""
        return corner_table(self.track)

    @cached_property
    def bare_passes(self) -> pd.DataFrame:
        """Every timed lap's way through every corner, without error bars: quicker."""
        timed = self.laps[(self.laps["kind"] == "timed") & self.laps["time_s"].notna()]
        traces = [self.trace(int(n)) for n in timed["lap"]]
        brake, throttle = (driver_channel(self.log, role) for role in ("brake", "throttle"))
        return corner_passes(self.track, traces, brake, throttle)

    @cached_property
    def passes(self) -> pd.DataFrame:
        """Every timed lap's way through every corner."""
        return with_error_bars(self.track, self.motion, self.bare_passes)

    @property
    def noise(self) -> dict[str, object]:
        """What the receiver's noise was found to be; None for what does not apply."""
        return noise_found(self.motion, repeat_line=self.driver_levels is not None)

    def _clean_traces(self) -> list[LapTrace]:
        return [self.trace(int(n)) for n in self.laps.loc[self.laps["representative"], "lap"]]

    @cached_property
    def evidence(self) -> Evidence:
        """Clean passes with their times; see `lapwright.coaching.evidence`."""
        traces = {t.lap: t for t in self._clean_traces()}
        return gather_evidence(self.track, self.motion, self.laps, self.passes, traces)

    @property
    def judgement(self) -> Judgement:
        """What is worth trying, and what was left out and why."""
        return self.judgement_in(self.units)

    def judgement_in(self, units: Units) -> Judgement:
        """
        What is worth trying, said in given units.

        Parameters
        ----------
        units : Units

        Returns
        -------
        Judgement
            The same corners, laps and times whatever the units.
        """
        if units not in self._judgements:
            evidence, track = self.evidence, self.track
            where = trouble_stations(self.mapped, self.laps)
            held_back = corners_in_trouble(track.corners, evidence.spans, where, track.length_m)
            self._judgements[units] = judge(
                evidence, track.corners, held_back=held_back,
                conditions=self.notes.conditions, units=units,
            )  # fmt: skip
        return self._judgements[units]

    @property
    def worth_trying(self) -> tuple[WorthTrying, ...]:
        """Zero to three things worth trying, the most time first."""
        return self.judgement.items

    @cached_property
    def grip(self) -> GripUse:
        """How much of the driver's own envelope each corner used."""
        return grip_use(self._clean_traces(), self.passes, self.corners)
