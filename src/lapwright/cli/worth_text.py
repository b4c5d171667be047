"""What is worth trying, in words and as objects."""

import textwrap
from typing import Any

from lapwright.analysis import Session

_WIDTH = 79


def worth_objects(session: Session) -> list[dict[str, Any]]:
    """Return the things worth trying, one object each."""
    return [
        {
            "corner": item.corner,
            "code": item.code,
            "text": item.text,
            "time_at_stake_s": item.time_at_stake_s,
            "time_at_stake_sd_s": item.time_at_stake_sd_s,
        }
        for item in session.worth_trying
    ]


def worth_lines(session: Session) -> list[str]:
    """Say what is worth trying, with the evidence, or why nothing is."""
    judgement = session.judgement
    lines = ["Worth trying:" if judgement.items else "Worth trying: nothing this time."]
    for number, item in enumerate(judgement.items, start=1):
        lines += wrapped(item.text, f"{number}. ")
        lines += wrapped(item.evidence, "   ")
    if judgement.remark:
        lines += wrapped(judgement.remark)
    return lines


def wrapped(text: str, first: str = "") -> list[str]:
    """Break a sentence into lines of a terminal."""
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=" " * len(first))
