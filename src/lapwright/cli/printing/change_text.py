"""What came of changes to the car, in the terminal and as objects."""

import math
from collections.abc import Iterable
from typing import Any

from lapwright.batch import Weekend
from lapwright.cli.printing.worth_text import wrapped
from lapwright.coaching.car_change.noted_changes import NotedChange
from lapwright.wording.coaching.before_after import (
    HEADING,
    SIMULTANEOUS,
    noted_change_sentences,
    unclear_change,
)


def change_lines(weekend: Weekend) -> list[str]:
    """Say what came of each change; nothing where none is noted."""
    if not weekend.changes and not weekend.unclear_changes:
        return []
    lines = ["", f"{HEADING}:"]
    for one in weekend.changes:
        lines += wrapped(" ".join(noted_change_sentences(one)), "- ")
    for session, entry in weekend.unclear_changes:
        lines += wrapped(unclear_change(session, entry), "- ")
    if any(one.result is not None and one.result.corners for one in weekend.changes):
        lines += wrapped(SIMULTANEOUS)
    return lines


def change_objects(changes: Iterable[NotedChange]) -> list[dict[str, Any]]:
    """Return the changes, one object each, in seconds."""
    return [_object(one) for one in changes]


def _object(one: NotedChange) -> dict[str, Any]:
    result = one.result
    known = result is not None and math.isfinite(result.low95_s)
    return {
        "changes": list(one.entries), "driver": one.driver or None, "session": one.session,
        "sessions_before": list(one.before), "sessions_after": list(one.after),
        "why_not": one.why_not or None,
        "laps_before": result.laps_before if result else 0,
        "laps_after": result.laps_after if result else 0,
        "change_s": result.change_s if result and known else None,
        "change_sd_s": result.sd_s if result and known else None,
        "change_ci95_s": [result.low95_s, result.high95_s] if result and known else None,
        "trend_told_apart": bool(result and result.told_apart),
        "more_sessions": result.more.sessions if result else None,
        "more_laps_each": result.more.laps if result else None,
        "corners": [
            {"corner": c.corner, "change_s": c.change_s, "change_sd_s": c.sd_s,
             "change_ci95_s": [c.low95_s, c.high95_s]}
            for c in (result.corners if result else ())
        ],
    }  # fmt: skip
