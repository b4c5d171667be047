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

The file belongs to its writer, so it is edited as text (`lapwright.notes.edit`): comments,
order and whatever is not understood stay, and so do its line ends.
"""

import codecs
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from lapwright.arguments import checked
from lapwright.errors import NotesError, OutputError, shown
from lapwright.notes.edit import KEY, parsed, with_worth_trying
from lapwright.notes.worth_trying_item import CODES, WorthTryingInWords
from lapwright.outputs import folder_lock, whole_file

FILE_NAME = "weekend.toml"
_TEXTS = ("driver", "car", "tyres", "conditions", "notes", "tyre_set")
_LISTS = ("changes", "tried")
_COUNTS = ("first_lap", "tyre_laps")
_NUMBERS = ("fuel_l", "track_temp_degc", "air_temp_degc")
_PRESSURES = ("pressures_cold_bar", "pressures_hot_bar")
# Above this a tyre of a car has burst: it is psi or kPa.  Common practice, no source.
_MAX_BAR = 6.0
# So often an edit is made again where somebody else writes the file at the same time.
_TIMES = 5


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
    worth_trying : tuple of WorthTryingInWords
        What the debrief of this log found worth trying next.
    other : dict
        Whatever else is in the table.
    tyre_set : str
        Name or number of the set of tyres.
    tyre_laps : int or None
        Laps it had done before.
    pressures_cold_bar, pressures_hot_bar : tuple of float or None
        Tyre pressures before the session and right after it: front left, front right, rear left,
        rear right. [bar]
    fuel_l : float or None
        In the tank at the start. [l]
    track_temp_degc, air_temp_degc : float or None
        Temperatures. [°C]

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.LogNotes(driver="Runa Tidewell", conditions="dry").driver
    'Runa Tidewell'
    """

    driver: str = ""
    car: str = ""
    tyres: str = ""
    conditions: str = ""
    notes: str = ""
    changes: tuple[str, ...] = ()
    tried: tuple[str, ...] = ()
    first_lap: int | None = None
    worth_trying: tuple[WorthTryingInWords, ...] = ()
    other: Mapping[str, Any] = field(default_factory=dict)
    tyre_set: str = ""
    tyre_laps: int | None = None
    pressures_cold_bar: tuple[float, ...] | None = None
    pressures_hot_bar: tuple[float, ...] | None = None
    fuel_l: float | None = None
    track_temp_degc: float | None = None
    air_temp_degc: float | None = None


@checked
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

    Examples
    --------
    >>> import lapwright as lw
    >>> notes = lw.read_notes("sample_sessions/weekend.toml")
    >>> notes["saturday_qualifying.gpx"].driver
    'Ivo Marlen'
    """
    path = Path(path)
    if not path.exists():
        return {}
    document = parsed(_decoded(_raw(path), path), path)
    logs = document.get("logs", {})
    if not isinstance(logs, dict) or not all(isinstance(v, dict) for v in logs.values()):
        msg = "'logs' is not made of tables"
        raise NotesError(msg, path, hint='Head each log\'s lines with [logs."FILE"]')
    return {name: _log_notes(name, table, path) for name, table in logs.items()}


def write_worth_trying(
    path: str | Path, log_name: str, items: Sequence[WorthTryingInWords]
) -> None:
    """
    Write what a log's debrief found worth trying into the weekend notes.

    Parameters
    ----------
    path : str or Path
        The notes; made where missing.
    log_name : str
        File name of the log.
    items : sequence of WorthTryingInWords
        They replace those of an earlier look at the same log, and none removes them; but not
        tables that somebody has changed or written by hand.

    Raises
    ------
    NotesError
        If the notes cannot be read or edited without loss; they are then left as they are.
    """
    edit_notes(path, lambda old: with_worth_trying(old, log_name, items, Path(path)))


def edit_notes(path: str | Path, edit: Callable[[str], str]) -> bool:
    """
    Change the text of weekend notes: whole or not at all, and nothing that another program wrote.

    Parameters
    ----------
    path : str or Path
        The notes; made where missing.
    edit : callable
        From the old text to the new one, lines ending with a line feed.  It is asked again where
        the file has changed meanwhile.

    Returns
    -------
    bool
        Whether anything was written.

    Raises
    ------
    NotesError
        If they cannot be read or written; they are then left as they are.
    """
    try:
        # A link stays a link to the file it is to.
        path = Path(path).resolve()
    except (OSError, RuntimeError) as error:
        what = "leads nowhere"
        raise NotesError(what, Path(path), hint="Look where its links lead") from error
    # Another debrief waits for this one; programs that ask nobody, such as editors, do not.
    with folder_lock(path.parent):
        for _ in range(_TIMES):
            raw = _raw(path) if path.exists() else b""
            old = _decoded(raw, path)
            new = edit(old)
            if new == old:
                return False
            new = _with_line_ends(new, raw.decode("utf-8-sig"))
            mark = codecs.BOM_UTF8 if raw.startswith(codecs.BOM_UTF8) else b""
            try:
                content = new.encode("utf-8")
            except UnicodeEncodeError as error:
                msg = f"cannot hold the name of the log {new[error.start : error.end]!a}"
                raise NotesError(msg, path, hint="Give the log a name in plain letters") from error
            if _write_whole(path, raw, mark + content):
                return True
    msg = "is being written by another program"
    raise NotesError(msg, path, hint="Close it there, or try again")


def _raw(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        msg = f"cannot be read ({error.strerror})"
        raise NotesError(msg, path) from error


def _decoded(raw: bytes, path: Path) -> str:
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        msg = "is not UTF-8 text"
        raise NotesError(msg, path, hint="Save it as UTF-8") from error


def _with_line_ends(new: str, old: str) -> str:
    """Give each line the end it had before, and new lines the end that most lines had."""
    raw = old.split("\n")
    usual = "\r\n" if 2 * old.count("\r\n") > old.count("\n") else "\n"
    # What follows the last line end has none.
    ends = ["\r\n" if line.endswith("\r") else "\n" for line in raw[:-1]] + [usual]
    lines = new.split("\n")
    out = [usual] * len(lines)
    match = SequenceMatcher(None, [line.removesuffix("\r") for line in raw], lines, autojunk=False)
    for block in match.get_matching_blocks():
        out[block.b : block.b + block.size] = ends[block.a : block.a + block.size]
    out[-1] = ""
    return "".join(f"{line}{end}" for line, end in zip(lines, out, strict=True))


def _log_notes(name: str, table: dict[str, Any], path: Path) -> LogNotes:
    rest = dict(table)
    values: dict[str, Any] = {}
    if isinstance(number := rest.get("tyre_set"), int) and not isinstance(number, bool):
        rest["tyre_set"] = str(number)
    for key in _TEXTS:
        if key in rest:
            values[key] = _of_kind(rest.pop(key), str, f"logs.{name}.{key}", "text", path)
    for key in _LISTS:
        if key in rest:
            values[key] = _texts(rest.pop(key), f"logs.{name}.{key}", path)
    for key in (*_COUNTS, *_NUMBERS, *_PRESSURES):
        # Left empty as `--init` writes it, there is nothing to it.
        if key in rest and (value := rest.pop(key)) not in ("", []):
            values[key] = _measured(key, value, f"logs.{name}.{key}", path)
    items = rest.pop(KEY, [])
    if not isinstance(items, list) or not all(isinstance(i, dict) for i in items):
        what = f"'logs.{name}.{KEY}' is not made of tables"
        raise NotesError(what, path, hint="Remove it; the debrief writes it again")
    values[KEY] = tuple(_item(i, name, path) for i in items)
    return LogNotes(**values, other=rest)


def _measured(key: str, value: Any, where: str, path: Path) -> Any:
    """A number that was read off something, or the four of the wheels."""
    listed = value if isinstance(value, list) and key in _PRESSURES else [value]
    listed = [_number_in(v) if isinstance(v, str) else v for v in listed]
    if key in _COUNTS:
        return _of_kind(listed[0], int, where, "a whole number", path)
    numbers = [float(_of_kind(v, int | float, where, "a number", path)) for v in listed]
    if not all(map(math.isfinite, numbers)):
        msg = f"'{where}' should be a number, not {shown(value)}"
        raise NotesError(msg, path)
    if key not in _PRESSURES:
        return numbers[0]
    if len(numbers) not in (1, 2, 4):
        what = f"'{where}' should be 1, 2 or 4 numbers, not {len(numbers)}"
        hint = "Write all four as [front left, front right, rear left, rear right]"
        raise NotesError(what, path, hint=hint)
    if not all(0.0 < number <= _MAX_BAR for number in numbers):
        what = f"'{where}' should be in bar, between 0 and {_MAX_BAR:g}, not {shown(value)}"
        raise NotesError(what, path, hint="1 bar is 100 kPa or 14.5 psi")
    # One for all wheels; or front and rear; or each.
    front, rear = numbers[0], numbers[-1]
    return tuple(numbers) if len(numbers) == 4 else (front, front, rear, rear)


def _number_in(text: str) -> float | int | str:
    """Return the number between quotes, with a point or a comma; text that is none as it is."""
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return text
    return int(number) if number.is_integer() else number


def _of_kind(value: Any, kind: Any, where: str, said: str, path: Path) -> Any:
    if isinstance(value, bool) or not isinstance(value, kind):
        msg = f"'{where}' should be {said}, not {shown(value)}"
        raise NotesError(msg, path)
    return value


def _texts(value: Any, where: str, path: Path) -> tuple[str, ...]:
    """A list of texts; a single text counts as a list of one, a number tried as a corner's."""
    listed = value if isinstance(value, list) else [value]
    if where.endswith(".tried"):
        numbers = [isinstance(v, int) and not isinstance(v, bool) for v in listed]
        listed = [f"corner {v}" if n else v for v, n in zip(listed, numbers, strict=True)]
    return tuple(_of_kind(v, str, where, "a list of texts", path) for v in listed)


def _item(table: dict[str, Any], name: str, path: Path) -> WorthTryingInWords:
    """An item as written by us; what a person left out of it is unknown."""
    corner, code = table.get("corner"), table.get("code")
    if isinstance(corner, bool) or not isinstance(corner, int) or code not in CODES:
        what = f"an item under 'logs.{name}.{KEY}' lacks a corner number or a code"
        raise NotesError(what, path, hint=f"Codes are {', '.join(CODES)}")
    try:
        return WorthTryingInWords.from_mapping(table)
    except (TypeError, ValueError) as error:
        msg = f"an item under 'logs.{name}.{KEY}' is odd: {error}"
        raise NotesError(msg, path) from error


def _write_whole(path: Path, before: bytes, content: bytes) -> bool:
    """Write the file whole or not at all; not where it is no longer as it was before."""
    try:
        if (path.read_bytes() if path.exists() else b"") != before:
            return False
        with whole_file(path) as part:
            part.write_bytes(content)
    except OutputError as error:
        raise NotesError(error.what, path, hint=error.hint) from error
    except OSError as error:
        msg = f"cannot be written ({error.strerror})"
        raise NotesError(msg, path) from error
    return True
