"""
What the notes say was tried, and at which corner.

People write as they speak ("Home Farm: earlier throttle", "T4 more minimum speed"), so an entry is
searched for corners, by number or name, and for a word of one of the codes.  Nothing is guessed: an
entry that may be read in two ways counts as not understood.  Nor is it judged which way something
was tried; the entry is kept as written instead.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
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
# Behind a number: that of today, also where the session before had another corner of it.
_NOW = re.compile(r"(?<=\d) (?:now|today)(?!\w)")
# A number left over in the text makes an entry unclear; so does this one.
_UNSURE = "0"
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
    doubtful : tuple of (str, int)
        Entries with a number in them that is, or may be, another corner than it was in the
        session before.
    """

    noted: tuple[Noted, ...]
    left: tuple[WorthTrying, ...]
    unclear: tuple[str, ...] = ()
    doubtful: tuple[tuple[str, int], ...] = ()

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
    said = _marked(_plain(text), corners)
    if _DIGITS.search(_MENTION.sub(" ", said)):
        # A number left over may be a corner: "corners 1 to 4".
        return ()
    codes = _codes_in(said)
    if len(codes) > 1:
        return _paired(said)
    if not _in_one_list(said) or (not codes and _words(said)):
        return ()
    return tuple((order, codes[0] if codes else None) for order in _orders_in(said))


def _plain(text: str) -> str:
    """Small letters, and one blank between words."""
    return " ".join(text.casefold().replace("_", " ").split())


def _marked(said: str, corners: Iterable[Corner]) -> str:
    """Put a mark in place of each corner, so that neither number nor name passes for more."""
    by_number = _NOW.search(said) is not None
    said = _NOW.sub("", said)
    names = {" ".join(c.given_name.casefold().split()): c.order for c in corners}
    # The longest first: "Stile out" is not "Stile".
    listed = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True) if name)
    name = rf"(?<!\w)(?P<name>{listed})(?!\w)" if listed else r"(?P<name>(?!))"

    def mark(found: re.Match[str]) -> str:
        if found["name"] is not None:
            return f"\x01{names[found['name']]}\x02"
        numbers = _DIGITS.findall(found.group())
        # A number that another corner has for its name may be either.
        either = not by_number and any(n in names and names[n] != int(n) for n in numbers)
        return f" {_UNSURE} " if either else f"\x01{' '.join(numbers)}\x02"

    # In one pass: a name that is a number must not be looked for in what stands for another.
    said = re.sub(rf"{_NUMBERS.pattern}|{name}", mark, said)
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
    tried: Sequence[str], items: Sequence[WorthTrying], corners: Sequence[Corner],
    numbers_then: Mapping[int, int | None] | None = None,
) -> Tried:  # fmt: skip
    """
    Sort the items of the session before by what the notes of this one say was tried.

    Parameters
    ----------
    tried : sequence of str
        As noted.
    items : sequence of WorthTrying
        Of the session before, with the numbers their corners have on this track.
    corners : sequence of Corner
        Of the track.
    numbers_then : mapping of int to (int or None), optional
        Numbers that were another corner in the session before, and which these are today; see
        `lapwright.coaching.corners_then`.

    Returns
    -------
    Tried
        Where nothing is noted, or nothing that was understood, all items are left.  An item that
        an entry may mean or not is in neither part.
    """
    became = numbers_then or {}
    doubtful: list[tuple[str, int]] = []
    maybe: set[int | None] = set()
    there = {c.order for c in corners}
    texts: dict[WorthTrying, list[str]] = {}
    unclear: list[str] = []
    for entry in tried:
        pairs = parse_tried(entry, corners)
        text = " ".join(entry.split())
        unsure = _doubtful(entry, pairs, items, corners, became)
        if unsure:
            doubtful += [(text, order) for order in unsure]
            maybe |= {*unsure, *(became.get(order) for order in unsure)}
            continue
        meant = [_meant(order, code, items) for order, code in pairs if order in there]
        if not pairs or len(meant) < len(pairs) or not all(meant):
            unclear.append(text)
            continue
        for item in (item for one in meant for item in one):
            texts.setdefault(item, []).append(text)
    order = [*(i for i in items if i in texts), *(i for i in texts if i not in items)]
    noted = tuple(Noted(i, tuple(dict.fromkeys(texts[i]))) for i in order)
    left = tuple(i for i in items if i not in texts and i.corner not in maybe)
    return Tried(noted, left, tuple(unclear), tuple(doubtful))


def _doubtful(
    entry: str, pairs: Sequence[tuple[int, str | None]], items: Sequence[WorthTrying],
    corners: Sequence[Corner], numbers_then: Mapping[int, int | None],
) -> list[int]:  # fmt: skip
    """
    Return the numbers in an entry that may be those of then, unless it says that they are of now.

    Where one corner has another number than then, any other may have; but not one at which
    something was noted with its place, so that number and place agree.
    """
    said = _plain(entry)
    if not numbers_then or _NOW.search(said):
        return []
    agree = {i.corner for i in items if i.place_deg is not None} - set(numbers_then)
    # What is called by its name has no number that could be an old one.
    by_name = {order for order, _ in parse_tried(_NUMBERS.sub(" ", said), corners)}
    return [order for order, _ in pairs if order not in by_name | agree]


def _meant(order: int, code: str | None, items: Sequence[WorthTrying]) -> list[WorthTrying]:
    """Items at a corner that an entry is about, else the idea of one's own that it is."""
    found = [i for i in items if i.corner == order and code in (None, i.code)]
    return found or ([] if code is None else [WorthTrying(order, code)])
