"""
`Session`: one log on one track, cut into laps.

The class only wires rooms together; the work is in plain functions, done when asked for.
"""

import copy
from dataclasses import replace
from functools import cached_property

import pandas as pd

from lapwright.coaching.corners_then import with_places
from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.coaching.worth_trying import Judgement, judge
from lapwright.corners.driver_inputs import driver_channel
from lapwright.corners.grip import GripUse, grip_use
from lapwright.corners.incidents import corners_with_incidents, incident_stations
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import corner_passes, corner_table, with_error_bars
from lapwright.discovery.discover import Discovery
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.ingest.log import Log
from lapwright.laps.comparison import Comparison, compare_laps
from lapwright.laps.lap_trace import LapTrace
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.session.lapped_drive import LappedDrive
from lapwright.session.opened_with import OpenedWith
from lapwright.session.passes_compared import passes_compared
from lapwright.units import Units


class Session(LappedDrive):
    """
    One log on one track, cut into laps.

    Making one costs nothing: each result is worked out when it is first asked for, and kept.  A
    session is not changed once it is made; `with_notes` and `with_units` return another one.

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
    opened_with : OpenedWith, optional
        Which files it was made of, and why; `lapwright.open_session` fills it in.

    See Also
    --------
    lapwright.open_session : Finds track, notes and column map by itself.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> session = lw.Session(log, lw.read_track("sample_sessions/wren_hollow.geojson"))
    >>> session.best_lap, session.typical_lap
    (5, 2)
    """

    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        notes: LogNotes | None = None, units: Units | None = None,
        opened_with: OpenedWith | None = None,
    ) -> None:  # fmt: skip
        self._notes = LogNotes() if notes is None else notes
        super().__init__(log, track, repeat_line=repeat_line, first_lap=self._notes.first_lap)
        self._units = Units() if units is None else units
        self._opened_with = OpenedWith() if opened_with is None else opened_with
        self._judgements: dict[Units, Judgement] = {}
        self._comparisons: dict[tuple[int, int, Session, float], Comparison] = {}

    @property
    def notes(self) -> LogNotes:
        """What the weekend notes say of the log."""
        return self._notes

    @property
    def units(self) -> Units:
        """Units of the sentences; every number is in SI units."""
        return self._units

    @property
    def opened_with(self) -> OpenedWith:
        """Which files the session was made of, and why."""
        if self.discovery is None:
            return self._opened_with
        return replace(self._opened_with, why=f"found in the log ({self.discovery.how_sure})")

    def with_notes(self, notes: LogNotes) -> "Session":
        """Return the same session with other notes; what they do not touch is not done again."""
        if notes.first_lap != self._notes.first_lap:
            # Other lap numbers: all that goes by them is made anew.
            return Session(
                self._log, self._given_track, repeat_line=self._repeat_line, notes=notes,
                units=self._units, opened_with=self._opened_with,
            )  # fmt: skip
        other = copy.copy(self)
        other._notes, other._judgements = notes, {}
        return other

    def with_units(self, units: Units) -> "Session":
        """Return the same session with its sentences in other units."""
        other = copy.copy(self)
        other._units = units
        return other

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
            Asked for again, the same one.

        Raises
        ------
        LapError
            If a lap is missing or has no times, or the sessions are on different tracks.
        """
        base = self if other is None else other
        if abs(base.path.length_m - self.path.length_m) > 1e-6:
            msg = "the two sessions are on different tracks; give both the same complete track"
            raise LapError(msg)
        number = base.best_lap if reference is None else reference
        if number is None:
            msg = "no lap counts as clean, so none can be the reference; name one of them"
            raise LapError(msg)
        key = lap, number, base, step_m
        if key not in self._comparisons:
            self._comparisons[key] = compare_laps(
                self.track, self._side(lap), base._side(number), step_m,
                lambda: self._passes_beside(lap, base, number),
            )  # fmt: skip
        return self._comparisons[key]

    def _passes_beside(self, lap: int, base: "Session", reference: int) -> pd.DataFrame:
        """Put the passes of a lap and of a reference lap side by side."""
        mine = self.passes[self.passes["lap"] == lap]
        other = base.passes[base.passes["lap"] == reference]
        if self.motion is not base.motion:
            place_cov_m2 = self.placing.cov_m2 + base.placing.cov_m2
            return passes_compared(self.track, mine, other, place_cov_m2)
        return passes_compared(self.track, mine, other, motion=self.motion)

    @property
    def corners(self) -> pd.DataFrame:
        """The corners of the track; see `lapwright.corners.pass_table.corner_table`."""
        return corner_table(self.track)

    @cached_property
    def bare_passes(self) -> pd.DataFrame:
        """Every timed lap's way through every corner, without error bars: quicker."""
        traces = [self.trace(n) for n in self.timed_laps]
        brake, throttle = (driver_channel(self.log, role) for role in ("brake", "throttle"))
        return corner_passes(self.track, traces, brake, throttle)

    @cached_property
    def passes(self) -> pd.DataFrame:
        """Every timed lap's way through every corner; see `lapwright.columns.corners`."""
        table = with_error_bars(self.track, self.motion, self.bare_passes)
        traces = {n: self.trace(n) for n in self.timed_laps}
        return with_details(self.track, self.motion, traces, self.clean_laps, table)

    def _clean_traces(self) -> list[LapTrace]:
        return [self.trace(n) for n in self.clean_laps]

    @cached_property
    def evidence(self) -> Evidence:
        """Clean passes with their times; see `lapwright.coaching.evidence`."""
        traces = {t.lap: t for t in self._clean_traces()}
        return gather_evidence(self.track, self.motion, self.laps, self.passes, traces)

    @property
    def judgement(self) -> Judgement:
        """What is worth trying, and what was left out and why."""
        return self.judgement_in(self._units)

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
            where = incident_stations(self.mapped, self.laps)
            held_back = corners_with_incidents(track.corners, evidence.spans, where, track.length_m)
            found = judge(
                evidence, track.corners, held_back=held_back,
                conditions=self._notes.conditions, units=units,
            )  # fmt: skip
            # Where other sessions have the corners, not where this one's receiver saw them.
            placed = with_places(found.items, self.shared_track)
            self._judgements[units] = replace(found, items=placed)
        return self._judgements[units]

    @property
    def worth_trying(self) -> tuple[WorthTrying, ...]:
        """Zero to three things worth trying, the most time first."""
        return self.judgement.items

    @cached_property
    def grip(self) -> GripUse:
        """How much of the driver's own envelope each corner used."""
        return grip_use(self._clean_traces(), self.passes, self.corners)
