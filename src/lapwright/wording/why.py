"""
Why one lap beats another, in words: a sentence a corner, no sharper than its numbers.

What is smaller than its error bar allows is called equal, and is never a reason.
"""

from collections.abc import Callable, Sequence

from lapwright.corners.why import ONLY_ONE_BRAKED, Apart, Carried, Why
from lapwright.geometry import Track
from lapwright.units import EQUAL_SD, Units, error_bar, number
from lapwright.wording.heads import PLUS_MINUS_SIGN, described, shown_in
from lapwright.wording.terms import FROM_LINE_TITLE, corner_in_text, sentence

# Where a cause is at work, as a sentence has it.
WHERE = {
    "braking": "on the brakes",
    "minimum": "around the slowest point",
    "exit": "from the slowest point to the exit",
    "straight": "on the straight after it",
}
_CARRIED_FROM = {
    "minimum": "at the slowest point of",
    "exit": "at the exit of",
    "straight": "on the straight behind",
}
_NOTHING_DONE = "nothing in the corner: a lift, traffic or top speed"
_AT_THE_LINE = "brought over the line or on the way to corner 1"
# What each difference is called, where it is above nothing and where it is below.
_WORDS: dict[str, tuple[str, str, str]] = {
    "brake_to_corner_m": ("on", "earlier", "later"),
    "peak_decel_mps2": ("", "harder", "softer"),
    "min_speed_mps": ("minimum speed", "higher", "lower"),
    "throttle_station_m": ("throttle", "later", "earlier"),
    "exit_speed_mps": ("exit speed", "higher", "lower"),
}
_SAME = {
    "brake_to_corner_m": "on at the same place",
    "peak_decel_mps2": "as hard",
    "min_speed_mps": "the same minimum speed",
    "throttle_station_m": "throttle at the same place",
    "exit_speed_mps": "the same exit speed",
}
_LINE_AT = {"turn_in_offset_m": "turn-in", "apex_offset_m": "the apex", "exit_offset_m": "the exit"}


def corner_why(one: Why, names: Callable[[int], str], units: Units) -> str:
    """
    Say in a sentence what cost the time in a corner.

    Parameters
    ----------
    one : Why
    names : callable
        The name of a corner by its number; see `corner_names`.
    units : Units

    Returns
    -------
    str

    Examples
    --------
    >>> from lapwright.corners.why import Apart, Why
    >>> earlier = Apart("brake_to_corner_m", 9.0, 2.0)
    >>> as_hard = Apart("peak_decel_mps2", 0.02, 0.1)
    >>> one = Why(3, 0.21, 0.03, "braking", 0.16, 0.02, True, (earlier,), (), (as_hard,))
    >>> corner_why(one, lambda corner: "Hairpin", Units())
    'Hairpin (3): 0.21 ± 0.03 s lost, most of it on the brakes: on 9 m earlier (± 2), as hard.'
    """
    where = sentence(
        corner_in_text(one.corner, names(one.corner)) if one.corner else FROM_LINE_TITLE
    )
    if not one.clear:
        text = f"{where}: too close to tell apart"
    else:
        text = f"{where}: {_lost(one.lost_s, one.lost_sd_s)}{why_words(one, units)}"
    return f"{text}.{carried_words(one.carried, names)}"


def why_words(one: Why, units: Units) -> str:
    """
    Say where in a corner the time went and what shows it; begins with a comma, or is empty.

    Examples
    --------
    >>> from lapwright.corners.why import Why
    >>> why_words(Why(3, 0.21, 0.03, "exit", 0.16, 0.02, True), Units())
    ', most of it from the slowest point to the exit'
    >>> why_words(Why(3, 0.21, 0.03), Units())
    ', spread over the corner'
    """
    if not one.corner:
        return f", {_AT_THE_LINE}"
    if not one.cause:
        return ", spread over the corner"
    back = ""
    if abs(one.cause_s) > abs(one.lost_s) + EQUAL_SD * one.cause_sd_s:
        share = f"more than that ({_seconds(one.cause_s, one.cause_sd_s)})"
        back = f"; some {'won back' if one.lost_s > 0.0 else 'lost again'} elsewhere"
    else:
        share = _share(one)
    shown = shown_words(one, units)
    return f", {share} {WHERE[one.cause]}{': ' if shown else ''}{shown}{back}"


def cause_words(one: Why, units: Units) -> str:
    """
    Name a corner's cause as briefly as it can be.

    Examples
    --------
    >>> from lapwright.corners.why import Apart, Why
    >>> slow = Apart("min_speed_mps", -1.0, 0.1)
    >>> cause_words(Why(5, 0.31, 0.02, "minimum", 0.3, 0.02, True, (slow,)), Units())
    'most of it around the slowest point: minimum speed 3.6 km/h lower (± 0.4)'
    >>> cause_words(Why(5, 0.31, 0.02, "minimum", 0.3, 0.02, True), Units())
    'most of it around the slowest point'
    """
    if not one.corner or not one.cause:
        return why_words(one, units).removeprefix(", ")
    said = f"{_share(one)} {WHERE[one.cause]}"
    evidence = _evidence(one, units)
    return f"{said}: {listed(evidence)}" if evidence else said


def _share(one: Why) -> str:
    """How much of a corner's time its cause is, in words."""
    if abs(one.cause_s) > abs(one.lost_s) + EQUAL_SD * one.cause_sd_s:
        return "all of it and more"
    if abs(one.cause_s) > 0.5 * abs(one.lost_s):
        return "most of it"
    return "the largest part" if one.largest else "part of it"


def shown_words(one: Why, units: Units) -> str:
    """What the driver did that goes with the cause; empty where nothing shows it."""
    if one.cause == "straight":
        return _NOTHING_DONE
    evidence = _evidence(one, units)
    # That something was the same explains nothing alone, but says what it was not.
    same = [_SAME[a.name] for a in one.same] if one.shown_by else []
    text = ", ".join((*evidence, *same))
    against = listed([_apart_words(a, units) for a in one.against])
    if against and text:
        return f"{text}, but {against}"
    return f"though {against}" if against else text


def carried_words(carried: Carried | None, names: Callable[[int], str]) -> str:
    """
    Say that what the clock shows in a braking zone comes from the corner before; or nothing.

    Examples
    --------
    >>> from lapwright.corners.why import Carried
    >>> said = carried_words(Carried(0.12, 0.02, 3, "exit"), lambda corner: "Hairpin")
    >>> said.partition(" that the clock shows")[::2]
    (' Most of the 0.12 ± 0.02 s', ' in the braking zone was lost at the exit of Hairpin (3).')
    """
    if carried is None:
        return ""
    place = "on the way from the start line"
    if carried.corner:
        which = corner_in_text(carried.corner, names(carried.corner))
        place = f"{_CARRIED_FROM[carried.cause]} {which}"
    word = "lost" if carried.shown_s > 0.0 else "gained"
    return (
        f" Most of the {_seconds(carried.shown_s, carried.shown_sd_s)} that the clock shows in the "
        f"braking zone was {word} {place}."
    )


def corner_names(track: Track) -> Callable[[int], str]:
    """
    Return what tells the name of a corner by its number.

    Examples
    --------
    >>> corner_names(session.track)(1)
    'Gatehouse'
    """
    names = {one.order: one.name for one in track.corners}
    return lambda corner: names.get(corner, "")


def that_matter(found: Sequence[Why]) -> list[Why]:
    """Corners where the laps can be told apart, the most time first."""
    return sorted((one for one in found if one.clear), key=lambda one: -abs(one.lost_s))


def listed(parts: Sequence[str]) -> str:
    """
    Write parts one after the other.

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join(filter(None, (", ".join(parts[:-1]), *parts[-1:])))


def _evidence(one: Why, units: Units) -> list[str]:
    """What goes with the cause: what the driver did, or else the line."""
    line = "wider" if one.cause_s > 0.0 else "narrower"
    shown = [_apart_words(a, units) for a in one.shown_by]
    for a in one.wider:
        size, bar = _size(a, "apex_aside_m", units)
        shown.append(f"the line {size} {line} at {_LINE_AT[a.name]} {bar}")
    return shown


def _apart_words(one: Apart, units: Units) -> str:
    """A difference with its word and its bar: on 9 m earlier (± 2)."""
    if one.name == ONLY_ONE_BRAKED:
        return "braked, the other lap did not" if one.difference > 0.0 else "did not brake"
    size, bar = _size(one, one.name, units)
    thing, above, below = _WORDS[one.name]
    word = above if one.difference > 0.0 else below
    return " ".join(filter(None, (thing, size, word, bar)))


def _size(one: Apart, column: str, units: Units) -> tuple[str, str]:
    described_as = described("passes")[column]
    unit, factor = shown_in(described_as.unit, units)
    most = described_as.decimals
    value, sd = abs(one.difference) * factor, one.sd * factor
    bar = error_bar(sd, most)
    # An error bar is never nothing, however small it is against the last digit.
    least = f"<{10.0**-most:.{most}f}" if float(bar) == 0.0 else bar
    return f"{number(value, sd, most)} {unit}", f"({PLUS_MINUS_SIGN} {least})"


def _seconds(value_s: float, sd_s: float) -> str:
    return f"{number(abs(value_s), sd_s, 3)} {PLUS_MINUS_SIGN} {error_bar(sd_s)} s"


def _lost(value_s: float, sd_s: float) -> str:
    return f"{_seconds(value_s, sd_s)} {'lost' if value_s > 0.0 else 'gained'}"
