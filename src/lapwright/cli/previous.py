"""What came of the last try: the session before this one, found by the weekend notes."""

from dataclasses import dataclass

from lapwright.cli.printing import say
from lapwright.cli.printing.progress import BEFORE, Progress
from lapwright.coaching.carried_on import CarriedOn, carried_on
from lapwright.coaching.conditions import not_comparable
from lapwright.coaching.corners_then import corners_today, numbers_in_doubt
from lapwright.coaching.follow_up import FollowUp, what_came_of_it
from lapwright.coaching.tried import what_was_tried
from lapwright.discovery.library.track_folders import files_beside
from lapwright.errors import LapwrightError
from lapwright.ingest.archive import folder_of
from lapwright.notes.check import notes_oddities
from lapwright.notes.weekend_notes import FILE_NAME
from lapwright.session import Session
from lapwright.session.before import LogsBeside
from lapwright.session.choose_track import Place, choose_track_kept
from lapwright.units import Units
from lapwright.wording.coaching.carried_on import carried_on_text
from lapwright.wording.coaching.corners_then import (
    by_number_alone,
    renumbered_remarks,
    which_are_meant,
)
from lapwright.wording.coaching.follow_up import follow_up_text
from lapwright.wording.coaching.session_before import (
    NO_SESSION_BEFORE,
    assumptions,
    noted_alone,
    other_conditions,
    remarks_on,
    two_spellings,
)


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
    said : tuple of str
        The same, a text each.
    caveats : tuple of str
        What all of it depends on, to be said before it.
    remarks : tuple of str
        What else changed, what was not understood, not read or not known, in sentences.
    carried : tuple of CarriedOn
        What was shown then and is looked for now.
    carried_said : tuple of str
        The same, a text each.
    """

    name: str = ""
    followed: tuple[FollowUp, ...] = ()
    said: tuple[str, ...] = ()
    caveats: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    carried: tuple[CarriedOn, ...] = ()
    carried_said: tuple[str, ...] = ()

    @property
    def texts(self) -> tuple[str, ...]:
        """All of it in sentences."""
        return (*self.caveats, *self.said, *self.carried_said, *self.remarks)


def came_of_it(
    session: Session, units: Units, progress: Progress | None = None, *, aloud: bool = True
) -> CameOfIt:
    """
    Compare this session with the one before it.

    Parameters
    ----------
    session : Session
    units : Units
        Of the sentences.
    progress : Progress, optional
        Where to say what is being done.
    aloud : bool
        Whether to say on stderr which log is looked at as well.

    Returns
    -------
    CameOfIt
        Where there is no session before, what is noted and why nothing is said of it.
    """
    path, logs = session.log.path, LogsBeside(session)
    progress = Progress(silent=True) if progress is None else progress
    with progress.step(BEFORE):
        name = logs.before()
    odd = (
        *two_spellings(path, logs.notes),
        *notes_oddities(folder_of(path) / FILE_NAME),
    )
    if name is None:
        return CameOfIt(remarks=(*noted_alone(session, NO_SESSION_BEFORE), *odd))
    if aloud:
        say.note(f"looking at {name} as well, to see what came of what you tried")
    try:
        if not_comparable(logs.notes[name], session.notes):
            apart = other_conditions(name, logs.notes[name], session.notes)
            alone = noted_alone(session, apart)
            return CameOfIt(remarks=(*(alone if apart in alone else (apart, *alone)), *odd))
        with progress.step(BEFORE):
            return _compared(logs.session(name), session, odd, units)
    except LapwrightError as error:
        # The last session is a bonus: its log may be damaged or from another circuit.
        say.note(f"the session before cannot be compared: {error}")
        alone = noted_alone(session, f"The session before, {name}, cannot be compared.")
        return CameOfIt(remarks=(*alone, *odd))


def _compared(before: Session, session: Session, odd: tuple[str, ...], units: Units) -> CameOfIt:
    """Compare a session with the one before it, which can be compared."""
    name = before.log.path.name
    then = corners_today(before.notes.worth_trying, session.track)
    tried = what_was_tried(session.notes.tried, then.items, session.track.corners, then.numbers)
    noted = {one.item: one.entries for one in tried.noted}
    followed = what_came_of_it(before, session, (*tried.items, *tried.left), noted=noted)
    renumbered = (
        *which_are_meant(tried, then, session.track),
        *renumbered_remarks(then, name, units),
        *_by_number_alone(before, session),
    )
    carried = carried_on(before, session, then.items)
    return CameOfIt(
        name,
        followed,
        tuple(follow_up_text(one, session.track, units) for one in followed),
        assumptions(before, session),
        (*remarks_on(before, session, tried, followed), *renumbered, *odd),
        carried,
        tuple(carried_on_text(one, session.track, name) for one in carried),
    )


def _by_number_alone(before: Session, session: Session) -> tuple[str, ...]:
    """Say where notes of corners without a place are of another track file than this session's."""
    items, path = before.notes.worth_trying, before.log.path
    mine = session.opened_with.track_file
    beside = [file for file in files_beside(path) if mine is None or not mine.samefile(file)]
    if not beside or all(item.place_deg is not None for item in items):
        return ()
    own = choose_track_kept(
        before.shelf.store, before.log, None, [Place(files_beside(path), beside=True)]
    )
    if own.track is None or own.file is None or not own.track.corners or own.file not in beside:
        return ()
    unsure = numbers_in_doubt(items, own.track, session.track)
    return (by_number_alone(unsure, path.name, own.file.name),) if unsure else ()
