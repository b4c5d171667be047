"""What came of a thing that was tried, or worth trying: the change at its corner, in words."""

from collections.abc import Sequence

import numpy as np

from lapwright.arguments import checked
from lapwright.coaching.before_after import Difference
from lapwright.coaching.follow_up import FollowUp
from lapwright.geometry import Corner, Track
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units
from lapwright.wording.coaching.change_words import ChangeWords
from lapwright.wording.terms import corner_with_name, sentence

CODE_NAMES = {
    "braking": "braking",
    "minimum_speed": "minimum speed",
    "throttle": "throttle",
    "line": "line",
}


def quoted(entries: Sequence[str]) -> str:
    """
    Quote what somebody noted.

    Examples
    --------
    >>> quoted(("corner 4", "T4: line"))
    '"corner 4"; "T4: line"'
    """
    return "; ".join(f'"{" ".join(entry.split())}"' for entry in entries)


def what_and_where(item: WorthTrying, corners: Sequence[Corner]) -> str:
    """Say what an item is about and at which corner, such as ``line at corner 4 (Stile)``."""
    names = {c.order: c.name for c in corners}
    where = corner_with_name(item.corner, names.get(item.corner, ""))
    return f"{CODE_NAMES[item.code]} at {where[0].lower()}{where[1:]}"


def not_understood(unclear: Sequence[str], corners: Sequence[Corner] = ()) -> str:
    """Say which entries under ``tried`` were not understood and how to write them; or nothing."""
    if not unclear:
        return ""
    listed = ", ".join(f'"{text}"' for text in unclear)
    what = ", ".join(CODE_NAMES.values())
    digits = next((c for c in corners if c.given_name.isdecimal()), None)
    either = (
        ""
        if digits is None
        else f' Corner {digits.order} is called "{digits.name}": "corner {digits.order} now" goes '
        "by the number, and another name in the track file ends the doubt."
    )
    return (
        f"Not understood under 'tried': {listed}. Write one entry for each corner of this circuit, "
        f'by number or name, and one of {what}: "corner 4, minimum speed".{either}'
    )


@checked
def follow_up_text(one: FollowUp, track: Track, units: Units | str = "km/h") -> str:
    """
    Say what came of an item: of one that was noted in full, of another in short.

    Parameters
    ----------
    one : FollowUp
    track : Track
        For the names of its corners.
    units : Units or str
        Like ``"mph,ft"``.

    Returns
    -------
    str

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> (came,) = lw.what_came_of_it(session, session, [lw.WorthTrying(1, "minimum_speed")])
    >>> lw.follow_up_text(came, session.track, "mph").split(":")[1]
    ' minimum speed at corner 1 (Gatehouse)'
    """
    what, time = what_and_where(one.item, track.corners), one.time
    changed = _feature_text(one.item.code, one.feature, Units.parse(str(units)))
    changed += "; " if changed else ""
    rest = _rest_text(one.against_rest)
    if not one.noted:
        return f"Suggested last time, not noted as tried: {what}: {changed}{rest}"
    laps = f"{time.count_before} clean laps then, {time.count_after} now"
    return (
        f"You noted: {quoted(one.entries)}. {sentence(what)}: {changed}braking zone to next "
        f"braking zone: {time.before:.2f} s before, {time.after:.2f} s now ({laps}). "
        f"{sentence(rest)}"
    )


def _rest_text(rest: Difference) -> str:
    if not np.isfinite(rest.low95):
        return "too few laps to judge the time."
    said = f"allowing for how the rest of the lap changed: {ChangeWords().with_interval(rest)}"
    if rest.too_few:
        return f"{said}; too few laps to rely on."
    return f"{said}." if rest.resolved else f"{said}, so it could be nothing."


def _feature_text(code: str, feature: Difference, units: Units) -> str:
    if not np.isfinite(feature.difference):
        return ""
    metre, mps, same = units.distance_of(1.0), units.speed_of(1.0), "at the same place"
    words = {
        "braking": ChangeWords(units.distance, "earlier", "later", same, 0, metre),
        "throttle": ChangeWords(units.distance, "earlier", "later", same, 0, metre),
        "line": ChangeWords(units.distance, "farther right", "farther left", same, 1, metre),
        "minimum_speed": ChangeWords(units.speed, "lower", "higher", "as high", 1, mps),
    }[code]
    if not np.isfinite(feature.low95):
        said = f"{words.amount(feature.difference)}, from too few laps to judge by"
    elif feature.resolved:
        said = f"on average {words.with_interval(feature)}"
    else:
        within = words.interval(feature.low95, feature.high95)
        said = f"no difference shown (95 % interval {within})"
    if code == "minimum_speed":
        before, after = (units.speed_of(v) for v in (feature.before, feature.after))
        said += f", {before:.1f} {units.speed} before, {after:.1f} {units.speed} now"
    return f"at the apex {said}" if code == "line" else said
