"""
What the notes say was tried, and at which corner.

People write as they speak ("Home Farm: earlier throttle", "T4 more minimum speed"), so an entry is
searched for a corner's number or name and for a word of one of the codes.  What is not understood
is said to be so, with how to write it: an entry passed over in silence looks like a result.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lapwright.analysis.sayings import named, place
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Corner

CODE_NAMES = {
    "braking": "braking",
    "minimum_speed": "minimum speed",
    "throttle": "throttle",
    "line": "line",
}
# "apex speed" before "apex": at the same place the longer word is meant.
_CODE_WORDS = {
    "braking": r"brak",
    "minimum_speed": r"min(?:imum)?[ -]speed|minimum|(?:apex|corner|mid[ -]corner) speed|carry",
    "throttle": r"throttle|power|accelerat|on the gas",
    "line": r"lines?\b|apex|turn[ -]?in\b",
}
# "corner 4", "turns 4 and 5", "T4"; not the 5 of "corner 4 and 5 m later".
_UNIT = r"(?!\d|[.,]\d|\s*(?:m|ft|km|mph|s|%)\b)"
_NUMBERS = re.compile(
    rf"\b(?:corners?|turns?|t)\s*(\d+){_UNIT}((?:\s*(?:and|&|\+|/)\s*\d+{_UNIT})*)"
    r"|^\s*(\d+)\s*[:,]",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Tried:
    """
    What was tried.

    Attributes
    ----------
    items : tuple of WorthTrying
        Items of the session before that are noted as tried, then ideas of one's own, which have a
        corner and a code alone.
    left : tuple of WorthTrying
        Items of the session before that are not noted as tried.
    advice : str
        Which entries were not understood and how to write them; empty where all were.
    """

    items: tuple[WorthTrying, ...]
    left: tuple[WorthTrying, ...]
    advice: str = ""


def parse_tried(text: str, corners: Sequence[Corner] = ()) -> tuple[tuple[int, ...], str | None]:
    """
    Read which corners and what a note of something tried is about.

    Parameters
    ----------
    text : str
        For example ``"corner 4, minimum speed: carry more"`` or ``"Home Farm: earlier throttle"``.
    corners : sequence of Corner
        Of the track; their names are understood as well as their numbers.

    Returns
    -------
    orders : tuple of int
        Numbers of the corners as noted, which the track may not have; empty where none is named.
    code : str or None
        What the entry speaks of first; None where it does not say.
    """
    said = " ".join(text.casefold().replace("_", " ").split())
    orders: list[int] = []
    for found in _NUMBERS.finditer(said):
        orders += [int(n) for n in re.findall(r"\d+", found.group())]
    said = _NUMBERS.sub(" ", said)
    by_name, said = _named_in(said, corners)
    # Beside a number a name only says it again, or what the corner was compared with.
    return tuple(dict.fromkeys(orders or by_name)), _code_in(said)


def _named_in(said: str, corners: Iterable[Corner]) -> tuple[list[int], str]:
    """Corners named in a text, and the text without them, so that no name passes for a code."""
    found: list[tuple[int, int]] = []
    names = {c.order: " ".join(named(c).casefold().split()) for c in corners}
    # The longest first: "Stile out" is not "Stile".
    for order, name in sorted(names.items(), key=lambda pair: -len(pair[1])):
        if not name:
            continue
        pattern = re.compile(rf"(?<!\w){re.escape(name)}(?!\w)")
        found += [(match.start(), order) for match in pattern.finditer(said)]
        # Blanks of the same length, so that the places found stay true.
        said = pattern.sub(" " * len(name), said)
    return [order for _, order in sorted(found)], said


def _code_in(said: str) -> str | None:
    found = []
    for code, words in _CODE_WORDS.items():
        match = re.search(rf"\b(?:{words})", said)
        if match is not None:
            found.append((match.start(), -len(match.group()), code))
    return min(found)[2] if found else None


def what_was_tried(
    tried: Sequence[str], items: Sequence[WorthTrying], corners: Sequence[Corner]
) -> Tried:
    """
    Sort the items of the session before by what the notes of this one say was tried.

    Parameters
    ----------
    tried : sequence of str
        As noted.
    items : sequence of WorthTrying
        Of the session before.
    corners : sequence of Corner
        Of the track.

    Returns
    -------
    Tried
        Where nothing is noted, or nothing that was understood, all items are left.
    """
    there = {c.order for c in corners}
    known: list[WorthTrying] = []
    unclear: list[str] = []
    for text in tried:
        orders, code = parse_tried(text, corners)
        meant = [_meant(order, code, items) for order in orders if order in there]
        if not meant or not all(meant) or len(meant) < len(orders):
            unclear.append(text)
        known += [item for one in meant for item in one]
    listed = tuple(i for i in items if i in known)
    own = tuple(dict.fromkeys(i for i in known if i not in items))
    return Tried((*listed, *own), tuple(i for i in items if i not in known), _advice(unclear))


def _meant(order: int, code: str | None, items: Sequence[WorthTrying]) -> list[WorthTrying]:
    """Items at a corner that an entry is about, else the idea of one's own that it is."""
    found = [i for i in items if i.corner == order and code in (None, i.code)]
    return found or ([] if code is None else [WorthTrying(order, code)])


def _advice(unclear: Sequence[str]) -> str:
    if not unclear:
        return ""
    listed = ", ".join(f'"{" ".join(text.split())}"' for text in unclear)
    what = ", ".join(CODE_NAMES.values())
    return (
        f"Not understood under 'tried': {listed}. Write a corner of this circuit, by number or "
        f'name, and one of {what}: "corner 4, minimum speed".'
    )


def not_tried_text(left: Sequence[WorthTrying], corners: Sequence[Corner]) -> str:
    """Say in one sentence which items are not noted as tried."""
    where = {c.order: place(c) for c in corners}
    listed = []
    for item in left:
        said = where.get(item.corner, f"Corner {item.corner}")
        listed.append(f"{said[0].lower()}{said[1:]}, {CODE_NAMES[item.code]}")
    return f"Not noted as tried: {'; '.join(listed)}."
