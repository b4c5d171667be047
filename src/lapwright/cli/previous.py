"""What came of the last try: the session before this one, found by the weekend notes."""

from collections.abc import Mapping
from pathlib import Path

from lapwright.analysis import Session
from lapwright.analysis.before_after import change_text, lap_time_change
from lapwright.analysis.follow_up import FollowUp, items_tried, what_came_of_it
from lapwright.analysis.notes import FILE_NAME, LogNotes, read_notes
from lapwright.cli import say
from lapwright.cli.opening import Opened
from lapwright.cli.options import Choice
from lapwright.errors import LapwrightError
from lapwright.ingest import read_log
from lapwright.units import Units


def log_before(path: Path, notes: Mapping[str, LogNotes]) -> str | None:
    """
    Find the log to compare with: where the things to try were found, or the one before a change.

    Parameters
    ----------
    path : Path
        The log of this session.
    notes : mapping of str to LogNotes
        In the order of the file, which is the order of the sessions.

    Returns
    -------
    str or None
        File name of the last log before this one, of the same driver where both are noted, which
        is still there.  Where this session's notes name nothing that was tried or changed, only
        one for which something was found worth trying.
    """
    names = list(notes)
    mine = notes.get(path.name, LogNotes())
    driver, asked = mine.driver, bool(mine.tried or mine.changes)
    earlier = names[: names.index(path.name)] if path.name in notes else names
    for name in reversed(earlier):
        said = notes[name]
        same = not driver or not said.driver or said.driver == driver
        if same and (said.worth_trying or asked) and (path.parent / name).is_file():
            return name
    return None


def came_of_it(
    opened: Opened, choice: Choice, units: Units
) -> tuple[str, tuple[FollowUp, ...], tuple[str, ...]]:
    """
    Compare this session with the one before it.

    Returns
    -------
    (str, tuple of FollowUp, tuple of str)
        Name of the log before, what came of each thing tried, and what else changed, in
        sentences; empty where there is no session before.
    """
    path = opened.log.path
    notes = read_notes(path.parent / FILE_NAME)
    name = log_before(path, notes)
    if name is None:
        return "", (), ()
    say.note(f"looking at {name} as well, to see what came of the last try")
    try:
        log = read_log(path.parent / name, choice.columns)
        before = Session(
            log, opened.session.shared_track, road=choice.road, notes=notes[name],
            units=units,
        )  # fmt: skip
        items = items_tried(notes[name].worth_trying, opened.notes.tried)
        followed = what_came_of_it(before, opened.session, items, units)
        return name, followed, _changes(before, opened)
    except LapwrightError as error:
        # The last session is a bonus: its log may be damaged or from another circuit.
        say.note(f"the session before cannot be compared: {error}")
        return "", (), ()


def _changes(before: Session, opened: Opened) -> tuple[str, ...]:
    """Say how lap times changed where the notes say that the car was changed."""
    if not opened.notes.changes:
        return ()
    change = lap_time_change(before.laps, opened.session.laps)
    said = change_text("Clean laps", change)
    return (f"Changed on the car: {'; '.join(opened.notes.changes)}. {said}",)
