"""
What is worth trying, in words: plain ones, numbers with units, nothing beyond own passes.

Numbers are rounded towards the usual passes, so that rounding never names a place or a speed that
was not driven.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from lapwright.arguments import checked
from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.coaching.worth_trying import Habit, Judgement
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying, WorthTryingInWords
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.seconds import seconds
from lapwright.wording.terms import corner_with_name

Floats = npt.NDArray[np.float64]

# Rarer than the simulated p-values can tell.
_RAREST = 1e-3
_POINTS = {
    "turn_in_offset_m": "turn-in", "apex_offset_m": "the apex", "exit_offset_m": "the exit"
}  # fmt: skip
_OVER = {
    "span": "from this braking zone to the next",
    "run_in": "from before the braking to the slowest point, and lost nothing after it",
    "run_out": "from the slowest point to the next braking zone",
}


@dataclass(frozen=True, slots=True)
class Advice:
    """
    What is worth trying, as a reader is told.

    Attributes
    ----------
    items : tuple of WorthTryingInWords
        The most time first.
    remark : str
        Why there is nothing, or what was held back; empty where there is nothing to add.
    """

    items: tuple[WorthTryingInWords, ...]
    remark: str


@checked
def advice_in_words(session: Session, units: Units | str = "km/h") -> Advice:
    """
    Say what a session found worth trying.

    Parameters
    ----------
    session : Session
    units : Units or str
        Of the sentences, like ``"mph,ft"``; every number is in SI units all the same.

    Returns
    -------
    Advice

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx")
    >>> lw.advice_in_words(session, "mph").remark.split(";")[0]
    'Too few clean laps (4) to tell a habit from chance'
    """
    return advice(session.judgement, session.track.corners, Units.parse(str(units)))


def advice(judgement: Judgement, corners: Sequence[Corner], units: Units) -> Advice:
    """
    Say a judgement.

    Parameters
    ----------
    judgement : Judgement
    corners : sequence of Corner
        Of the track.
    units : Units

    Returns
    -------
    Advice
    """
    items = tuple(habit_in_words(habit, units) for habit in judgement.habits)
    return Advice(items, remark_text(judgement, corners))


def habit_in_words(habit: Habit, units: Units) -> WorthTryingInWords:
    """
    Say a thing worth trying, and what it rests on.

    Parameters
    ----------
    habit : Habit
    units : Units

    Returns
    -------
    WorthTryingInWords
    """
    values = {f.name: getattr(habit.item, f.name) for f in fields(WorthTrying)}
    return WorthTryingInWords(
        **values, text=item_text(habit, units), evidence=evidence_text(habit, units)
    )


def remark_text(judgement: Judgement, corners: Sequence[Corner]) -> str:
    """
    Say why there is nothing worth trying, and where nothing is said because of a spin.

    Parameters
    ----------
    judgement : Judgement
    corners : sequence of Corner

    Returns
    -------
    str
    """
    said = []
    if judgement.nothing is not None:
        said.append(_NOTHING[judgement.nothing].format(laps=judgement.clean_laps, least=MIN_LAPS))
    names = {c.order: c.name for c in corners}
    for order in judgement.held_back:
        where = corner_with_name(order, names.get(order, ""))
        said.append(
            f"{where}: no advice for this corner; there was a spin, a stop or an off in it this "
            "session."
        )
    return " ".join(said)


_NOTHING = {
    "no_clean_lap": (
        "No clean lap, so there is nothing to go by. What would help: full laps without a "
        "stop, a spin or a gap in the log."
    ),
    "few_laps": (
        "Too few clean laps ({laps}) to tell a habit from chance; at least {least} are "
        "needed. What would help: a longer run on a clear track."
    ),
    "conditions": "The conditions changed during the session, so its laps cannot be compared.",
    "no_habit": (
        "In no corner did one way of driving it come out quicker, over {laps} clean laps, by more "
        "than your lap-to-lap spread and the receiver's error. One lap being quicker somewhere "
        "does not show a habit."
    ),
}


def lap_list(laps: tuple[int, ...]) -> str:
    """
    Numbers of laps as said.

    Examples
    --------
    >>> lap_list((3,)), lap_list((3, 5, 8))
    ('3', '3, 5 and 8')
    """
    first = ", ".join(str(n) for n in laps[:-1])
    return f"{first} and {laps[-1]}" if first else f"{laps[-1]}"


def rounded_towards(value: float, towards: float, decimals: int = 0) -> str:
    """Round a number, but not away from another one."""
    scale = 10.0**decimals
    near = np.round(value * scale) / scale
    if (near - value) * (towards - value) < 0.0:
        near = (np.floor if towards < value else np.ceil)(value * scale) / scale
    return f"{near:.{decimals}f}"


def item_text(habit: Habit, units: Units) -> str:
    """
    Say a thing worth trying as a coach would.

    Parameters
    ----------
    habit : Habit
    units : Units

    Returns
    -------
    str
    """
    item, corner = habit.item, habit.corner
    if item.code == "braking":
        said = _braking(item, corner, units)
    elif item.code == "minimum_speed":
        said = _minimum_speed(item, units)
    elif item.code == "throttle":
        said = _throttle(item, corner, units)
    else:
        said = _line(item, habit.column, units)
    # No plus-minus sign: that is the receiver's error alone, and laps differ by far more.
    stake, sd = seconds(item.time_at_stake_s, item.time_at_stake_sd_s)
    those = "Those laps were" if len(item.better_laps) > 1 else "That lap was"
    where = corner_with_name(corner.order, corner.name)
    quicker = f"{those} {stake} quicker {_OVER[habit.clock]}"
    return f"{where}: {said}. {quicker} (sd {sd}, the spread from lap to lap included)."


def _braking(item: WorthTrying, corner: Corner, units: Units) -> str:
    better, usual = (units.distance_of(corner.entry_m - v) for v in (item.better, item.usual))
    laps, words = lap_list(item.better_laps), ("before the corner", "into the corner")
    near = _side(better, usual, units.distance, *words)
    far = _side(usual, better, units.distance, *words)
    if better * usual >= 0.0:
        # On the same side of the entry: said once.
        far = far.removesuffix(f" {words[0]}").removesuffix(f" {words[1]}")
    if better > usual:
        return (
            "braking a little earlier and releasing sooner, as on the laps that were quicker there "
            f"({laps}): about {near} instead of your usual {far}"
        )
    return (
        f"braking where you did on the laps that were quicker there ({laps}), about {near} and no "
        f"later, instead of your usual {far}"
    )


def _side(value: float, towards: float, unit: str, positive: str, negative: str) -> str:
    """A distance without a sign, and on which side of the place it is counted from."""
    if value >= 0.0:
        return f"{rounded_towards(value, towards)} {unit} {positive}"
    return f"{rounded_towards(-value, -towards)} {unit} {negative}"


def _minimum_speed(item: WorthTrying, units: Units) -> str:
    better, usual = units.speed_of(item.better), units.speed_of(item.usual)
    near, far = rounded_towards(better, usual), rounded_towards(usual, better)
    return (
        "carrying the minimum speed of the laps that were quicker there "
        f"({lap_list(item.better_laps)}), about {near} {units.speed} instead of your usual {far} "
        f"{units.speed}"
    )


def _throttle(item: WorthTrying, corner: Corner, units: Units) -> str:
    return (
        f"getting back on the throttle where you did on the laps that were quicker there "
        f"({lap_list(item.better_laps)}), {_past_apex(item.better, item.usual, corner, units)} "
        f"instead of your usual {_past_apex(item.usual, item.better, corner, units)}"
    )


def _line(item: WorthTrying, column: str, units: Units) -> str:
    return (
        f"taking the line of the laps that were quicker there ({lap_list(item.better_laps)}), "
        f"{_aside(item.better - item.usual, units)} your usual line at {_POINTS[column]}"
    )


def _past_apex(station: float, towards: float, corner: Corner, units: Units) -> str:
    past, other = (units.distance_of(v - corner.apex_m) for v in (station, towards))
    return _side(past, other, units.distance, "past the apex", "before the apex")


def _aside(by: float, units: Units) -> str:
    """From one's own passes: against the path, all fixes of a session may be shifted."""
    near = rounded_towards(units.distance_of(abs(by)), 0.0, 1)
    return f"{near} {units.distance} to the {'left' if by >= 0.0 else 'right'} of"


def _how_often(p_value: float) -> str:
    """
    Say a p-value as a bound, which it is: it was drawn by lot and allows for every corner.

    Smaller ones than one in a thousand are finer than the draws are good for.
    """
    if p_value < _RAREST:
        return f"fewer than 1 session in {round(1.0 / _RAREST)}"
    sessions = max(2, int(1.0 / p_value + 1e-9))
    # One digit of a p-value that was drawn by lot says enough; rounded down, it stays a bound.
    step = 10 ** (len(str(sessions)) - 1)
    return f"fewer than about 1 session in {sessions // step * step}"


def evidence_text(habit: Habit, units: Units) -> str:
    """
    Say what a thing worth trying rests on.

    Parameters
    ----------
    habit : Habit
    units : Units

    Returns
    -------
    str
    """
    item, corner, usual, better = habit.item, habit.corner, habit.usual, habit.better
    unit, scale = units.distance, units.distance_of(1.0)
    words = ("to the left of your usual line", "to the right of your usual line")
    zero = float(np.median(np.concatenate([usual, better])))
    if item.code == "braking":
        words, scale, zero = ("before the corner", "into the corner"), -scale, corner.entry_m
    elif item.code == "minimum_speed":
        words, unit, scale, zero = ("", ""), units.speed, units.speed_of(1.0), 0.0
    elif item.code == "throttle":
        words, zero = ("past the apex", "before the apex"), corner.apex_m
    decimals = 1 if item.code in ("line", "minimum_speed") else 0

    def spread(values: Floats) -> str:
        return _range((values - zero) * scale, decimals, unit, *words)

    return (
        f"{len(better)} of {len(better) + len(usual)} clean laps at {spread(better)}, the other "
        f"{len(usual)} at {spread(usual)}. Chance alone would show something this clear in "
        f"{_how_often(item.p_value)}."
    )


def _range(shown: Floats, decimals: int, unit: str, positive: str, negative: str) -> str:
    """From the lowest to the highest, without a sign; rounded inwards, as both were driven."""
    low = np.ceil(shown.min() * 10.0**decimals) / 10.0**decimals
    high = np.floor(shown.max() * 10.0**decimals) / 10.0**decimals
    # No minus before a nought.
    low, high = min(low, high) + 0.0, max(low, high) + 0.0
    if low >= 0.0:
        said = f"{low:.{decimals}f} to {high:.{decimals}f} {unit} {positive}"
    elif high <= 0.0:
        said = f"{-high + 0.0:.{decimals}f} to {-low:.{decimals}f} {unit} {negative}"
    else:
        said = f"{-low:.{decimals}f} {unit} {negative} to {high:.{decimals}f} {unit} {positive}"
    return said.rstrip()
