"""
The time zone in which times of day are shown beside UTC.

As noted in the weekend notes (`timezone = "Europe/..."`, for the whole file or for one log), or in
the track file (its member ``timezone``); else the computer's own.  Names are those of the IANA
time zone database, which Python reads from the computer.  Where the computer has no such data, as
Windows has none, its own zone is what is left, and that is said.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from lapwright.errors import NotesError, shown
from lapwright.ingest.archive import folder_of, name_of
from lapwright.notes.edit import parsed
from lapwright.notes.weekend_notes import FILE_NAME

ZONE_KEY = "timezone"


@dataclass(frozen=True, slots=True)
class TimeZone:
    """
    A time zone, and why it may be another than was noted.

    Attributes
    ----------
    name : str
        As noted; empty for the computer's own, which is known by its short name of a moment only.
    zone : tzinfo or None
        None for the computer's own.
    odd : str
        What is to be said of it, a sentence; may be empty.
    """

    name: str = ""
    zone: tzinfo | None = None
    odd: str = ""

    def local(self, moment: datetime) -> datetime:
        """
        Return a moment in this zone.

        Examples
        --------
        >>> from datetime import UTC
        >>> zone = TimeZone("a", ZoneInfo("UTC"))
        >>> zone.local(datetime(2026, 2, 6, 12, 0, tzinfo=UTC)).hour
        12
        """
        return moment.astimezone(self.zone)

    def name_at(self, moment: datetime) -> str:
        """Name the zone for a program: as noted, else the computer's short name of that moment."""
        return self.name or short_name(self.local(moment))


def short_name(moment: datetime) -> str:
    """
    Return the short name of a moment's zone, with its offset where that is all there is.

    Examples
    --------
    >>> from datetime import timedelta, timezone
    >>> short_name(datetime(2026, 2, 6, tzinfo=timezone(timedelta(hours=10), "+10")))
    'UTC+10'
    """
    name = moment.tzname() or ""
    return f"UTC{name}" if name[:1] in ("+", "-") else name


def time_zone_for(log: Path, members: Mapping[str, Any] | None = None) -> TimeZone:
    """
    Find the time zone of a log.

    Parameters
    ----------
    log : Path
        The weekend notes lie beside it.
    members : mapping, optional
        Top-level members of the track file, see `Track.other_members`.

    Returns
    -------
    TimeZone
    """
    noted, where = _noted(log), FILE_NAME
    if noted is None and members is not None and ZONE_KEY in members:
        noted, where = members[ZONE_KEY], "track file"
    return TimeZone() if noted is None else named_zone(noted, where)


def named_zone(name: object, where: str) -> TimeZone:
    """
    Return the zone of a name; the computer's own, with a word on it, where that cannot be had.

    Parameters
    ----------
    name : object
        Whatever was written.
    where : str
        Which file says so.

    Returns
    -------
    TimeZone
    """
    own = "times of day are in this computer's own time zone"
    if isinstance(name, str) and name.strip():
        try:
            return TimeZone(name.strip(), ZoneInfo(name.strip()))
        except (ValueError, OSError):
            # A name that can be no file.
            pass
        except KeyError:
            # What is raised where there is no such zone is a kind of KeyError.
            if not available_timezones():
                missing = "this computer has no time zone data"
                said = f"{where}: {missing}, so {shown(name)} is unknown here"
                return TimeZone(odd=f"{said}; {own}.")
    said = f"{where}: {ZONE_KEY} = {shown(name)} is no time zone; write it as Area/City"
    return TimeZone(odd=f"{said}; {own}.")


def _noted(log: Path) -> object | None:
    """Return what the notes beside a log say; nothing where they cannot be read."""
    path = folder_of(log) / FILE_NAME
    try:
        document = parsed(path.read_text(encoding="utf-8-sig"), path)
    except (OSError, UnicodeDecodeError, NotesError):
        # Whoever reads the notes for what is in them says why.
        return None
    logs = document.get("logs", {})
    mine = logs.get(name_of(log), {}) if isinstance(logs, dict) else {}
    # At the end of the file it is a line of the last log's.
    return mine.get(ZONE_KEY, document.get(ZONE_KEY)) if isinstance(mine, dict) else None
