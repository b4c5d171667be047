"""
Weekend notes to be filled in: every log with every key, so that nobody has to know them by heart.

A log that is noted already is left as it is, to the letter.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from lapwright.errors import NotesError
from lapwright.escaping.toml import basic_string
from lapwright.notes.edit import KEY, parsed
from lapwright.notes.time_zone import ZONE_KEY
from lapwright.notes.weekend_notes import LogNotes, edit_notes
from lapwright.toml_text import TomlError, toml_of

_HEAD = f"""\
# Weekend notes.  Write between the quotes and brackets; leave the rest as it is.
# Nothing here has to be filled in, and a line that begins with # is not read.

# Local time beside UTC, in this zone; without it, your computer's.
# {ZONE_KEY} = "Area/City"
"""
# Each key, what stands for "not noted", what to write.
_FIELDS = (
    ("driver", '""', ""),
    ("car", '""', ""),
    ("conditions", '""', "dry, wet, drying"),
    ("track_temp_degc", '""', "of the track, in degrees Celsius"),
    ("air_temp_degc", '""', "of the air, in degrees Celsius"),
    ("tyres", '""', "make and kind"),
    ("tyre_set", '""', "name or number of the set"),
    ("tyre_laps", '""', "laps it had done before"),
    ("pressures_cold_bar", "[]", "before: [front left, front right, rear left, rear right]"),
    ("pressures_hot_bar", "[]", "right after, in the same order"),
    ("fuel_l", '""', "litres in the tank at the start"),
    ("changes", "[]", 'to the car before it: ["rear bar one hole softer"]'),
    ("tried", "[]", 'what you tried: ["corner 4, minimum speed"]'),
    ("notes", '""', "anything else"),
    ("first_lap", '""', "number of the first timed lap on the official sheet"),
)
KEYS = tuple(key for key, _, _ in _FIELDS)
assert set(KEYS) == {one.name for one in fields(LogNotes)} - {"other", KEY}
_COMMENT_AT = 24


@dataclass(frozen=True, slots=True)
class Prepared:
    """
    What became of a file of weekend notes.

    Attributes
    ----------
    path : Path
    added : tuple of str
        Logs that a table was added for.
    already : dict of tuple of str
        Logs that have a table, which is left as it is, and the keys it does not have.
    """

    path: Path
    added: tuple[str, ...]
    already: dict[str, tuple[str, ...]]


def prepare_notes(path: str | Path, logs: Sequence[str]) -> Prepared:
    """
    Write weekend notes to be filled in, or add the logs that are missing in those there are.

    Parameters
    ----------
    path : str or Path
        The notes; made where missing.
    logs : sequence of str
        File names, as they are noted.

    Returns
    -------
    Prepared

    Raises
    ------
    NotesError
        If they cannot be read or written; they are then left as they are.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder, "weekend.toml")
    ...     prepared = prepare_notes(file, ["friday.csv"])
    ...     again = prepare_notes(file, ["friday.csv", "saturday.csv"])
    >>> prepared.added, again.added, again.already
    (('friday.csv',), ('saturday.csv',), {'friday.csv': ()})
    """
    path = Path(path)
    known: dict[str, tuple[str, ...]] = {}

    def edit(text: str) -> str:
        tables = _tables(parsed(text, path), path)
        known.clear()
        for name in logs:
            if set(tables.get(name, {})) - {KEY}:
                known[name] = tuple(key for key in KEYS if key not in tables[name])
        return with_logs(text, [name for name in logs if name not in known], path)

    edit_notes(path, edit)
    return Prepared(path, tuple(name for name in logs if name not in known), dict(known))


def with_logs(text: str, logs: Sequence[str], path: Path) -> str:
    """
    Return the text of weekend notes with an empty table for each log at its end.

    Parameters
    ----------
    text : str
    logs : sequence of str
        File names that have no table yet.
    path : Path
        For messages.

    Raises
    ------
    NotesError
        If the text is no TOML, or nothing can be added to it.
    """
    if not logs:
        return text
    before = parsed(text, path)
    blocks = [_block(name) for name in logs]
    new = "\n".join([text.rstrip("\n") + "\n" if text.strip() else _HEAD, *blocks])
    try:
        after = toml_of(new)
    except TomlError as error:
        msg = "nothing can be added to it"
        hint = 'Write each log under a header [logs."FILE"] of its own, not in braces'
        raise NotesError(msg, path, hint=hint) from error
    # Read back: whatever was in it is in it still.
    for name in logs:
        added = after["logs"].pop(name)
        old = before.get("logs", {}).get(name)
        if old is not None:
            after["logs"][name] = {key: added[key] for key in old}
    if not after["logs"] and "logs" not in before:
        del after["logs"]
    if after != before:
        msg = "nothing can be added to it without harm"
        raise NotesError(msg, path, hint="Move it away, and take over from it what you need")
    return new


def _tables(document: dict[str, Any], path: Path) -> dict[str, Any]:
    logs = document.get("logs", {})
    if not isinstance(logs, dict) or not all(isinstance(v, dict) for v in logs.values()):
        msg = "'logs' is not made of tables"
        raise NotesError(msg, path, hint='Head each log\'s lines with [logs."FILE"]')
    return logs


def _block(name: str) -> str:
    lines = [f"[logs.{basic_string(name)}]"]
    for key, empty, what in _FIELDS:
        line = f"{key} = {empty}"
        lines.append(f"{line:<{_COMMENT_AT}}  # {what}" if what else line)
    return "\n".join(lines) + "\n"
