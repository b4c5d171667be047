"""What came of the last try: the session before this one, found by the weekend notes."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lapwright.cli.printing import say
from lapwright.coaching.before_after import change_text, lap_time_change
from lapwright.coaching.conditions import also_different, not_comparable
from lapwright.coaching.corners_then import (
    corners_today,
    numbers_differ,
    renumbered_remarks,
)
from lapwright.coaching.follow_up import FollowUp, what_came_of_it
from lapwright.coaching.tried import Tried, what_and_where, what_was_tried
from lapwright.discovery.library.track_folders import files_beside
from lapwright.errors import LapwrightError
from lapwright.notes.check import maybe_one_name, notes_oddities
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes
from lapwright.session import Session
from lapwright.session.before import LogsBeside, same_driver
from lapwright.session.choose_track import Place, choose_track
from lapwright.units import Units


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


def came_of_it(session: Session, units: Units) -> CameOfIt:
    """
    Compare this session with the one before it.

    Returns
    -------
    CameOfIt
        Where there is no session before, what is noted and why nothing is said of it.
    """
    path, logs = session.log.path, LogsBeside(session)
    name = logs.before()
    odd = (
        *two_spellings(path, logs.notes),
        *(f"{FILE_NAME}: {one}." for one in notes_oddities(path.parent / FILE_NAME)),
    )
    if name is None:
        why = (
            "There is no session before to compare with: no log of the same driver that ended "
            f"before this one is both in {FILE_NAME} and in this folder."
        )
        return CameOfIt(remarks=(*_noted_alone(session, why), *odd))
    say.note(f"looking at {name} as well, to see what came of what you tried")
    try:
        if not_comparable(logs.notes[name], session.notes):
            apart = (
                f'{name} was driven in conditions noted as "{logs.notes[name].conditions}", this '
                f'session in "{session.notes.conditions}": the two are not compared.'
            )
            alone = _noted_alone(session, apart)
            return CameOfIt(remarks=(*(alone if apart in alone else [apart, *alone]), *odd))
        before = logs.session(name)
        then = corners_today(before.notes.worth_trying, session.track)
        tried = what_was_tried(session.notes.tried, then.items, session.track.corners, then.numbers)
        noted = {one.item: one.text for one in tried.noted}
        followed = what_came_of_it(before, session, (*tried.items, *tried.left), units, noted=noted)
        remarks = (
            *_remarks(before, session, tried, followed),
            *renumbered_remarks(then, name, units),
            *_by_number_alone(before, session),
        )
        return CameOfIt(name, followed, _caveats(before, session), (*remarks, *odd))
    except LapwrightError as error:
        # The last session is a bonus: its log may be damaged or from another circuit.
        say.note(f"the session before cannot be compared: {error}")
        alone = _noted_alone(session, f"The session before, {name}, cannot be compared.")
        return CameOfIt(remarks=(*alone, *odd))


def _by_number_alone(before: Session, session: Session) -> tuple[str, ...]:
    """Say where notes of corners without a place are of another track file than this session's."""
    items, path = before.notes.worth_trying, before.log.path
    mine = session.opened_with.track_file
    beside = [file for file in files_beside(path) if mine is None or not mine.samefile(file)]
    if not beside or all(item.place_deg is not None for item in items):
        return ()
    own = choose_track(before.log, None, [Place(files_beside(path), beside=True)])
    if own.track is None or own.file is None or not own.track.corners or own.file not in beside:
        return ()
    said = numbers_differ(items, own.track, session.track, path.name, own.file.name)
    return (said,) if said else ()


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


def _noted_alone(session: Session, why: str) -> list[str]:
    """Repeat what is noted where there is nothing to compare it with, and say so."""
    mine = session.notes
    said = []
    if mine.tried:
        listed = "; ".join(f'"{" ".join(text.split())}"' for text in mine.tried)
        said.append(f"You noted as tried: {listed}.")
    if mine.changes:
        said.append(f"Changed on the car: {'; '.join(mine.changes)}.")
    if said:
        said.append(why)
    # What is noted should be understood the next time.
    advice = what_was_tried(mine.tried, (), session.track.corners).advice
    return [*said, advice] if advice else said


def _remarks(
    before: Session, session: Session, tried: Tried, followed: tuple[FollowUp, ...]
) -> tuple[str, ...]:
    """Say what else is to be known of the comparison."""
    mine, corners = session.notes, session.track.corners
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
    different = _also_different(before, session)
    if mine.changes:
        # How lap times changed belongs to what was done to the car, which all corners feel.
        change = change_text("Clean laps", lap_time_change(before.laps, session.laps))
        said.append(f"Changed on the car: {'; '.join(mine.changes)}. {change}{different}")
    elif different and followed:
        said.append(different.strip())
    return tuple(said)


def _also_different(before: Session, session: Session) -> str:
    """Name car and tyres where they differ too: the laps cannot tell which of all made it."""
    found = also_different(before.notes, session.notes)
    if not found:
        return ""
    listed = "; ".join(f"{what} ({a}, then {b})" for what, a, b in found)
    return f" Also different: {listed}. The laps cannot tell which of these made the difference."


def _caveats(before: Session, session: Session) -> tuple[str, ...]:
    """Say what the comparison depends on."""
    if same_driver(session.notes, before.notes) is not None:
        return ()
    pairs = ((before.log.path.name, before.notes), (session.log.path.name, session.notes))
    unknown = " and ".join(name for name, notes in pairs if not notes.driver.strip())
    return (f"This assumes the same driver; no driver is noted for {unknown}.",)
