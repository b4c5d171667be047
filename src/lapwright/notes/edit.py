"""
Editing weekend notes as text, so that nothing of what their writer wrote is ever lost.

A table of ours carries a check sum of itself.  As soon as somebody has added a line, a comment or
another word to it, it is theirs and stays.  Tables of ours are
replaced where they stand, because the order of the file may be the order of the sessions.  Before
a text is returned it is read back: it must say what the old one said, and the new items.
"""

import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from lapwright.errors import NotesError
from lapwright.escaping.toml import basic_string
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.toml_text import TomlError, toml_of

KEY = "worth_trying"
_BY = "  # by the debrief, "
_HINT = f"Remove the entries '{KEY}' of this log by hand, then try again"
_BRACES = (
    'Write this log\'s lines under a header [logs."FILE"] of its own, neither in braces nor with '
    "dotted keys"
)


def parsed(text: str, path: Path) -> dict[str, Any]:
    """
    Read TOML.

    Raises
    ------
    NotesError
        If it is none.
    """
    try:
        return toml_of(text)
    except TomlError as error:
        what = f"is not valid TOML: {error}"
        raise NotesError(what, path, hint="Fix the line, or move the file away") from error


def with_worth_trying(
    text: str, log_name: str, items: Sequence[WorthTryingInWords], path: Path
) -> str:
    """
    Return the text of weekend notes with a log's items in place of those written before.

    Parameters
    ----------
    text : str
        Lines end with a line feed.
    log_name : str
        File name of the log.
    items : sequence of WorthTryingInWords
        One whose corner and code are in a table that is not ours is left out.
    path : Path
        For messages.

    Returns
    -------
    str

    Raises
    ------
    NotesError
        If the text is no TOML, or cannot be edited without loss.
    """
    before = parsed(text, path)
    lines = text.split("\n")
    starts = _ours(lines, log_name)
    kept, place, blank = _without(lines, starts)
    try:
        theirs = _items(toml_of("\n".join(kept)), log_name)
    except TomlError as error:
        msg = "cannot be edited without harm"
        raise NotesError(msg, path, hint=_HINT) from error
    taken = {(t.get("corner"), t.get("code")) for t in theirs if isinstance(t, dict)}
    added = [_block(log_name, i) for i in items if (i.corner, i.code) not in taken]
    new = _with_blocks(kept, added, place, blank=blank)
    removed = ["\n".join(lines[i : _end(lines, i)]) + "\n" for i in starts]
    _check_same(before, new, log_name, (removed, added), path)
    return new


def _ours(lines: list[str], log_name: str) -> list[int]:
    """First lines of the tables of ours for a log."""
    header = _header(log_name)
    return [
        i
        for i, line in enumerate(lines)
        if line.startswith(header)
        and _as_written("\n".join(lines[i : _end(lines, i)]) + "\n", log_name)
        and _ends(lines[_end(lines, i) :])
    ]


def _end(lines: list[str], start: int) -> int:
    """
    Return the line after a table that begins with a header.

    Tables have more lines than those of older versions, so they end where the text does it:
    at a blank line, a comment or another header.
    """
    end = start + 1
    while end < len(lines) and lines[end].strip() and lines[end].lstrip()[0] not in "#[":
        end += 1
    return end


def _as_written(block: str, log_name: str) -> bool:
    """Whether a table is as it was written, by the check sum behind its header."""
    header, _, said = block.partition("\n")
    return header == f"{_header(log_name)}{_BY}{zlib.crc32(said.encode()):08x}"


def _ends(rest: list[str]) -> bool:
    """Whether a table ends before these lines; blank lines and comments do not end one."""
    said = (line.strip() for line in rest)
    return next((s for s in said if s and not s.startswith("#")), "[").startswith("[")


def _without(lines: list[str], starts: list[int]) -> tuple[list[str], int | None, bool]:
    """Cut tables out, with the blank line before each; where the first was, if it had one."""
    cut: set[int] = set()
    for i in starts:
        cut.update(range(i, _end(lines, i)))
        if i and not lines[i - 1].strip():
            cut.add(i - 1)
    kept = [line for i, line in enumerate(lines) if i not in cut]
    if not starts:
        return kept, None, False
    blank = starts[0] - 1 in cut
    return kept, starts[0] - blank, blank


def _with_blocks(kept: list[str], blocks: list[str], place: int | None, *, blank: bool) -> str:
    text = "\n".join(kept)
    if not blocks:
        return text
    if place is None:
        return (text.rstrip("\n") + "\n\n" if text.strip() else "") + "\n".join(blocks)
    said = "\n".join(blocks).removesuffix("\n").split("\n")
    return "\n".join([*kept[:place], *([""] if blank else []), *said, *kept[place:]])


def _check_same(
    before: dict[str, Any], new: str, log_name: str, change: tuple[list[str], list[str]], path: Path
) -> None:
    """Refuse a text that lost something, or does not read back as what was meant."""
    msg = "cannot be edited without harm"
    # Where nothing of ours is there yet, only the shape of the table can stand in the way.
    hint = _HINT if KEY in _table(before, log_name) else _BRACES
    try:
        after = toml_of(new)
        removed, added = (
            [t for block in blocks for t in _items(toml_of(block), log_name)] for blocks in change
        )
    except TomlError as error:
        raise NotesError(msg, path, hint=hint) from error
    same_items = _sorted(_items(before, log_name), added) == _sorted(
        _items(after, log_name), removed
    )
    if not same_items or _rest(before, log_name) != _rest(after, log_name):
        raise NotesError(msg, path, hint=_HINT)


def _sorted(*lists: list[Any]) -> list[str]:
    return sorted(repr(entry) for entries in lists for entry in entries)


def _table(document: dict[str, Any], log_name: str) -> dict[str, Any]:
    logs = document.get("logs", {})
    table = logs.get(log_name, {}) if isinstance(logs, dict) else {}
    return table if isinstance(table, dict) else {}


def _items(document: dict[str, Any], log_name: str) -> list[Any]:
    """A log's items as they stand there; anything else in their place is not ours to judge."""
    listed = _table(document, log_name).get(KEY, [])
    return listed if isinstance(listed, list) else [listed]


def _rest(document: dict[str, Any], log_name: str) -> dict[str, Any]:
    """Everything but a log's items; a table that held nothing else counts as not there."""
    logs = document.get("logs", {})
    if not isinstance(logs, dict) or not isinstance(logs.get(log_name, {}), dict):
        return document
    logs = dict(logs)
    table = {k: v for k, v in logs.pop(log_name, {}).items() if k != KEY}
    if table:
        logs[log_name] = table
    rest = {k: v for k, v in document.items() if k != "logs"}
    return {**rest, "logs": logs} if logs else rest


def _value(value: Any, key: str = "") -> str:
    if isinstance(value, str):
        return basic_string(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, float):
        # Seven decimals of a degree are a centimetre.
        said = f"{value:.7f}" if key.endswith("_deg") else f"{value:.6g}"
        return said if "." in said or "e" in said else f"{said}.0"
    return str(value)


def _header(log_name: str) -> str:
    return f"[[logs.{basic_string(log_name)}.{KEY}]]"


def _block(log_name: str, item: WorthTryingInWords) -> str:
    lines = [f"{key} = {_value(value, key)}" for key, value in item.as_mapping().items()]
    said = "\n".join([*lines, ""])
    return f"{_header(log_name)}{_BY}{zlib.crc32(said.encode()):08x}\n{said}"
