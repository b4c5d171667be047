"""What came of a change to the car, in sentences: an interval, not a verdict."""

from collections.abc import Mapping

import numpy as np

from lapwright.coaching.car_change import BeforeAfter, MoreLaps
from lapwright.coaching.car_change.noted_changes import NotedChange
from lapwright.wording.coaching.change_words import ChangeWords

HEADING = "What came of changes to the car"
SIMULTANEOUS = (
    "A corner is named only if it stands out among all corners: its interval allows for having "
    "looked at each of them."
)
ALL_SESSIONS = (
    "The interval allows for how sessions differ by themselves. `lapwright weekend` takes all "
    "sessions into account, corner by corner, and says how many more laps would settle it."
)
_WHY_NOT = {
    "no_other_side": "There is no session without it to compare with.",
    "other_surface": (
        "There is no session without it on the same surface. Wet and dry are never compared."
    ),
    "changing": "The track was drying or getting wet during the session, so it is not compared.",
    "not_apart": "It came and went together with other changes; the laps cannot separate them.",
}
_NOT_APART = (
    "Here, what track and driver gained from one session to the next cannot be told from the change"
)
# What the two places that are shown have.
_LEAST_SAID_S = 0.005
_GO_BACK = "Going back to the old setting for a session helps most."


def before_after_sentences(
    what: str, change: BeforeAfter, names: Mapping[int, str] | None = None, *,
    brief: bool = False,
) -> list[str]:  # fmt: skip
    """
    Say what came of a change.

    Parameters
    ----------
    what : str
        For example ``"Clean laps"``.
    change : BeforeAfter
    names : mapping of int to str, optional
        Names of corners.
    brief : bool
        Leave out where it is seen and what would settle it.

    Returns
    -------
    list of str
    """
    laps = (
        f"{_laps(change.laps_before)} in {_sessions(change.sessions_before)} without it, "
        f"{_laps(change.laps_after)} in {_sessions(change.sessions_after)} with it"
    )
    if not np.isfinite(change.low95_s):
        return [f"{what}: too few to compare ({laps})."]
    words = ChangeWords()
    within = words.interval(change.low95_s, change.high95_s)
    said = [f"{what}: {words.amount(change.change_s)} (95 % interval {within}; {laps})."]
    if change.too_few:
        said.append("That is too few laps to rely on.")
    elif not change.resolved:
        said.append("So it could be nothing.")
    if brief:
        return said
    said += _corners(change, names or {})
    if not change.told_apart:
        said.append(_not_apart(change.expected_trend_s))
    return [*said, *_more(change.more)]


def _not_apart(expected_s: float) -> str:
    """Say that a trend cannot be told from the change, and what was done about it."""
    if abs(expected_s) < _LEAST_SAID_S:
        return f"{_NOT_APART}; the interval allows for it. {_GO_BACK}"
    return (
        f"{_NOT_APART}. A day gets quicker by itself, by about {abs(expected_s):.2f} s a session "
        f"here: that much was taken off, and the interval allows for more or less. {_GO_BACK}"
    )


def noted_change_sentences(
    change: NotedChange, names: Mapping[int, str] | None = None
) -> list[str]:
    """
    Say what came of a change that the notes name.

    Parameters
    ----------
    change : NotedChange
    names : mapping of int to str, optional
        Names of corners.

    Returns
    -------
    list of str
    """
    who = f", {change.driver}" if change.driver else ""
    said = [f"{'; '.join(change.entries)} (from {change.session}{who})."]
    if change.why_not:
        return [*said, _WHY_NOT[change.why_not]]
    if change.result is not None:
        said += before_after_sentences("Clean laps", change.result, names)
    if change.tyres:
        said.append(
            f"Also different: tyres ({change.tyres[0]}, then {change.tyres[1]}). The laps cannot "
            "tell which of these made the difference."
        )
    return said


def unclear_change(session: str, entry: str) -> str:
    """
    Say that an entry takes off what is not on the car.

    Examples
    --------
    >>> unclear_change("sunday", "back: softer bar")[:54]
    'sunday: "back: softer bar" was not understood: nothing'
    """
    return (
        f'{session}: "{entry}" was not understood: nothing noted as changed before it is called '
        "that. Write back: and then the change in the same words."
    )


def _corners(change: BeforeAfter, names: Mapping[int, str]) -> list[str]:
    """Name the corners in which the change is seen."""
    if not change.corners:
        return []
    words = ChangeWords()
    seen = [
        f"corner {one.corner}{f' ({names[one.corner]})' if one.corner in names else ''}, "
        f"{words.amount(one.change_s)} ({words.interval(one.low95_s, one.high95_s)})"
        for one in change.corners
        if one.resolved
    ]
    if seen:
        return [f"Seen in {'; '.join(seen)}."]
    return ["No corner on its own shows a clear difference."]


def _more(more: MoreLaps) -> list[str]:
    """Say how many more laps would settle it."""
    if more.sessions == 0:
        return []
    either = f"to {more.settle_s:g} s either way"
    if more.sessions is None:
        return [f"Even 20 more sessions like these would not narrow it {either}."]
    if more.sessions == 1:
        return [
            f"About {more.laps} more clean laps, in one session with the other setting, would "
            f"narrow it {either}."
        ]
    return [
        f"About {more.sessions * more.laps} more clean laps would narrow it {either}: "
        f"{more.sessions} sessions of {more.laps}, the other setting first, then in turn."
    ]


def _laps(count: int) -> str:
    return f"{count} lap{'' if count == 1 else 's'}"


def _sessions(count: int) -> str:
    return f"{count} session{'' if count == 1 else 's'}"
