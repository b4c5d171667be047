"""
What the notes say was tried, and at which corner.

People write as they speak ("Home Farm: earlier throttle", "T4 more minimum speed"), so an entry is
searched for corners, by number or name, and for a word of one of the codes.  Nothing is guessed: an
entry that may be read in two ways counts as not understood.  Nor is it judged which way something
was tried; the entry is kept as written instead.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying

# In this order: "apex speed" is taken out before "apex" is looked for.
_CODE_WORDS = {
    "minimum_speed": r"min(?:imum)?[ -]speed|minimum|(?:apex|corner|mid[ -]corner) speed|carry",
    "braking": r"brak",
    "throttle": r"throttle|power|accelerat|on the gas",
    "line": r"lines?\b|apex|turn[ -]?in\b",
}
# A number with a unit is no corner: "corner 4, 5 m later", "brake at the 100 board", "3rd gear".
_UNIT = (
    r"\s*(?:m|metres?|meters?|ft|feet|foot|yd|yards?|km/?h|kph|mph|m/s|s|seconds?|%|bar|psi|rpm|g"
    r"|board|marker|laps?|times|st|nd|rd|th)(?!\w)"
)
_NUMBER = rf"\d+(?!\d|\.\d|{_UNIT})"
_AND = r"\s*(?:,\s*and\b|and\b|&|\+|/)\s*"
_NUMBERS = re.compile(
    # In the plural a comma joins as well: "corners 4, 10: throttle".
    rf"\b(?:corners|turns)\s*{_NUMBER}(?:(?:{_AND}|\s*,\s*){_NUMBER})*"
    rf"|\b(?:corner|turn|t)\s*{_NUMBER}(?:{_AND}{_NUMBER})*"
    rf"|^\s*{_NUMBER}(?:(?:{_AND}|\s*,\s*){_NUMBER})*\s*(?=[:,]|$)"
)
_MEASURED = re.compile(rf"\d+(?:[.,]\d+)?{_UNIT}|\b(?:laps?|gear|set)\s*\d+(?:\s*(?:,|and)\s*\d+)*")
_DIGITS = re.compile(r"\d+")
_MENTION = re.compile(r"\x01([\d ]+)\x02")
# What may stand between two corners of one list, and beside a corner that stands alone.
_JOINING = re.compile(r"(?:[\s,:.&+/()]|\b(?:and|at|in|of|for|the|into|out|both|also)\b)*")


@dataclass(frozen=True, slots=True)
class Noted:
    """
    Something noted as tried.

    Attributes
    ----------
    item : WorthTrying
        Of the session before, or an idea of one's own, which has a corner and a code alone.
    entries : tuple of str
        What the notes say of it, as written.
    """

    item: WorthTrying
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """
    What was tried.

    Attributes
    ----------
    noted : tuple of Noted
        Items of the session before first, each once.
    left : tuple of WorthTrying
        Items of the session before that are not noted as tried.
    unclear : tuple of str
        The entries that were not understood, as written.
    """

    noted: tuple[Noted, ...]
    left: tuple[WorthTrying, ...]
    unclear: tuple[str, ...] = ()

    @property
    def items(self) -> tuple[WorthTrying, ...]:
        """What is noted as tried."""
        return tuple(one.item for one in self.noted)


def parse_tried(text: str, corners: Sequence[Corner] = ()) -> tuple[tuple[int, str | None], ...]:
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
    tuple of (int, str or None)
        Numbers of the corners as noted, which the track may not have, each with its code; None
        where nothing but the corner is named.  Empty where it cannot be told for certain.
    """
    said = _marked(" ".join(text.casefold().replace("_", " ").split()), corners)
    if _DIGITS.search(_MENTION.sub(" ", said)):
        # A number left over may be a corner: "corners 1 to 4".
        return ()
    codes = _codes_in(said)
    if len(codes) > 1:
        return _paired(said)
    if not _in_one_list(said) or (not codes and _words(said)):
        return ()
    return tuple((order, codes[0] if codes else None) for order in _orders_in(said))


def _marked(said: str, corners: Iterable[Corner]) -> str:
    """Put a mark in place of each corner, so that neither number nor name passes for more."""
    said = _NUMBERS.sub(lambda m: f"\x01{' '.join(_DIGITS.findall(m.group()))}\x02", said)
    names = {c.order: " ".join(c.given_name.casefold().split()) for c in corners}
    # The longest first: "Stile out" is not "Stile".
    for order, name in sorted(names.items(), key=lambda pair: -len(pair[1])):
        if name:
            said = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", f"\x01{order}\x02", said)
    parts = re.split(r"(\x01[\d ]+\x02)", said)
    parts[::2] = [_MEASURED.sub(" some ", part) for part in parts[::2]]
    return "".join(parts)


def _orders_in(said: str) -> tuple[int, ...]:
    """Corners marked in a text, each once."""
    found = [int(n) for mark in _MENTION.findall(said) for n in mark.split()]
    return tuple(dict.fromkeys(found))


def _codes_in(said: str) -> list[str]:
    found = []
    for code, words in _CODE_WORDS.items():
        said, count = re.subn(rf"\b(?:{words})", " ", said)
        found += [code] if count else []
    return found


def _words(said: str) -> bool:
    """Whether anything but corners is said."""
    return _JOINING.fullmatch(_MENTION.sub(" ", said)) is None


def _in_one_list(said: str) -> bool:
    """Whether the corners are those of one list, or one corner only, be it named twice."""
    marks = list(_MENTION.finditer(said))
    if len(_orders_in(said)) <= 1:
        return True
    between = [said[a.end() : b.start()] for a, b in pairwise(marks)]
    return all(_JOINING.fullmatch(part) for part in between)


def _paired(said: str) -> tuple[tuple[int, str | None], ...]:
    """Pair corners with codes by clauses, each of which must have both; else nothing."""
    pairs: list[tuple[int, str | None]] = []
    for clause in re.split(r"[,;.]|\band\b|&|\+", said):
        orders, codes = _orders_in(clause), _codes_in(clause)
        if not orders and not codes:
            continue
        if not orders or len(codes) != 1 or not _in_one_list(clause):
            return ()
        pairs += [(order, codes[0]) for order in orders]
    # One corner with two codes may be two things tried, or one said in two words.
    once = dict.fromkeys(pairs)
    return tuple(once) if len({order for order, _ in once}) == len(once) else ()


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
    texts: dict[WorthTrying, list[str]] = {}
    unclear: list[str] = []
    for entry in tried:
        pairs = parse_tried(entry, corners)
        meant = [_meant(order, code, items) for order, code in pairs if order in there]
        text = " ".join(entry.split())
        if not pairs or len(meant) < len(pairs) or not all(meant):
            unclear.append(text)
            continue
        for item in (item for one in meant for item in one):
            texts.setdefault(item, []).append(text)
    order = [*(i for i in items if i in texts), *(i for i in texts if i not in items)]
    noted = tuple(Noted(i, tuple(dict.fromkeys(texts[i]))) for i in order)
    return Tried(noted, tuple(i for i in items if i not in texts), tuple(unclear))


def _meant(order: int, code: str | None, items: Sequence[WorthTrying]) -> list[WorthTrying]:
    """Items at a corner that an entry is about, else the idea of one's own that it is."""
    found = [i for i in items if i.corner == order and code in (None, i.code)]
    return found or ([] if code is None else [WorthTrying(order, code)])
