"""
`Session`: one log on one track, cut into laps.

The class only wires rooms together; the work is in plain functions, done when asked for.
"""

import copy
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from lapwright.coaching.corners_then import with_places
from lapwright.coaching.worth_trying import Judgement, judge
from lapwright.corners.causes import causes
from lapwright.corners.incidents import corners_with_incidents, incident_stations
from lapwright.discovery.discover import Discovery
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.in_notebook import ShowsItself
from lapwright.ingest.log import Log
from lapwright.laps.comparison import CausesAndCov, Comparison, compare_laps
from lapwright.notes.limits import Limit
from lapwright.notes.noted import Noted
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.session.opened_with import OpenedWith
from lapwright.session.passes_compared import passes_compared
from lapwright.session.watched_drive import WatchedDrive


class Session(ShowsItself, WatchedDrive):
    """
    One log on one track, cut into laps.

    Making one costs nothing: each result is worked out when it is first asked for, and kept.  A
    session is not changed once it is made; `with_notes` returns another one.  All numbers are in SI
    units; `lapwright.advice_in_words` and what else makes sentences is told the reader's units.  In
    a notebook it shows itself, see `lapwright.show`.

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
    opened_with : OpenedWith, optional
        Which files it was made of, and why; `lapwright.open_session` fills it in.
    completed : Track, optional
        The given track with what it lacks already found in this log, which saves finding it again.
    limits : sequence of Limit
        What the values of the car should stay within.

    See Also
    --------
    lapwright.open_session : Finds track, notes and column map by itself.

    Raises
    ------
    LogError, TrackError, LapError
        Not in the making, but where a result is first asked for: as `laps`, `track` and `trace`.

    References
    ----------
    See `motion` and `judgement`.

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
        notes: LogNotes | None = None, opened_with: OpenedWith | None = None,
        completed: Track | None = None, limits: Sequence[Limit] = (),
    ) -> None:  # fmt: skip
        self._limits = tuple(limits)
        self._notes = LogNotes() if notes is None else notes
        super().__init__(
            log, track, repeat_line=repeat_line, first_lap=self._notes.first_lap,
            completed=completed,
        )  # fmt: skip
        self._opened_with = OpenedWith() if opened_with is None else opened_with
        self._judgement: Judgement | None = None
        self._comparisons: dict[tuple[int, int, Session, float], Comparison] = {}
        self._causes: dict[tuple[int, int, Session], CausesAndCov] = {}

    @property
    def notes(self) -> LogNotes:
        """
        What the weekend notes say of the log.

        Examples
        --------
        >>> session.notes.driver
        'Ivo Marlen'
        """
        return self._notes

    @property
    def opened_with(self) -> OpenedWith:
        """
        Which files the session was made of, and why.

        Examples
        --------
        >>> session.opened_with.track_file.name
        'wren_hollow.geojson'
        """
        if self.discovery is None:
            return self._opened_with
        return replace(self._opened_with, why=f"found in the log ({self.discovery.how_sure})")

    def with_notes(self, notes: LogNotes) -> "Session":
        """
        Return the same session with other notes; what they do not touch is not done again.

        Parameters
        ----------
        notes : LogNotes

        Returns
        -------
        Session

        Examples
        --------
        >>> wet = session.with_notes(lw.LogNotes(conditions="wet"))
        >>> wet.notes.conditions, wet.best_lap == session.best_lap
        ('wet', True)
        """
        if notes.first_lap != self._notes.first_lap:
            # Other lap numbers: all that goes by them is made anew.
            return Session(
                self._log, self._given_track, repeat_line=self._repeat_line, notes=notes,
                opened_with=self._opened_with, completed=self._completed, limits=self._limits,
            )  # fmt: skip
        other = copy.copy(self)
        other._notes, other._judgement = notes, None
        # They say what is noted of both laps.
        other._comparisons = {}
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

        References
        ----------
        F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM Journal on
        Numerical Analysis 17 (1980) 238-246: the time at a station between two of a lap's own.

        Examples
        --------
        >>> comparison = session.compare(session.typical_lap)
        >>> comparison.lap, comparison.reference
        (2, 5)
        >>> f"{comparison.time_difference_s:.2f} s slower"
        '0.84 s slower'
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
            found = compare_laps(
                self.track, self._side(lap), base._side(number), step_m,
                lambda: self._passes_beside(lap, base, number),
                lambda: self.causes_between(lap, number, base),
                # The earlier of the two, so that swapping the laps swaps nothing but the sign.
                self._slowing_beside(base),
            )  # fmt: skip
            self._comparisons[key] = replace(
                found, noted=self._noted(), reference_noted=base._noted()
            )
        return self._comparisons[key]

    def _noted(self) -> Noted:
        return Noted(self._notes, self._log.start_utc)

    def _passes_beside(self, lap: int, base: "Session", reference: int) -> pd.DataFrame:
        """Put the passes of a lap and of a reference lap side by side."""
        mine = self.passes[self.passes["lap"] == lap]
        other = base.passes[base.passes["lap"] == reference]
        if self.motion is not base.motion:
            place_cov_m2 = self.placing.cov_m2 + base.placing.cov_m2
            return passes_compared(self.track, mine, other, place_cov_m2)
        return passes_compared(self.track, mine, other, motion=self.motion)

    def _slowing_beside(self, base: "Session") -> list[float]:
        """Where the cars of two sessions slow: the earlier, so that swapping them is the same."""
        mine, other = self.slowing_m, base.slowing_m
        earlier = np.minimum(mine, other) if len(mine) == len(other) else mine
        return [float(station) for station in earlier]

    def causes_between(
        self, lap: int, reference: int, other: "Session | None" = None
    ) -> CausesAndCov:
        """
        Charge the time lost to a reference lap to what it comes from, without a whole `compare`.

        Parameters
        ----------
        lap, reference : int
        other : Session, optional
            The session the reference lap is from, on the same track; this one where not given.

        Returns
        -------
        causes : DataFrame
        cov_s2 : ndarray, shape (rows, rows)
            See `lapwright.Comparison.causes`.

        Raises
        ------
        LapError
            If a lap is missing or has no times.

        References
        ----------
        See `lapwright.laps.lost_time`.

        Examples
        --------
        >>> causes, cov_s2 = session.causes_between(session.typical_lap, session.best_lap)
        >>> causes.equals(session.compare(session.typical_lap).causes)
        True
        """
        base = self if other is None else other
        key = lap, reference, base
        if key not in self._causes:
            mine = self.bare_passes[self.bare_passes["lap"] == lap]
            theirs = base.bare_passes[base.bare_passes["lap"] == reference]
            sides = self._side(lap), base._side(reference)
            slowing_m = self._slowing_beside(base)
            self._causes[key] = causes(self.track, *sides, mine, theirs, slowing_m)
        return self._causes[key]

    @property
    def judgement(self) -> Judgement:
        """
        What is worth trying, and what was left out and why.

        References
        ----------
        1. H. A. David and H. N. Nagaraja, "Order Statistics", 3rd ed., Wiley, 2003, sec. 3.2: the
           best of many passes is quick by luck alone.
        2. G. K. Smyth, "Linear models and empirical Bayes methods for assessing differential
           expression in microarray experiments", Stat. Appl. Genet. Mol. Biol. 3 (2004) 3: a
           variance moderated by those of its neighbours.
        3. S. Holm, "A simple sequentially rejective multiple test procedure", Scand. J. Statist. 6
           (1979) 65-70: many corners, one conclusion.
        4. F. E. Satterthwaite, "An approximate distribution of estimates of variance components",
           Biometrics Bulletin 2 (1946) 110-114: degrees of freedom.

        Examples
        --------
        >>> session.judgement.items == session.worth_trying
        True
        """
        if self._judgement is None:
            evidence, track = self.evidence, self.track
            where = incident_stations(self.mapped, self.laps)
            held_back = corners_with_incidents(track.corners, evidence.spans, where, track.length_m)
            found = judge(
                evidence, track.corners, held_back=held_back, conditions=self._notes.conditions
            )
            # Where other sessions have the corners, not where this one's receiver saw them.
            placed = with_places(found.items, self.shared_track)
            pairs = zip(found.habits, placed, strict=True)
            self._judgement = replace(found, habits=tuple(replace(h, item=i) for h, i in pairs))
        return self._judgement

    @property
    def worth_trying(self) -> tuple[WorthTrying, ...]:
        """
        Zero to three things worth trying, in numbers, the most time first.

        References
        ----------
        See `Session.judgement`.

        Examples
        --------
        >>> len(session.worth_trying) <= 3
        True
        """
        return self.judgement.items
