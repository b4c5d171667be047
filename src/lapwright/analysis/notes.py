"""
Weekend notes: `weekend.toml` beside the logs, one table a log, everything in it optional.

::

    [logs."friday.csv"]
    driver = "..."
    conditions = "dry"
    changes = ["rear anti-roll bar one hole softer"]
    tried = ["corner 4, minimum speed"]

    [[logs."friday.csv".worth_trying]]
    corner = 4
    code = "minimum_speed"

The file belongs to its writer, so it is edited as text: tables of ours are added at the end and
replaced when the same log is looked at again; comments, order and whatever is not understood stay.
Before anything is written the new text is read back, and it must say what the old one said.
"""

import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lapwright.analysis.worth_trying_item import CODES, WorthTrying
from lapwright.errors import NotesError

FILE_NAME = "weekend.toml"
_KEY = "worth_trying"
_TEXTS = ("driver", "car", "tyres", "conditions", "notes")
_LISTS = ("changes", "tried")


@dataclass(frozen=True, slots=True)
class LogNotes:
    """
    What the notes say about one log.

    Attributes
    ----------
    driver, car, tyres, conditions, notes : str
        Empty where not noted.
    changes, tried : tuple of str
    first_lap : int or None
        Number of the first timed lap on an official sheet.
    worth_trying : tuple of WorthTrying
        What the debrief of this log found worth trying next.
    other : dict
        Whatever else is in the table.
    """

    driver: str = ""
    car: str = ""
    tyres: str = ""
    conditions: str = ""
    notes: str = ""
    changes: tuple[str, ...] = ()
    tried: tuple[str, ...] = ()
    first_lap: int | None = None
    worth_trying: tuple[WorthTrying, ...] = ()
    other: Mapping[str, Any] = field(default_factory=dict)


def read_notes(path: str | Path) -> dict[str, LogNotes]:
    """
    Read weekend notes.

    Parameters
    ----------
    path : str or Path
        A file; one that is not there says nothing.

    Returns
    -------
    dict of LogNotes
        By file name of the log, in the file's order.

    Raises
    ------
    NotesError
        If the file cannot be read, is no TOML or holds a value of the wrong kind.
    """
    path = Path(path)
    if not path.exists():
        return {}
    document = _parsed(_text(path), path)
    logs = document.get("logs", {})
    if not isinstance(logs, dict) or not all(isinstance(v, dict) for v in logs.values()):
        msg = "'logs' is not made of tables"
        raise NotesError(msg, path, hint='Head each log\'s lines with [logs."FILE"]')
    return {name: _log_notes(name, table, path) for name, table in logs.items()}


def write_worth_trying(path: str | Path, log_name: str, items: Sequence[WorthTrying]) -> None:
    """
    Write what a log's debrief found worth trying into the weekend notes.

    Parameters
    ----------
    path : str or Path
        The notes; made where missing.
    log_name : str
        File name of the log.
    items : sequence of WorthTrying
        They replace those of an earlier look at the same log; none removes them.

    Raises
    ------
    NotesError
        If the notes cannot be read or edited without loss; they are then left as they are.
    """
    path = Path(path)
    old = _text(path) if path.exists() else ""
    new = with_worth_trying(old, log_name, items, path)
    if new != old:
        _write_whole(path, new)


def with_worth_trying(
    text: str, log_name: str, items: Sequence[WorthTrying], path: Path = Path(FILE_NAME)
) -> str:
    """Return the text of weekend notes with a log's items in place of any older ones."""
    before = _parsed(text, path)
    kept = _without_tables(text, log_name)
    blocks = [_block(log_name, item) for item in items]
    # The blank line in front of tables of ours goes with them.
    new = kept if kept == text else kept.rstrip("\n") + "\n" if kept.strip() else ""
    if blocks:
        new = (kept.rstrip("\n") + "\n\n" if kept.strip() else "") + "\n".join(blocks)
    _check_same(before, new, log_name, items, path)
    return new


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except OSError as error:
        msg = f"cannot be read ({error.strerror})"
        raise NotesError(msg, path) from error
    except UnicodeDecodeError as error:
        msg = "is not UTF-8 text"
        raise NotesError(msg, path, hint="Save it as UTF-8") from error


def _parsed(text: str, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what = f"is not valid TOML: {error}"
        raise NotesError(what, path, hint="Mend the line, or move the file away") from error


def _log_notes(name: str, table: dict[str, Any], path: Path) -> LogNotes:
    rest = dict(table)
    values: dict[str, Any] = {}
    for key in _TEXTS:
        if key in rest:
            values[key] = _of_kind(rest.pop(key), str, f"logs.{name}.{key}", "text", path)
    for key in _LISTS:
        if key in rest:
            values[key] = _texts(rest.pop(key), f"logs.{name}.{key}", path)
    if "first_lap" in rest:
        where = f"logs.{name}.first_lap"
        values["first_lap"] = _of_kind(rest.pop("first_lap"), int, where, "a whole number", path)
    items = rest.pop(_KEY, [])
    if not isinstance(items, list) or not all(isinstance(i, dict) for i in items):
        what = f"'logs.{name}.{_KEY}' is not made of tables"
        raise NotesError(what, path, hint="Remove it; the debrief writes it again")
    values[_KEY] = tuple(_item(i, name, path) for i in items)
    return LogNotes(**values, other=rest)


def _of_kind(value: Any, kind: type, where: str, said: str, path: Path) -> Any:
    if isinstance(value, bool) or not isinstance(value, kind):
        msg = f"'{where}' should be {said}, not {value!r}"
        raise NotesError(msg, path)
    return value


def _texts(value: Any, where: str, path: Path) -> tuple[str, ...]:
    """A list of texts; a single text counts as a list of one."""
    listed = value if isinstance(value, list) else [value]
    return tuple(_of_kind(v, str, where, "a list of texts", path) for v in listed)


def _item(table: dict[str, Any], name: str, path: Path) -> WorthTrying:
    """An item as written by us; what a person left out of it is unknown."""
    corner, code = table.get("corner"), table.get("code")
    if isinstance(corner, bool) or not isinstance(corner, int) or code not in CODES:
        what = f"an item under 'logs.{name}.{_KEY}' lacks a corner number or a code"
        raise NotesError(what, path, hint=f"Codes are {', '.join(CODES)}")
    try:
        return WorthTrying.from_mapping(table)
    except (TypeError, ValueError) as error:
        msg = f"an item under 'logs.{name}.{_KEY}' is odd: {error}"
        raise NotesError(msg, path) from error


def _basic_string(text: str) -> str:
    """Text as a TOML basic string: quotes, backslashes and control characters escaped."""
    out = []
    for c in text:
        if c in '"\\':
            out.append("\\" + c)
        elif c < " " or c == "\x7f":
            out.append(f"\\u{ord(c):04x}")
        else:
            out.append(c)
    return '"' + "".join(out) + '"'


def _value(value: Any) -> str:
    if isinstance(value, str):
        return _basic_string(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, float):
        said = f"{value:.6g}"
        return said if "." in said or "e" in said else f"{said}.0"
    return str(value)


def _header(log_name: str) -> str:
    return f"[[logs.{_basic_string(log_name)}.{_KEY}]]"


def _block(log_name: str, item: WorthTrying) -> str:
    lines = [f"{key} = {_value(value)}" for key, value in item.as_mapping().items()]
    return "\n".join([_header(log_name), *lines, ""])


def _without_tables(text: str, log_name: str) -> str:
    """Cut out our tables of one log: from the header to the first line that is no setting."""
    out: list[str] = []
    ours = False
    for line in text.splitlines(keepends=True):
        if line.strip() == _header(log_name):
            ours = True
            continue
        if ours and line.strip() and not line.lstrip().startswith(("#", "[")):
            continue
        if ours and not line.strip():
            # The blank line that ends a table of ours was written with it.
            ours = False
            continue
        ours = False
        out.append(line)
    return "".join(out)


def _check_same(
    before: dict[str, Any], new: str, log_name: str, items: Sequence[WorthTrying], path: Path
) -> None:
    """Refuse a text that lost something, or does not read back as what was meant."""
    hint = f"Remove the entries '{_KEY}' of this log by hand, then try again"
    try:
        after = tomllib.loads(new)
        read = _log_notes(log_name, after.get("logs", {}).get(log_name, {}), path).worth_trying
    except (tomllib.TOMLDecodeError, NotesError) as error:
        msg = "cannot be edited without harm"
        raise NotesError(msg, path, hint=hint) from error
    same_items = [i.as_mapping() for i in read] == [
        WorthTrying.from_mapping(tomllib.loads(_block(log_name, i))["logs"][log_name][_KEY][0])
        .as_mapping() for i in items
    ]  # fmt: skip
    if not same_items or _rest(before, log_name) != _rest(after, log_name):
        msg = "cannot be edited without harm"
        raise NotesError(msg, path, hint=hint)


def _rest(document: dict[str, Any], log_name: str) -> dict[str, Any]:
    """Everything but a log's items; a table that held nothing else counts as not there."""
    logs = dict(document.get("logs", {}))
    table = {k: v for k, v in logs.pop(log_name, {}).items() if k != _KEY}
    if table:
        logs[log_name] = table
    rest = {k: v for k, v in document.items() if k != "logs"}
    return {**rest, "logs": logs} if logs else rest


def _write_whole(path: Path, text: str) -> None:
    """Write the file whole or not at all."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        if path.exists():
            part.chmod(path.stat().st_mode & 0o777)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        msg = f"cannot be written ({error.strerror})"
        raise NotesError(msg, path) from error
