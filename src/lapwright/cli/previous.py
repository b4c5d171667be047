"""What came of the last try: the session before this one, found by the weekend notes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from lapwright.cli import say
from lapwright.cli.opening import Opened
from lapwright.cli.options import Choice
from lapwright.coaching.before_after import change_text, lap_time_change
from lapwright.coaching.follow_up import FollowUp, what_came_of_it
from lapwright.coaching.tried import Tried, what_and_where, what_was_tried
from lapwright.errors import LapwrightError
from lapwright.ingest import Log, read_log
from lapwright.notes.check import maybe_one_name, notes_oddities
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes
from lapwright.session import Session
from lapwright.units import Units

# From when to when a log runs (UTC); None where it has no date.
Span = tuple[pd.Timestamp, pd.Timestamp] | None


@dataclass(frozen=True)
class CameOfIt:
    """
    What came of the last try.

    Attributes
    ----------
    name : str
        File name of the log before; empty where there is none.
    followed : tuple of FollowUp
        What is noted as tried first.
    caveats : tuple of str
        What all of it depends on, to be said before it.
    remarks : tuple of str
        What else changed, what was not understood, not read or not known, in sentences.
    """

    name: str = ""
    followed: tuple[FollowUp, ...] = ()
    caveats: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def texts(self) -> tuple[str, ...]:
        """All of it in sentences."""
        return (*self.caveats, *(one.text for one in self.followed), *self.remarks)


@dataclass(frozen=True)
class _Candidate:
    name: str
    place: int
    span: Span
    same_driver: bool


def log_before(
    path: Path, notes: Mapping[str, LogNotes], span_of: Callable[[str], Span]
) -> str | None:
    """
    Find the log to compare with: where the things to try were found, or the one before a change.

    Parameters
    ----------
    path : Path
        The log of this session.
    notes : mapping of str to LogNotes
        In the order of the file.
    span_of : callable
        From when to when the log of a name runs.

    Returns
    -------
    str or None
        File name of the last log that ended before this one began, which is still there, and not
        another driver's; by the order of the notes where one of the two has no date.  A log that
        is noted to be the same driver's comes before one of which it is not known; among these,
        where something is noted as tried, one for which something was found worth trying.  Where
        this session's notes name nothing that was tried or changed, only such a log.
    """
    names = list(notes)
    mine = notes.get(path.name, LogNotes())
    asked = bool(mine.tried or mine.changes)
    here = names.index(path.name) if path.name in notes else len(names)
    own = span_of(path.name)
    found = []
    for place, name in enumerate(names):
        same = same_driver(mine, notes[name])
        if place == here or same is False or not (asked or notes[name].worth_trying):
            continue
        if not (path.parent / name).is_file():
            continue
        span = None if own is None else span_of(name)
        # Two loggers in one car are no session before: the other one must have ended by then.
        if place < here if own is None or span is None else span[1] <= own[0]:
            found.append(_Candidate(name, place, span, bool(same)))
    known = [c for c in found if c.same_driver]
    # What was tried was found somewhere: the driver of that log is more likely to be this one.
    told = [c for c in found if mine.tried and notes[c.name].worth_trying]
    return _last(known or told or found)


def _last(found: list[_Candidate]) -> str | None:
    """Return the last one: by its time among those with a date, by the file among the others."""
    if not found:
        return None
    dated = [c for c in found if c.span is not None]
    others = [c for c in found if c.span is None]
    last = max(dated, key=lambda c: c.span or (), default=None)
    other = max(others, key=lambda c: c.place, default=None)
    if last is None or (other is not None and other.place > last.place):
        last = other
    return None if last is None else last.name


def same_driver(one: LogNotes, other: LogNotes) -> bool | None:
    """Whether two logs are noted to be of one driver; None where one of them is not noted."""
    names = [" ".join(n.driver.casefold().split()) for n in (one, other)]
    return names[0] == names[1] if all(names) else None


def came_of_it(opened: Opened, choice: Choice, units: Units) -> CameOfIt:
    """
    Compare this session with the one before it.

    Returns
    -------
    CameOfIt
        Where there is no session before, what is noted and why nothing is said of it.
    """
    path, session = opened.log.path, opened.session
    notes = read_notes(path.parent / FILE_NAME)
    logs = {path.name: opened.log}

    def log_of(name: str) -> Log:
        if name not in logs:
            logs[name] = read_log(path.parent / name, choice.columns)
        return logs[name]

    def span_of(name: str) -> Span:
        try:
            return _span(log_of(name))
        except LapwrightError:
            return None

    name = log_before(path, notes, span_of)
    odd = (
        *two_spellings(path, notes),
        *(f"{FILE_NAME}: {one}." for one in notes_oddities(path.parent / FILE_NAME)),
    )
    if name is None:
        why = (
            "There is no session before to compare with: no log of the same driver that ended "
            f"before this one is both in {FILE_NAME} and in this folder."
        )
        return CameOfIt(remarks=(*_noted_alone(opened, why), *odd))
    say.note(f"looking at {name} as well, to see what came of what you tried")
    try:
        before = Session(
            log_of(name),
            session.shared_track,
            repeat_line=choice.repeat_line,
            notes=notes[name],
            units=units,
        )
        tried = what_was_tried(opened.notes.tried, notes[name].worth_trying, session.track.corners)
        followed = what_came_of_it(before, session, (*tried.items, *tried.left), units)
        remarks = _remarks(before, opened, tried, followed)
        return CameOfIt(name, followed, _caveats(before, opened), (*remarks, *odd))
    except LapwrightError as error:
        # The last session is a bonus: its log may be damaged or from another circuit.
        say.note(f"the session before cannot be compared: {error}")
        alone = _noted_alone(opened, f"The session before, {name}, cannot be compared.")
        return CameOfIt(remarks=(*alone, *odd))


def two_spellings(path: Path, notes: Mapping[str, LogNotes]) -> tuple[str, ...]:
    """
    Name the logs that may be the same driver's under another spelling.

    Parameters
    ----------
    path : Path
        The log of this session.
    notes : mapping of str to LogNotes

    Returns
    -------
    tuple of str
        A sentence for each other spelling.
    """
    mine = notes.get(path.name, LogNotes()).driver
    other: dict[str, list[str]] = {}
    for name, one in notes.items():
        if (path.parent / name).is_file() and maybe_one_name(mine, one.driver):
            other.setdefault(one.driver, []).append(name)
    return tuple(
        f'"{mine}" and "{driver}" ({", ".join(names)}) are taken for two drivers. If they are '
        f"one, spell the name the same way in {FILE_NAME}."
        for driver, names in other.items()
    )


def _span(log: Log) -> Span:
    if log.start_utc is None:
        return None
    return log.start_utc, log.start_utc + pd.Timedelta(seconds=log.duration_s)


def _noted_alone(opened: Opened, why: str) -> list[str]:
    """Repeat what is noted where there is nothing to compare it with, and say so."""
    mine = opened.notes
    said = []
    if mine.tried:
        listed = "; ".join(f'"{" ".join(text.split())}"' for text in mine.tried)
        said.append(f"You noted as tried: {listed}.")
    if mine.changes:
        said.append(f"Changed on the car: {'; '.join(mine.changes)}.")
    if said:
        said.append(why)
    # What is noted should be understood the next time.
    advice = what_was_tried(mine.tried, (), opened.session.track.corners).advice
    return [*said, advice] if advice else said


def _remarks(
    before: Session, opened: Opened, tried: Tried, followed: tuple[FollowUp, ...]
) -> tuple[str, ...]:
    """Say what else is to be known of the comparison."""
    mine, corners = opened.notes, opened.session.track.corners
    known = [one.item for one in followed]
    want = "because a session has no clean laps there"
    said = []
    for one in tried.noted:
        if one.item not in known:
            what = what_and_where(one.item, corners)
            said.append(f'You noted: "{one.text}". It cannot be compared, {want}: {what}.')
    missing = [what_and_where(item, corners) for item in tried.left if item not in known]
    if missing:
        said.append(
            "Suggested last time, not noted as tried; it cannot be compared, "
            f"{want}: {'; '.join(missing)}."
        )
    if tried.advice:
        said.append(tried.advice)
    if mine.changes:
        # How lap times changed belongs to what was done to the car, which all corners feel.
        change = change_text("Clean laps", lap_time_change(before.laps, opened.session.laps))
        said.append(f"Changed on the car: {'; '.join(mine.changes)}. {change}")
    return tuple(said)


def _caveats(before: Session, opened: Opened) -> tuple[str, ...]:
    """Say what the comparison depends on."""
    if same_driver(opened.notes, before.notes) is not None:
        return ()
    pairs = ((before.log.path.name, before.notes), (opened.log.path.name, opened.notes))
    unknown = " and ".join(name for name, notes in pairs if not notes.driver.strip())
    return (f"This assumes the same driver; no driver is noted for {unknown}.",)
