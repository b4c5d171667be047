"""
The column map: a TOML file that says which column is what, and in which unit.

For files whose headers are not understood, or that have none.  Format and example:
`docs/reading-logs.md`.
"""

import datetime
import re
from dataclasses import dataclass, field
from pathlib import Path

from lapwright.errors import NotesError, one_line, shown
from lapwright.ingest.csv.header_words import unit_of
from lapwright.toml_text import TomlError, toml_of

ROLES = (
    "time",
    "date",
    "gps_week",
    "gps_tow",
    "utc_offset",
    "latitude",
    "longitude",
    "lat_hemisphere",
    "lon_hemisphere",
    "speed",
    "course",
    "height",
    "satellites",
    "hdop",
    "fix",
    "position_sd",
    "sd_north",
    "sd_east",
    "speed_sd",
    "throttle",
    "brake",
    "steering",
    "rpm",
    "gear",
)
_FILE_KEYS = ("header", "delimiter", "decimal", "time_scale", "date", "utc_offset", "month_first")


@dataclass(frozen=True, eq=False)
class ColumnMap:
    """
    What a column map says.

    Attributes
    ----------
    path : Path or None
    columns, channels : dict
        From role, or name of a channel, to (header or column number from 1, unit or None).
    file : dict
        Settings about the whole file.
    """

    path: Path | None = None
    columns: dict[str, tuple[str | int, str | None]] = field(default_factory=dict)
    channels: dict[str, tuple[str | int, str | None]] = field(default_factory=dict)
    file: dict[str, str | bool] = field(default_factory=dict)

    def text(self, key: str) -> str:
        """A setting about the file, or an empty text."""
        value = self.file.get(key, "")
        return value if isinstance(value, str) else ""


def read_column_map(path: str | Path) -> ColumnMap:
    """
    Read a column map.

    Raises
    ------
    NotesError
        If it is missing, no TOML, or names what does not exist.
    """
    path = Path(path)
    try:
        content = toml_of(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        what = f"the column map cannot be read ({error.strerror})"
        raise NotesError(what, path, hint="Check its name") from None
    except (UnicodeDecodeError, TomlError) as error:
        what = f"the column map is not a TOML file ({error})"
        raise NotesError(what, path, hint="See the example in docs/reading-logs.md") from None
    unknown = sorted(set(content) - {"columns", "channels", "file"})
    if unknown:
        what = f"the column map has a part {unknown[0]!r}"
        raise NotesError(what, path, hint="Allowed are [file], [columns] and [channels]")
    columns = _entries(content.get("columns", {}), path, "columns")
    wrong = sorted(set(columns) - set(ROLES))
    if wrong:
        what = f"the column map names {wrong[0]!r} under [columns]"
        hint = f"Allowed are {', '.join(ROLES)}; anything else goes under [channels]"
        raise NotesError(what, path, hint=hint)
    channels = _entries(content.get("channels", {}), path, "channels")
    return ColumnMap(path, columns, channels, _settings(content.get("file", {}), path))


def _entries(part: object, path: Path, name: str) -> dict[str, tuple[str | int, str | None]]:
    """Read ``role = "Header"``, ``role = 3`` or ``role = {column = ..., unit = ...}``."""
    if not isinstance(part, dict):
        what = f"{name!r} in the column map is not a table"
        raise NotesError(what, path, hint=f"Write a line [{name}] and the entries below it")
    out: dict[str, tuple[str | int, str | None]] = {}
    for role, entry in part.items():
        column, unit = (entry, None)
        if isinstance(entry, dict):
            column, unit = entry.get("column"), entry.get("unit")
        if isinstance(column, bool) or not isinstance(column, str | int):
            what = f"{name}.{role} in the column map names no column"
            hint = f'Write {role} = "Header" or {role} = {{ column = "Header", unit = "km/h" }}'
            raise NotesError(what, path, hint=hint)
        if isinstance(column, int) and column < 1:
            what = f"{name}.{role} in the column map is column {shown(column)}"
            raise NotesError(what, path, hint="Columns are counted from 1")
        if unit is not None and not isinstance(unit, str):
            what = f"{name}.{role} in the column map has a unit that is not text"
            raise NotesError(what, path, hint='Write for example unit = "km/h"')
        out[role] = (column, unit and (unit_of(unit) or unit))
    return out


def _settings(part: object, path: Path) -> dict[str, str | bool]:
    """Read the settings about the whole file."""
    if not isinstance(part, dict):
        what = "'file' in the column map is not a table"
        raise NotesError(what, path, hint="Write a line [file] and the settings below it")
    for key, value in part.items():
        if key not in _FILE_KEYS:
            what = f"the column map has a setting file.{key}"
            raise NotesError(what, path, hint=f"Allowed are {', '.join(_FILE_KEYS)}")
        if isinstance(value, bool) != (key in ("header", "month_first")):
            what = f"file.{key} in the column map has a value of the wrong kind"
            raise NotesError(
                what, path, hint="header and month_first are true or false, the rest is text"
            )
    scale = part.get("time_scale")
    if scale is not None and scale not in ("utc", "gps", "local"):
        what = f"file.time_scale in the column map is {shown(scale)}"
        raise NotesError(what, path, hint="Allowed are utc, gps and local")
    date = str(part.get("date", "2000-01-01"))
    if re.fullmatch(r"\d{4}-\d\d-\d\d", date) is None or not _exists(date):
        what = f"file.date in the column map is {shown(date)}"
        raise NotesError(what, path, hint='Write it like "2024-06-15"')
    if len(str(part.get("delimiter", ";"))) != 1:
        what = f"file.delimiter in the column map is {shown(part['delimiter'])}"
        raise NotesError(what, path, hint='Give one character, for example ";" or "\\t"')
    if part.get("decimal", ".") not in (".", ","):
        what = f"file.decimal in the column map is {shown(part['decimal'])}"
        raise NotesError(what, path, hint='Give "." or ","')
    return {key: value if isinstance(value, bool) else str(value) for key, value in part.items()}


def _exists(date: str) -> bool:
    """Tell whether an ISO date is in the calendar."""
    try:
        datetime.date.fromisoformat(date)
    except ValueError:
        return False
    return True


def suggestion(headers: list[str], known: dict[str, str]) -> str:
    """
    One line of TOML to fill in, with what was understood already in it.

    Parameters
    ----------
    headers : list of str
        As read.
    known : dict
        From role to header, for those that were understood.
    """
    wanted = ["time", "latitude", "longitude", "speed"]
    known = {role: one_line(name, 100) for role, name in known.items()}
    parts = [f'{role} = "{known[role]}"' if role in known else f'{role} = "?"' for role in wanted]
    seen = ", ".join(f'"{one_line(name, 40)}"' for name in headers[:30]) or "none"
    more = ", ..." if len(headers) > 30 else ""
    return (
        f"The header reads: {seen}{more}. Write a file columns.toml with the line "
        f"columns = {{ {', '.join(parts)} }}, put the right headers (or column numbers "
        "from 1) in, and give it with --columns columns.toml"
    )
