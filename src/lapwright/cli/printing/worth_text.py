"""What is worth trying, in words and as objects."""

import re
import textwrap
from typing import Any

from lapwright.columns import names
from lapwright.columns.advice import WORTH_TRYING
from lapwright.session import Session
from lapwright.wording.cautions import BUILD_UP

WIDTH = 79
# The blank between a number and its unit, its error bar or the other end of its range; it is held
# by a character that is in no text.
_QUANTITY = re.compile(
    r"(?<=\d) (?=(?:%|s|m|ft|km/h|mph|m/s|±)(?!\w))|(?<=±) | (?=to [+-]?\d)|(?<= to) (?=[+-]?\d)"
)
_HOLD = "\x00"


def worth_objects(session: Session) -> list[dict[str, Any]]:
    """Return the things worth trying, one object each."""
    keys = names(WORTH_TRYING, "json")
    return [{name: getattr(item, name) for name in keys} for item in session.worth_trying]


def worth_lines(session: Session) -> list[str]:
    """Say what is worth trying, with the evidence, or why nothing is; then the caution."""
    judgement = session.judgement
    lines = ["Worth trying:" if judgement.items else "Worth trying: nothing this time."]
    for number, item in enumerate(judgement.items, start=1):
        lines += wrapped(item.text, f"{number}. ")
        lines += wrapped(item.evidence, "   ")
    if judgement.remark:
        lines += wrapped(judgement.remark)
    return [*lines, *wrapped(BUILD_UP)] if len(session.passes) else lines


def wrapped(text: str, first: str = "") -> list[str]:
    """
    Break a sentence into lines of a terminal, but no number from its unit.

    Examples
    --------
    >>> wrapped("x" * 72 + " by 95 % at least")[1]
    '95 % at least'
    """
    held = _QUANTITY.sub(_HOLD, text)
    lines = textwrap.wrap(held, WIDTH, initial_indent=first, subsequent_indent=" " * len(first))
    return [line.replace(_HOLD, " ") for line in lines]
