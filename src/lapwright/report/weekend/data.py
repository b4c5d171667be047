"""
All a weekend page says, gathered once: numbers with their error bars, by circuit and surface.

One session is open at a time; two where the best laps of two drivers are compared.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pandas as pd

from lapwright.coaching.before_after import before_after
from lapwright.coaching.car_change.effect import BeforeAfter
from lapwright.errors import LapwrightError
from lapwright.geometry import Track
from lapwright.laps.comparison import Comparison
from lapwright.report.weekend.begin_next import Begin, where_to_begin
from lapwright.report.weekend.session_facts import CameOf, SessionFacts, session_facts
from lapwright.report.weekend.typical import MIN_TYPICAL
from lapwright.session import Session
from lapwright.units import Units

# In this order on the page.
SURFACES = ("dry", "", "wet", "changing")
Came = Callable[[Session], CameOf]


@dataclass(frozen=True, eq=False)
class Entry:
    """
    A log of the weekend that can be used.

    Attributes
    ----------
    path : Path
    circuit : Path or None
        Its track file; logs of one circuit have the same.
    open : callable
        Opens its session on that track.
    name : str
        What the session is called; the log's name without its ending where empty.
    """

    path: Path
    circuit: Path | None
    open: Callable[[], Session]
    name: str = ""


@dataclass(frozen=True, eq=False)
class SideBySide:
    """
    One best lap against a quicker one: another driver's, or the same driver's of another session.

    Attributes
    ----------
    mine, reference : SessionFacts
        The sessions that they are from.
    comparison : Comparison
    """

    mine: SessionFacts
    reference: SessionFacts
    comparison: Comparison


@dataclass(frozen=True, eq=False)
class Field:
    """
    The sessions on one surface of one circuit: what may be held against each other.

    Attributes
    ----------
    surface : str
        See `lapwright.coaching.conditions.surface`.
    sessions : tuple of SessionFacts
        In order.
    side_by_side : tuple of SideBySide
        Each driver's best lap against that of the quickest.
    first_to_best : tuple of SideBySide
        The best lap of each driver's first session against their best, where that is another.
    """

    surface: str
    sessions: tuple[SessionFacts, ...]
    side_by_side: tuple[SideBySide, ...] = ()
    first_to_best: tuple[SideBySide, ...] = ()

    @property
    def comparable(self) -> bool:
        """Whether its sessions may be compared: not where the surface changed within them."""
        return self.surface != "changing"

    @cached_property
    def drivers(self) -> dict[str, tuple[SessionFacts, ...]]:
        """Sessions by driver; those of nobody in particular count as one's."""
        out: dict[str, list[SessionFacts]] = {}
        spelled: dict[str, str] = {}
        for one in self.sessions:
            name = spelled.setdefault(one.driver.casefold(), one.driver)
            out.setdefault(name, []).append(one)
        return {name: tuple(sessions) for name, sessions in out.items()}

    @cached_property
    def bests(self) -> tuple[SessionFacts, ...]:
        """The quickest session of each driver that has a best lap, the quickest first."""
        found = [best_of(sessions) for sessions in self.drivers.values()]
        known = [one for one in found if one is not None]
        return tuple(sorted(known, key=lambda one: one.best or (0.0, 0.0)))

    @cached_property
    def begin(self) -> dict[str, tuple[Begin, ...]]:
        """Where each driver is to begin; nothing of it where the surface changed."""
        if not self.comparable:
            return {}
        return {name: where_to_begin(sessions) for name, sessions in self.drivers.items()}

    def ends(self, driver: str) -> tuple[SessionFacts, SessionFacts] | None:
        """First and last session of a driver with enough clean laps; None where they are one."""
        known = [one for one in self.drivers[driver] if len(one.clean) >= MIN_TYPICAL]
        if not self.comparable or len(known) < 2:
            return None
        return known[0], known[-1]

    def pace_change(self, driver: str) -> BeforeAfter | None:
        """How the clean laps changed from the first to the last of these, sessions allowed for."""
        ends = self.ends(driver)
        return None if ends is None else before_after(ends[0].laps, ends[1].laps)


@dataclass(frozen=True, eq=False)
class CircuitData:
    """
    What was driven at one circuit.

    Attributes
    ----------
    track : Track
    corners : DataFrame
        See `lapwright.Session.corners`.
    fields : tuple of Field
    """

    track: Track
    corners: pd.DataFrame
    fields: tuple[Field, ...]

    @cached_property
    def sessions(self) -> tuple[SessionFacts, ...]:
        """All of them, in order."""
        every = [one for part in self.fields for one in part.sessions]
        return tuple(sorted(every, key=lambda one: one.number))


@dataclass(frozen=True, eq=False)
class WeekendData:
    """
    What a weekend page is made of.

    Attributes
    ----------
    folder : Path
    circuits : tuple of CircuitData
    failed : tuple of str
        Why a log could not be used, a sentence each.
    left_out : tuple of str
        Names of files that are no logs.
    remarks : tuple of str
        What else is to be said of files: copies, track files.
    changes : tuple of str
        What came of each change to the car that the notes name, a text each.
    """

    folder: Path
    circuits: tuple[CircuitData, ...]
    failed: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()

    @property
    def sessions(self) -> tuple[SessionFacts, ...]:
        """All sessions, by circuit."""
        return tuple(one for circuit in self.circuits for one in circuit.sessions)


def best_of(sessions: Sequence[SessionFacts]) -> SessionFacts | None:
    """Return the session with the quickest best lap; None where no lap counts."""
    known = [one for one in sessions if one.best is not None]
    return min(known, key=lambda one: one.best or (0.0, 0.0), default=None)


def gather_circuits(
    entries: Iterable[Entry], units: Units, came: Came | None = None
) -> tuple[tuple[CircuitData, ...], tuple[str, ...]]:
    """
    Go through the sessions of a weekend.

    Parameters
    ----------
    entries : iterable of Entry
        In order.
    units : Units
        Of the sentences.
    came : callable, optional
        Says what came of what was tried before a session.

    Returns
    -------
    circuits : tuple of CircuitData
    failed : tuple of str
        Logs whose laps could be cut, but that could not be looked at further.
    """
    opened: dict[Path, Entry] = {}
    sessions: dict[Hashable, list[SessionFacts]] = {}
    tracks: dict[Hashable, tuple[Track, pd.DataFrame]] = {}
    failed = []
    for entry in entries:
        try:
            session = entry.open()
            said = CameOf() if came is None else came(session)
            facts = session_facts(session, len(opened) + 1, said, units, entry.name)
        except LapwrightError as error:
            # One log is no reason to have no page of the others.
            failed.append(" ".join(str(error).split()))
            continue
        session.shelf.write()
        opened[entry.path] = entry
        # Driven the other way, or completed from another log, it is another circuit's corners.
        apexes_m = tuple(round(float(one), 1) for one in session.corners["apex_m"])
        key = entry.circuit, round(session.track.length_m, 2), apexes_m
        sessions.setdefault(key, []).append(facts)
        tracks.setdefault(key, (session.track, session.corners))
    circuits = []
    for circuit, of in sessions.items():
        track, corners = tracks[circuit]
        circuits.append(CircuitData(track, corners, _fields(of, opened)))
    return tuple(circuits), tuple(failed)


def _fields(sessions: list[SessionFacts], entries: Mapping[Path, Entry]) -> tuple[Field, ...]:
    out = []
    for surface in SURFACES:
        of = tuple(one for one in sessions if one.surface == surface)
        if of:
            alone = Field(surface, of)
            pairs = _side_by_side(alone, entries), _first_to_best(alone, entries)
            out.append(Field(surface, of, *pairs))
    return tuple(out)


def _side_by_side(one: Field, entries: Mapping[Path, Entry]) -> tuple[SideBySide, ...]:
    """Compare the best laps of the drivers whose names are noted with the quickest."""
    bests = [facts for facts in one.bests if facts.driver]
    if not one.comparable or len(bests) < 2:
        return ()
    return _against(bests[0], bests[1:], entries)


def _first_to_best(one: Field, entries: Mapping[Path, Entry]) -> tuple[SideBySide, ...]:
    """Compare the best lap of each driver's first session with their best of all."""
    out: tuple[SideBySide, ...] = ()
    for sessions in one.drivers.values() if one.comparable else ():
        known = [facts for facts in sessions if facts.best is not None]
        best = best_of(known)
        if best is not None and best is not known[0]:
            out += _against(best, known[:1], entries)
    return out


def _against(
    reference: SessionFacts, others: Sequence[SessionFacts], entries: Mapping[Path, Entry]
) -> tuple[SideBySide, ...]:
    """Compare best laps with one of them; one session is open beside that one."""
    base = entries[reference.path].open()
    out = []
    for mine in others:
        assert mine.best_lap is not None
        session = entries[mine.path].open()
        found = session.compare(mine.best_lap, reference.best_lap, other=base)
        out.append(SideBySide(mine, reference, found))
    return tuple(out)
