"""Numbers as they were shown, read back from text, and held against the ones they stand for."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

DASHES = ("–", "-", "")
_NUMBER = r"[+−-]?\d+(?::\d\d)*(?:\.\d+)?"
_PAIR = rf"({_NUMBER})(?: ± ?(<?)(\d+(?:\.\d+)?))?"
# Within a sentence a hyphen or a letter before a digit makes it part of a word.
_IN_TEXT = re.compile(rf"(?<![\w.:-]){_PAIR}")
# Sums of many floats differ in their last digits from the same sums in another order.
_DUST = 1e-9


@dataclass(frozen=True)
class Shown:
    """One number as shown: value, digits after the point, error bar (None where there is none)."""

    text: str
    value: float
    decimals: int
    sd: float | None = None
    sd_decimals: int = 0
    below: bool = False


def read(text: str) -> Shown | None:
    """Read a cell: ``3.692 ± 0.016``, ``1:35.202``, ``−0.4``; None for anything else."""
    found = re.fullmatch(_PAIR, text.strip())
    return None if found is None else _shown(found)


def numbers_in(text: str, labels: Mapping[str, str] | None = None) -> list[Shown | str]:
    """Read the numbers of a sentence in order; each label (a name) in it gives its own word."""
    for label in sorted(labels or {}, key=len, reverse=True):
        text = text.replace(label, f" \x01{(labels or {})[label]}\x02 ")
    out: list[Shown | str] = []
    for part in re.split("(\x01.*?\x02)", text):
        if part.startswith("\x01"):
            word = part.strip("\x01\x02")
            out += [word] if word else []
        else:
            out += [_shown(found) for found in _IN_TEXT.finditer(part)]
    return out


def _shown(found: "re.Match[str]") -> Shown:
    whole, below, sd = found.groups()
    value, decimals = _number(whole)
    if sd is None:
        return Shown(found[0], value, decimals)
    bar, digits = _number(sd)
    return Shown(found[0], value, decimals, bar, digits, bool(below))


def _number(text: str) -> tuple[float, int]:
    text = text.replace("−", "-")
    sign = -1.0 if text.startswith("-") else 1.0
    value = 0.0
    for part in text.lstrip("+-").split(":"):
        value = 60.0 * value + float(part)
    return sign * value, len(text.partition(".")[2])


def digits(sd: float, most: int) -> int:
    """Digits after the point: an error bar has one that counts, or two where the first is a 1."""
    if not (math.isfinite(sd) and sd > 0.0):
        return most
    lead, power = f"{sd:.1e}".split("e")
    return min(max((2 if lead < "2" else 1) - 1 - int(power), 0), most)


@dataclass(frozen=True)
class True_:
    """
    A number that should be shown.

    `sd` is the error bar that stands beside it or sets its digits; `bar` says whether it stands
    there; `most` is the most digits after the point; `slack` the units of the last digit by which
    a number rounded on purpose to one side may be off.
    """

    value: float
    sd: float = math.nan
    most: int = 0
    bar: bool = False
    slack: float = 0.5


def exact(value: float) -> True_:
    """Return a whole number: a lap, a count."""
    return True_(float(value))


def pair(value: float, sd: float, most: int = 3) -> True_:
    """Return a number with its error bar beside it."""
    return True_(value, sd, most, bar=True)


def wrong(shown: "Shown | str", true: True_) -> str:
    """Say what is wrong with a number shown; empty where nothing is."""
    if isinstance(shown, str):
        if not math.isfinite(true.value):
            return "" if shown.strip() in DASHES else f"{shown!r} where there is no number"
        known = read(shown)
        if known is None:
            return f"{shown!r} where {true.value} belongs"
        shown = known
    if not math.isfinite(true.value):
        return f"{shown.text!r} where there is no number"
    expected = digits(true.sd, true.most)
    if true.bar and not math.isfinite(true.sd):
        expected = min(true.most, 1)
    if shown.decimals != expected:
        return f"{shown.text!r} has {shown.decimals} decimals, not {expected}, for {true}"
    if abs(shown.value - true.value) > true.slack * 10.0**-shown.decimals + _DUST:
        return f"{shown.text!r} for {true.value}"
    return _bar_wrong(shown, true, expected)


def _bar_wrong(shown: Shown, true: True_, decimals: int) -> str:
    if not (true.bar and math.isfinite(true.sd) and true.sd > 0.0):
        return "" if shown.sd is None else f"{shown.text!r} has an error bar of its own"
    if shown.sd is None:
        return f"{shown.text!r} lacks its error bar {true.sd}"
    half = 0.5 * 10.0**-decimals
    if shown.sd_decimals != decimals:
        return f"{shown.text!r}: the digits of value and error bar differ"
    good = true.sd <= half + _DUST if shown.below else abs(shown.sd - true.sd) <= half + _DUST
    return "" if good else f"{shown.text!r} for an error bar of {true.sd}"


def all_wrong(
    shown: Iterable["Shown | str"], true: Iterable["True_ | str"], where: object = ""
) -> list[str]:
    """Say what is wrong with numbers shown one after the other; words must be the same."""
    shown, true = list(shown), list(true)
    if len(shown) != len(true):
        texts = [s if isinstance(s, str) else s.text for s in shown]
        return [f"{where}: {len(shown)} shown, {len(true)} there are: {texts} for {true}"]
    out = []
    for k, (a, b) in enumerate(zip(shown, true, strict=True)):
        if isinstance(b, str):
            said = "" if a == b else f"{a!r} where {b!r} belongs"
        else:
            said = wrong(a, b)
        out += [f"{where} [{k}]: {said}"] if said else []
    return out
