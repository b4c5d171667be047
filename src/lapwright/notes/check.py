"""
What stands in weekend notes but is not read: a line in the wrong place or under another name.

A note that is passed over in silence looks like one that was heard, so each is named with what to
do.  Keys that are like none of ours are their writer's own and none of our business.
"""

from collections.abc import Iterable, Mapping
from dataclasses import fields
from difflib import SequenceMatcher, get_close_matches
from pathlib import Path

from lapwright.notes.edit import KEY, parsed
from lapwright.notes.weekend_notes import LogNotes, read_notes
from lapwright.notes.worth_trying_item import FILE_KEYS

_KEYS = tuple(f.name for f in fields(LogNotes) if f.name not in ("other", KEY))
_ITEM_KEYS = set(FILE_KEYS)
# The share of letters two words have in common, from which one may be the other misspelt.
_ALIKE = 0.75


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
        A sentence each.

    Raises
    ------
    NotesError
        If the file cannot be read.
    """
    path = Path(path)
    notes = read_notes(path)
    if not path.exists():
        return ()
    document = parsed(path.read_text(encoding="utf-8-sig"), path)
    said = []
    for key in _like_ours(document, (*_KEYS, "logs")):
        said.append(f'{key!r} belongs to no log; write it under a header [logs."FILE"]')
    gone = [name for name in notes if not (path.parent / name).is_file()]
    if gone:
        listed = ", ".join(f'"{name}"' for name in gone)
        said.append(f"{listed}: no such log in this folder; check the spelling of the file name")
    for name, one in notes.items():
        header = f'[logs."{name}"]'
        for key in _like_ours(one.other, _KEYS):
            said.append(f"{key!r} under {header} is not read; write {_like(key, _KEYS)!r}")
        for table in document["logs"][name].get(KEY, []):
            for key in _like_ours({k: 0 for k in table if k not in _ITEM_KEYS}, _KEYS):
                said.append(
                    f'{key!r} stands under [[logs."{name}".{KEY}]] and is not read; '
                    f"move it up to the lines under {header}, or under a header of its log"
                )
    return tuple(dict.fromkeys(said))


def _like_ours(table: Mapping[str, object], known: Iterable[str]) -> list[str]:
    """Keys of a table that may be meant as one of ours."""
    known = tuple(known)
    return [key for key in table if key != "logs" and _like(key, known)]


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
