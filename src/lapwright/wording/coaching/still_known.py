"""
What a session tells where it shows no habit, in sentences: description, never advice.

Each sentence says what its figure is: one lap against another, luck of the best, how a corner
varies.  The terminal, the page, the paper and a notebook show the same ones.
"""

from collections.abc import Mapping

from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.coaching.no_habit.laps_needed import MAX_MORE, LapsNeeded
from lapwright.coaching.no_habit.quicker_third import Compared, QuickerThird
from lapwright.geometry import Corner
from lapwright.session import Session
from lapwright.session.still_known import BestSector, Lost, SetAside, StillKnown, Varies
from lapwright.session.still_known import still_known as gather
from lapwright.units import Units, clock, decimals_for, error_bar
from lapwright.wording.coaching.worth_trying import lap_list
from lapwright.wording.flags import flag_list
from lapwright.wording.seconds import seconds_with_error, seconds_with_spread
from lapwright.wording.terms import at_corner, corner_in_text, corner_with_name

Corners = Mapping[int, Corner]

HEADING = "What these laps do show"
# More laps set aside than this are not listed one by one.
_MOST_ASIDE = 6
_NUMBERS = "no one two three four five six seven eight nine ten eleven twelve"
_MINUS = "\N{MINUS SIGN}"
_CAUSES = {
    "braking": "the braking for {}",
    "minimum": "the minimum speed at {}",
    "exit": "the exit of {}",
    "straight": "the straight behind {}",
}
_WAYS = {
    "braking": "braking points",
    "minimum_speed": "minimum speeds",
    "throttle": "throttle points",
    "line": "lines",
}


def still_known(
    session: Session, units: Units | str = "km/h", places: int | None = None
) -> tuple[str, ...]:
    """
    Say what a session tells where it shows no habit.

    Parameters
    ----------
    session : Session
    units : Units or str
    places : int, optional
        How many of the corners that vary most are looked at closely; all that were found where not
        given.

    Returns
    -------
    tuple of str
        A text each; none where there is something worth trying.
    """
    known = gather(session)
    if known is None:
        return ()
    corners = {c.order: c for c in session.track.corners}
    return said(known, corners, Units.parse(str(units)), places)


def said(
    known: StillKnown, corners: Corners, units: Units, places: int | None = None
) -> tuple[str, ...]:
    """
    Say what was gathered.

    Parameters
    ----------
    known : StillKnown
    corners : mapping of int to Corner
        By number.
    units : Units
    places : int, optional
        As for `still_known`.

    Returns
    -------
    tuple of str
    """
    if known.clean_laps < 2:
        texts = [_aside_text(known.aside), _sectors_text(known.sectors)]
        if known.clean_laps:
            texts += ["With one clean lap there is nothing to compare it with."]
        texts += [
            "Next time: two laps or more in a row on a clear track, so that one can be compared "
            f"with another; {MIN_LAPS} or more to test for a habit."
        ]
    elif known.changing:
        texts = [_trend_text(known)]
    else:
        texts = [_lost_text(known, corners), _sector_lost_text(known)]
        texts += [_varies_text(known, corners)]
        texts += [_quicker_text(one, corners, units) for one in known.quicker[:places]]
        texts += [_needed_text(one, corners) for one in known.needed[:places]]
    return tuple(text for text in texts if text)


def _at(number: int, corners: Corners) -> str:
    return at_corner(number, corners[number].name if number in corners else "")


def _head(number: int, corners: Corners) -> str:
    return corner_with_name(number, corners[number].name)


def _lost_text(known: StillKnown, corners: Corners) -> str:
    if known.lap is None or known.reference is None:
        return ""
    usual = "Lap {}, a typical one," if known.clean_laps > 2 else "Lap {}, the other one,"
    laps = f"{usual.format(known.lap)} against lap {known.reference}, your best"
    if not known.lost:
        return f"{laps}: in no one place did it lose more than twice the \N{PLUS-MINUS SIGN}."
    places = " and ".join(_one_lost(one, corners) for one in known.lost)
    return (
        f"{laps}: taken one by one, what cost most, with what followed from it down the straight, "
        f"was {places}. That is one lap against another, not what you usually do."
    )


def _one_lost(one: Lost, corners: Corners) -> str:
    what = "the speed it brought over the start line"
    if one.where:
        what = _CAUSES[one.cause].format(corner_in_text(one.where, corners[one.where].name))
    return f"{what} ({seconds_with_error(one.lost_s, one.lost_sd_s)})"


def _sector_lost_text(known: StillKnown) -> str:
    one = known.sector_lost
    if one is None:
        return ""
    return (
        f"Against your best sectors added up, a lap nobody drove, lap {known.lap} lost most in "
        f"sector {one.where}: {seconds_with_error(one.lost_s, one.lost_sd_s)}. The best of "
        f"{known.clean_laps} is partly luck."
    )


def _varies_text(known: StillKnown, corners: Corners) -> str:
    if not known.varies:
        if known.clean_laps < 3:
            return ""
        return "In no corner does your time vary from lap to lap by more than the receiver's error."
    first, *rest = known.varies
    text = (
        f"{_head(first.corner, corners)} varies most: its time varies by {first.varies_s:.2f} s "
        f"from lap to lap ({_interval(first)}, 95 % interval, receiver's error taken out)"
    )
    for one in rest:
        text += f"; {_at(one.corner, corners)} by {one.varies_s:.2f} s ({_interval(one)})"
    return f"{text}. Timed from this braking zone to the next."


def _interval(one: Varies) -> str:
    return f"{one.low95_s:.2f} to {one.high95_s:.2f} s"


def _quicker_text(one: QuickerThird, corners: Corners, units: Units) -> str:
    if not one.compared:
        return ""
    corner = corners[one.corner]
    parts = "; ".join(_compared_text(c, corner, units) for c in one.compared)
    clear = [_NAMES[c.quantity] for c in one.compared if c.resolved]
    beyond = (
        f"Beyond twice its sd: {', '.join(clear)}."
        if clear
        else "No difference is beyond twice its sd."
    )
    laps = lap_list(tuple(sorted(one.laps)))
    return (
        f"{_head(one.corner, corners)}, what the quicker third did (laps {laps}; medians, in "
        f"brackets the difference from the other {one.count - len(one.laps)}): {parts}. {beyond} "
        "This describes those laps; it is not advice: quick laps always have something in common."
    )


_NAMES = {
    "brake_to_corner_m": "braking point",
    "min_speed_mps": "minimum speed",
    "min_speed_station_m": "slowest point",
    "throttle_station_m": "throttle point",
    "apex_aside_m": "line at the apex",
    "exit_speed_mps": "exit speed",
}


def _compared_text(one: Compared, corner: Corner, units: Units) -> str:
    speed = one.quantity.endswith("_mps")
    scale = units.speed_of(1.0) if speed else units.distance_of(1.0)
    unit = units.speed if speed else units.distance
    sd = one.difference_sd * scale
    decimals = decimals_for(sd, 1)
    value, ends = one.quicker, ("", "")
    if one.quantity == "brake_to_corner_m":
        ends = " before the corner", " into the corner"
    elif one.quantity in ("min_speed_station_m", "throttle_station_m"):
        value, ends = value - corner.apex_m, (" past the apex", " before the apex")
    elif one.quantity == "apex_aside_m":
        ends = " to the left of your usual line", " to the right of your usual line"
    shown = f"{abs(value) * scale:.{decimals}f} {unit}{ends[int(value < 0.0)]}"
    if one.quantity == "apex_aside_m" and round(value * scale, decimals) == 0.0:
        shown = "on your usual line"
    by = _signed(one.difference * scale, decimals)
    return f"{_NAMES[one.quantity]} {shown} ({by} {unit}, sd {error_bar(sd, 1)})"


def _signed(value: float, decimals: int) -> str:
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0.0:
        return text
    return f"+{text}" if value > 0.0 else f"{_MINUS}{text}"


def _needed_text(one: LapsNeeded, corners: Corners) -> str:
    if one.why == "few_laps":
        return (
            f"What would settle more: {_count(one.more or 0, 'more clean lap')} like these, for "
            f"at least {MIN_LAPS} are needed to test for a habit."
        )
    difference = seconds_with_spread(one.difference_s, one.difference_sd_s)
    seen = (
        f"{_head(one.corner, corners)}: cut in two by their {_WAYS[one.code]}, your laps differ by "
        f"{difference}"
    )
    if one.why == "needed":
        return (
            f"{seen}. So few laps could differ by that without a habit. If there is one, about "
            f"{_count(one.more or 0, 'more clean lap')} like these would show it four times in "
            "five."
        )
    if one.why == "too_small":
        return (
            f"{seen}. If that is all there is, more laps will not settle it: it is smaller than "
            f"the {one.resolvable_s:.2f} s that even {MAX_MORE} more would show four times in five."
        )
    return (
        f"{seen}, but the two halves lie hardly farther apart than those of somebody who only "
        "varies, so there is no telling whether more laps like these would settle it."
    )


def _trend_text(known: StillKnown) -> str:
    text = "The circuit changed, so a difference between two laps is the circuit's as much as yours"
    line = known.trend
    if line is None:
        return f"{text}."
    low, high = line.slope_interval()
    which = "quicker" if line.slope < 0.0 else "slower"
    ends = sorted((abs(low), abs(high)))
    if low < 0.0 < high:
        return f"{text}. Over the {line.count} clean laps there is no clear trend."
    return (
        f"{text}. Over the {line.count} clean laps each was {abs(line.slope):.2f} s {which} than "
        f"the one before on average ({ends[0]:.2f} to {ends[1]:.2f} s, 95 % interval)."
    )


def _aside_text(aside: tuple[SetAside, ...]) -> str:
    if not aside:
        return ""
    parts = [
        f"lap {one.lap} ({clock(one.time_s, one.time_sd_s)}): "
        f"{flag_list(one.flags) or 'off the pace of the others'}"
        for one in aside[:_MOST_ASIDE]
    ]
    more = len(aside) - _MOST_ASIDE
    rest = f"; and {_count(more, 'more lap')}" if more > 0 else ""
    return f"Laps set aside, and why: {'; '.join(parts)}{rest}."


def _sectors_text(sectors: tuple[BestSector, ...]) -> str:
    if not sectors:
        return ""
    parts = [
        f"sector {one.sector} in {clock(one.time_s, one.time_sd_s)} \N{PLUS-MINUS SIGN} "
        f"{error_bar(one.time_sd_s)} s (lap {one.lap})"
        for one in sectors
    ]
    return f"Quickest all the same: {', '.join(parts)}."


def _count(n: int, what: str) -> str:
    words = _NUMBERS.split()
    return f"{words[n] if n < len(words) else n} {what}{'' if n == 1 else 's'}"
