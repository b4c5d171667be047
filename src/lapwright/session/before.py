"""The session before: which log of the folder it is, by the weekend notes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from lapwright.arguments import checked
from lapwright.errors import LapwrightError
from lapwright.ingest import Log
from lapwright.ingest.archive import folder_of, is_there, name_of
from lapwright.ingest.map_beside import map_for, read_with_map
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes
from lapwright.session.opened_with import OpenedWith
from lapwright.session.session import Session

# From when to when a log runs (UTC); None where it has no date.
Span = tuple[pd.Timestamp, pd.Timestamp] | None


@dataclass(frozen=True)
class _Candidate:
    name: str
    place: int
    span: Span
    same_driver: bool


@checked
def session_before(session: Session) -> Session | None:
    """
    Open the session to compare with: where what was tried was found, or the one before a change.

    Parameters
    ----------
    session : Session
        Of a log that lies with the others and their `weekend.toml` in one folder.

    Returns
    -------
    Session or None
        On the same track; of the same driver, as far as the notes say.  None where this session's
        notes name nothing tried or changed and no log before it has something worth trying, or
        where no log of the notes ended before this one began; see `log_before`.

    Raises
    ------
    LapwrightError
        If its log, or the notes, cannot be used.

    Examples
    --------
    >>> import lapwright as lw
    >>> saturday = lw.open_session("sample_sessions/saturday_practice.csv")
    >>> lw.session_before(saturday).log.path.name
    'friday_test.csv'
    """
    logs = LogsBeside(session)
    name = logs.before()
    return None if name is None else logs.session(name)


class LogsBeside:
    """
    The logs beside that of a session, each read once.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._path = session.log.path
        self.notes = read_notes(folder_of(self._path) / FILE_NAME)
        self._logs = {name_of(self._path): (session.log, session.opened_with.columns)}

    def before(self) -> str | None:
        """File name of the log of the session before, see `log_before`."""
        return log_before(self._path, self.notes, self._span_of)

    def session(self, name: str) -> Session:
        """Open a log by its file name, on the track and with the choices of this session."""
        this = self._session
        log, used = self._read(name)
        return Session(
            log, this.shared_track, repeat_line=this.repeat_line,
            notes=self.notes.get(name, LogNotes()),
            opened_with=OpenedWith(this.opened_with.why, columns=used), cache=this.shelf.store,
        )  # fmt: skip

    def _read(self, name: str) -> tuple[Log, Path | None]:
        if name not in self._logs:
            used = self._session.opened_with.columns
            # What merely lies beside the logs need not fit all of them.
            given = None if used == map_for(self._path) else used
            self._logs[name] = read_with_map(
                folder_of(self._path) / name, given, self._session.shelf.store
            )
        return self._logs[name]

    def _span_of(self, name: str) -> Span:
        try:
            log, _ = self._read(name)
        except LapwrightError:
            return None
        if log.start_utc is None:
            return None
        return log.start_utc, log.start_utc + pd.Timedelta(seconds=log.duration_s)


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
    own_name = name_of(path)
    mine = notes.get(own_name, LogNotes())
    asked = bool(mine.tried or mine.changes)
    here = names.index(own_name) if own_name in notes else len(names)
    own = span_of(own_name)
    found = []
    for place, name in enumerate(names):
        same = same_driver(mine, notes[name])
        if place == here or same is False or not (asked or notes[name].worth_trying):
            continue
        if not is_there(folder_of(path) / name):
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
