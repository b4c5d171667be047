"""
`Session`: one log on one track, cut into laps.

The class only wires rooms together; the work is in plain functions, done when asked for.
"""

import copy
from collections.abc import Sequence
from dataclasses import replace

from lapwright.arguments import checked
from lapwright.coaching.corners_then import with_places
from lapwright.coaching.worth_trying import Judgement, judge
from lapwright.corners.incidents import corners_with_incidents, incident_stations
from lapwright.discovery.discover import Discovery
from lapwright.geometry import Track
from lapwright.in_notebook import ShowsItself
from lapwright.ingest.log import Log
from lapwright.kept import USUAL, CacheChoice
from lapwright.notes.limits import Limit
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.session.opened_with import OpenedWith
from lapwright.session.racing.raced_drive import RacedDrive
from lapwright.session.watched_drive import WatchedDrive


class Session(ShowsItself, WatchedDrive, RacedDrive):
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
    cache : Store, path or None, optional
        The folder in which results are kept from one run to the next, see `lapwright.kept`; None to
        do without.  The user's cache folder where not given.
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

    @checked
    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        notes: LogNotes | None = None, opened_with: OpenedWith | None = None,
        cache: CacheChoice = USUAL, completed: Track | None = None, limits: Sequence[Limit] = (),
    ) -> None:  # fmt: skip
        self._limits = tuple(limits)
        super().__init__(
            log, track, repeat_line=repeat_line, notes=notes, cache=cache, completed=completed
        )
        self._opened_with = OpenedWith() if opened_with is None else opened_with
        self._judgement: Judgement | None = None

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

    @checked
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
            # Other lap numbers: all that goes by them is made again.
            return Session(
                self._log, self._given_track, repeat_line=self._repeat_line, notes=notes,
                opened_with=self._opened_with, cache=self.shelf.store, completed=self._completed,
                limits=self._limits,
            )  # fmt: skip
        other = copy.copy(self)
        other._notes, other._judgement = notes, None
        # They say what is noted of both laps.
        other._comparisons = {}
        return other

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
            said = self._notes.conditions
            self._judgement = self.shelf.get("judgement", self._fresh_judgement, said)
        return self._judgement

    def _fresh_judgement(self) -> Judgement:
        evidence, track = self.evidence, self.track
        where = incident_stations(self.mapped, self.laps)
        held_back = corners_with_incidents(track.corners, evidence.spans, where, track.length_m)
        found = judge(
            evidence, track.corners, held_back=held_back, conditions=self._notes.conditions
        )
        # Where other sessions have the corners, not where this one's receiver saw them.
        placed = with_places(found.items, self.shared_track)
        pairs = zip(found.habits, placed, strict=True)
        return replace(found, habits=tuple(replace(h, item=i) for h, i in pairs))

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
