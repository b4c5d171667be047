"""
What stands in weekend notes but is not read: a line in the wrong place or under another name.

A note that is passed over in silence looks like one that was heard, so each is named with what to
do.  Keys that are like none of ours are their writer's own and none of our business.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import fields
from difflib import SequenceMatcher, get_close_matches
from pathlib import Path

from lapwright.errors import one_line, shown
from lapwright.ingest.archive import is_there
from lapwright.notes.edit import KEY, parsed
from lapwright.notes.limits import LIMITS_KEY
from lapwright.notes.time_zone import ZONE_KEY
from lapwright.notes.weekend_notes import LogNotes, read_notes
from lapwright.notes.worth_trying_item import FILE_KEYS

_KEYS = tuple(f.name for f in fields(LogNotes) if f.name not in ("other", KEY))
_ITEM_KEYS = set(FILE_KEYS)
# Of the whole file.
FILE_KEYS_AT_TOP = ("logs", ZONE_KEY, LIMITS_KEY)
# The share of letters two words have in common, from which one may be the other misspelt.
_ALIKE = 0.75
# Letters of a sentence: file names may be as long and as strange as they like.
_MOST = 2_000


def notes_oddities(path: str | Path) -> tuple[str, ...]:
    """
    Say what of weekend notes is not read.

    Parameters
    ----------
    path : str or Path
        The notes, beside the logs; a file that is not there has nothing odd.

    Returns
    -------
    tuple of str
        A sentence each, which begins with the file and, where it is known, the line.

    Raises
    ------
    NotesError
        If the file cannot be read.
    """
    path = Path(path)
    notes = read_notes(path)
    if not path.exists():
        return ()
    text = path.read_text(encoding="utf-8-sig")
    document, lines = parsed(text, path), text.splitlines()
    said: dict[str, None] = {}

    def add(what: str, key: str, header: str = "") -> None:
        number = _line_of(lines, key, header)
        where = f"{path.name}{'' if number is None else f':{number}'}"
        said[one_line(f"{where}: {what}.", _MOST)] = None

    for key in _like_ours(document, (*_KEYS, *FILE_KEYS_AT_TOP)):
        meant = _like(key, FILE_KEYS_AT_TOP)
        if meant:
            add(f"{shown(key)} is not read; write {meant!r}", key)
        else:
            add(f'{shown(key)} belongs to no log; write it under a header [logs."FILE"]', key)
    gone = [name for name in notes if not is_there(path.parent / name)]
    if gone:
        listed = ", ".join(f'"{name}"' for name in gone)
        what = f"{listed}: no such log in this folder; check the spelling of the file name"
        add(what, "", _header(gone[0]))
    for name, one in notes.items():
        header = _header(name)
        if LIMITS_KEY in one.other:
            what = f"{LIMITS_KEY!r} under {header} is not read; limits are for the whole file"
            add(f"{what}: write [{LIMITS_KEY}]", LIMITS_KEY, header)
        for key in _like_ours(one.other, (*_KEYS, *FILE_KEYS_AT_TOP)):
            meant = _like(key, (*_KEYS, *FILE_KEYS_AT_TOP))
            add(f"{shown(key)} under {header} is not read; write {meant!r}", key, header)
        for table in document["logs"][name].get(KEY, []):
            for key in _like_ours({k: 0 for k in table if k not in _ITEM_KEYS}, _KEYS):
                inner = f'[[logs."{name}".{KEY}]]'
                what = (
                    f"{shown(key)} stands under {inner} and is not read; "
                    f"move it up to the lines under {header}, or under a header of its log"
                )
                add(what, key, inner)
    return tuple(said)


def _header(name: str) -> str:
    return f'[logs."{name}"]'


def _line_of(lines: list[str], key: str, header: str) -> int | None:
    """
    Line of a key below a header, or of the header itself, from 1.

    None where the file is written in another way than line by line: the sentence does without.
    """
    here, at = header == "", re.compile(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=")
    for number, line in enumerate(lines, start=1):
        bare = re.sub(r"\s", "", line)
        if bare.startswith("["):
            here = bare.startswith(re.sub(r"\s", "", header)) if header else False
            # A table of its own: [log."a.csv"].
            own = not header and bare.startswith((f"[{key}.", f"[{key}]"))
            if own or (here and not key):
                return number
        elif here and key and at.match(line):
            return number
    return None


def _like_ours(table: Mapping[str, object], known: Iterable[str]) -> list[str]:
    """Keys of a table that may be meant as one of ours, and are none that is read as it is."""
    known = tuple(known)
    return [key for key in table if key not in FILE_KEYS_AT_TOP and _like(key, known)]


def _like(key: str, known: Iterable[str]) -> str:
    found = get_close_matches(key.casefold().replace("-", "_"), list(known), 1, _ALIKE)
    return found[0] if found else ""


def maybe_one_name(one: str, other: str) -> bool:
    """
    Whether two names that differ may be one name, written in two ways.

    Examples
    --------
    >>> maybe_one_name("Runa Tidewell", "Runa Tidewel"), maybe_one_name("Runa Tidewell", "Runa")
    (True, True)
    >>> maybe_one_name("Runa Tidewell", "Ivo Marlen"), maybe_one_name("Runa", " runa")
    (False, False)
    """
    words = [" ".join(name.casefold().split()).split() for name in (one, other)]
    if not all(words) or words[0] == words[1]:
        return False
    if set(words[0]) <= set(words[1]) or set(words[1]) <= set(words[0]):
        return True
    ratio: float = SequenceMatcher(None, " ".join(words[0]), " ".join(words[1])).ratio()
    return ratio >= _ALIKE
