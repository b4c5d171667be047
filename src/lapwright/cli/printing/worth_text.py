"""What is worth trying, in words and as objects."""

import re
import textwrap
from typing import Any

from lapwright.cli.printing.terminal import shown
from lapwright.columns import names
from lapwright.columns.advice import WORTH_TRYING
from lapwright.wording.cautions import BUILD_UP
from lapwright.wording.coaching.worth_trying import Advice

WIDTH = 79
_LONGEST_LEAD = 40
# The blank between a number and its unit, its error bar or the other end of its range; it is held
# by a character that is in no text.
_QUANTITY = re.compile(
    r"(?<=\d) (?=(?:%|s|m|ft|km/h|mph|m/s|±|\+-)(?!\w))|(?<=±) |(?<=\+-) "
    r"| (?=to [+-]?\d)|(?<= to) (?=[+-]?\d)"
)
_HOLD = "\x00"


def worth_objects(advice: Advice) -> list[dict[str, Any]]:
    """Return the things worth trying, one object each."""
    keys = names(WORTH_TRYING, "json")
    return [{name: getattr(item, name) for name in keys} for item in advice.items]


def worth_lines(advice: Advice, *, passes: bool) -> list[str]:
    """Say what is worth trying, with the evidence, or why nothing is; with passes, the caution."""
    lines = ["Worth trying:" if advice.items else "Worth trying: nothing this time."]
    for number, item in enumerate(advice.items, start=1):
        lines += wrapped(item.text, f"{number}. ")
        lines += wrapped(item.evidence, "   ")
    if advice.remark:
        lines += wrapped(advice.remark)
    return [*lines, *wrapped(BUILD_UP)] if passes else lines


def wrapped(text: str, first: str = "") -> list[str]:
    """
    Break a sentence into lines of a terminal, but no number from its unit.

    Examples
    --------
    >>> wrapped("x" * 72 + " by 95 % at least")[1]
    '95 % at least'
    """
    held = _QUANTITY.sub(_HOLD, shown(text))
    first = shown(first)
    indent = len(first)
    if indent > _LONGEST_LEAD:
        # A long name is part of the sentence; behind it there would be no room for one.
        held, first, indent = first + held, "", 2
    lines = textwrap.wrap(held, WIDTH, initial_indent=first, subsequent_indent=" " * indent)
    return [line.replace(_HOLD, " ") for line in lines]
