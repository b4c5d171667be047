"""What is said of a session held against the one before it: noted, changed, not comparable."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from lapwright.coaching.before_after import before_after
from lapwright.coaching.conditions import also_different
from lapwright.coaching.follow_up import FollowUp
from lapwright.coaching.tried import Tried, what_was_tried
from lapwright.ingest.archive import folder_of, is_there, name_of
from lapwright.notes.check import maybe_one_name
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes
from lapwright.session import Session
from lapwright.session.before import same_driver
from lapwright.wording.coaching.before_after import ALL_SESSIONS, before_after_sentences
from lapwright.wording.coaching.follow_up import not_understood, quoted, what_and_where

NO_SESSION_BEFORE = (
    "There is no session before to compare with: no log of the same driver that ended "
    f"before this one is both in {FILE_NAME} and in this folder."
)


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
    mine = notes.get(name_of(path), LogNotes()).driver
    other: dict[str, list[str]] = {}
    for name, one in notes.items():
        if is_there(folder_of(path) / name) and maybe_one_name(mine, one.driver):
            other.setdefault(one.driver, []).append(name)
    return tuple(
        f'"{mine}" and "{driver}" ({", ".join(names)}) are taken for two drivers. If they are '
        f"one, spell the name the same way in {FILE_NAME}."
        for driver, names in other.items()
    )


def other_conditions(name: str, before: LogNotes, now: LogNotes) -> str:
    """Say that two sessions are not compared, as they were driven on different surfaces."""
    return (
        f'{name} was driven in conditions noted as "{before.conditions}", this '
        f'session in "{now.conditions}": the two are not compared.'
    )


def noted_alone(session: Session, why: str) -> tuple[str, ...]:
    """
    Repeat what is noted where there is nothing to compare it with, and say so.

    Parameters
    ----------
    session : Session
    why : str
        Why there is nothing, in a sentence.

    Returns
    -------
    tuple of str
        Sentences; without the reason where nothing is noted.
    """
    mine = session.notes
    said = []
    if mine.tried:
        said.append(f"You noted as tried: {quoted(mine.tried)}.")
    if mine.changes:
        said.append(f"Changed on the car: {'; '.join(mine.changes)}.")
    if said:
        said.append(why)
    # What is noted should be understood the next time.
    unclear = what_was_tried(mine.tried, (), session.track.corners).unclear
    corners = session.track.corners
    return (*said, not_understood(unclear, corners)) if unclear else tuple(said)


def remarks_on(
    before: Session, session: Session, tried: Tried, followed: Sequence[FollowUp]
) -> tuple[str, ...]:
    """
    Say what else is to be known of a comparison.

    Parameters
    ----------
    before, session : Session
    tried : Tried
        What the notes of the session say.
    followed : sequence of FollowUp
        What could be compared.

    Returns
    -------
    tuple of str
        Sentences.
    """
    mine, corners = session.notes, session.track.corners
    known = [one.item for one in followed]
    want = "because a session has no clean laps there"
    said = []
    for one in tried.noted:
        if one.item not in known:
            what = what_and_where(one.item, corners)
            said.append(f"You noted: {quoted(one.entries)}. It cannot be compared, {want}: {what}.")
    missing = [what_and_where(item, corners) for item in tried.left if item not in known]
    if missing:
        said.append(
            "Suggested last time, not noted as tried; it cannot be compared, "
            f"{want}: {'; '.join(missing)}."
        )
    if tried.unclear:
        said.append(not_understood(tried.unclear, corners))
    different = _also_different(before, session)
    if mine.changes:
        # How lap times changed belongs to what was done to the car, which all corners feel.
        came = before_after(before.laps, session.laps)
        change = " ".join(before_after_sentences("Clean laps", came, brief=True))
        said.append(
            f"Changed on the car: {'; '.join(mine.changes)}. {change}{different} {ALL_SESSIONS}"
        )
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


def assumptions(before: Session, session: Session) -> tuple[str, ...]:
    """Say what a comparison depends on."""
    if same_driver(session.notes, before.notes) is not None:
        return ()
    pairs = ((before.log.path.name, before.notes), (session.log.path.name, session.notes))
    unknown = " and ".join(name for name, notes in pairs if not notes.driver.strip())
    return (f"This assumes the same driver; no driver is noted for {unknown}.",)
