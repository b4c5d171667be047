"""
What is said of the car: a sentence or two a warning, and that none of it is a diagnosis.

A reading can be wrong because the engine is, the sensor, or its wire; which of them no log tells.
"""

import math
from collections.abc import Sequence

import numpy as np

from lapwright.arguments import checked
from lapwright.car.watch import CarWarning
from lapwright.geometry import Track
from lapwright.session import Session
from lapwright.units import Units, clock, error_bar, number
from lapwright.wording.terms import corner_in_text, sentence

HEADING = "The car: have a look at"
# Below every list of warnings.
NO_DIAGNOSIS = (
    "A warning, not a diagnosis: engine, sensor or wiring can be the reason. Have it looked at "
    "before the car goes out again. No warning does not mean that all is well."
)
_KIND_WORDS = {
    "rpm": "engine speed", "oil_pressure": "oil pressure", "oil_temperature": "oil temperature",
    "water_temperature": "water temperature", "fuel_pressure": "fuel pressure",
    "battery": "battery", "wheel_speed": "wheel speed",
}  # fmt: skip
_DIED = {
    "constant": "stands at {value} from {when} to the end",
    "missing": "has no values from {when} to the end",
    "impossible": "shows only impossible values, {value}, from {when} to the end",
}
_PM = "\N{PLUS-MINUS SIGN}"
_MOST = 3
# More corners than this are counted, not named.
_MOST_CORNERS = 4


def car_lines(session: Session, units: Units | str = "km/h") -> tuple[str, ...]:
    """
    Say what of the car deserves a look.

    Parameters
    ----------
    session : Session
    units : Units or str

    Returns
    -------
    tuple of str
        A text a warning, and one for limits that could not be held against anything; none where
        there is nothing to say.  The page of a weekend can show those of each of its sessions.
    """
    shown = Units.parse(str(units))
    warnings, track = session.car_warnings, session.track
    low = [one for one in warnings if one.code == "oil_in_corner"]
    said = []
    for one in warnings:
        if len(low) < 2 or one.code != "oil_in_corner":
            said.append(car_warning_text(one, track, shown))
        elif one is low[0]:
            said.append(_oil_in_all(low, track))
    not_held = session.limits_not_held
    if not_held:
        said.append(f"Limits in weekend.toml that were not checked: {'; '.join(not_held)}.")
    return tuple(said)


@checked
def car_warning_text(warning: CarWarning, track: Track, units: Units | str = "km/h") -> str:
    """
    Say what a warning about the car is about.

    Parameters
    ----------
    warning : CarWarning
    track : Track
        Of the session: its corners have names.
    units : Units or str

    Returns
    -------
    str
        A sentence or two.  Values stand in the unit that the log gives them in.

    Raises
    ------
    ValueError
        If there are no such units.

    Examples
    --------
    >>> import lapwright as lw
    >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
    >>> lw.car_warning_text(practice.car_warnings[-1], practice.track).partition(", ")[2]
    '10:40 into the log to the end: the sensor may have died.'
    """
    shown = Units.parse(str(units))
    say = {
        "limit": _limit, "oil_in_corner": _oil, "still_rising": _rising, "sensor_died": _died,
    }[warning.code]  # fmt: skip
    return sentence(say(warning, track, shown))


def _name(warning: CarWarning) -> str:
    """What it is, and the column where the kind alone would not tell."""
    word = _KIND_WORDS.get(warning.kind)
    return f'"{warning.channel}"' if word is None or word == "wheel speed" else word


def _limit(warning: CarWarning, track: Track, units: Units) -> str:
    level = f"{warning.level:g}{_unit(warning)}"
    rpm = "" if math.isnan(warning.above_rpm) else f" above {warning.above_rpm:g} rpm"
    furthest = "lowest" if warning.how == "below" else "highest"
    lap = "" if warning.lap is None else f" on lap {warning.lap}"
    return (
        f"{_name(warning)} was {warning.how} your limit of {level}{rpm} for "
        f"{number(warning.beyond_s, warning.beyond_sd_s, most=2)} {_PM} "
        f"{error_bar(warning.beyond_sd_s, most=2)} s on {_laps(warning.laps)}; {furthest} "
        f"{_with_bar(warning.value, warning.value_sd)}{_unit(warning)}{lap}, "
        f"{_place(warning, track, units)}."
    )


def _oil(warning: CarWarning, track: Track, units: Units) -> str:
    least, most = -warning.high95, -warning.low95
    sd = warning.value_sd
    return (
        f"{_name(warning)} in {_corner(warning, track)} was lower by "
        f"{number(-warning.value, sd, most=2)}{_unit(warning)} (95 % interval "
        f"{number(least, sd, most=2)} to {number(most, sd, most=2)}) than on your straights at the "
        f"same engine speed, where it was {number(warning.level, sd, most=2)}{_unit(warning)}; on "
        f"{_laps(warning.laps)}, most about {number(units.distance_of(warning.station_m), most=0)} "
        f"{units.distance} after the start line."
    )


def _oil_in_all(warnings: Sequence[CarWarning], track: Track) -> str:
    """Say in one text in which corners the oil pressure was lower, most first."""
    corners = sorted(warnings, key=lambda one: one.value)
    parts = [
        f"{_corner(one, track)} by {number(-one.value, one.value_sd, most=2)}{_unit(one)} "
        f"({number(-one.high95, one.value_sd, most=2)} to "
        f"{number(-one.low95, one.value_sd, most=2)})"
        for one in corners[:_MOST_CORNERS]
    ]
    more = len(corners) - len(parts)
    if more:
        parts.append(f"less in {more} more")
    usual = [one.level for one in warnings]
    first = warnings[0]
    return sentence(
        f"{_name(first)} was lower in long corners than on your straights at the same engine speed "
        f"(there {number(min(usual), first.value_sd)} to "
        f"{number(max(usual), first.value_sd)}{_unit(first)}): {', '.join(parts)}; in brackets the "
        "95 % interval."
    )


def _rising(warning: CarWarning, track: Track, units: Units) -> str:
    sd = warning.value_sd
    return (
        f"{_name(warning)} was still rising at the end, by {number(warning.value, sd, most=2)}"
        f"{_unit(warning)} a lap (95 % interval {number(warning.low95, sd, most=2)} to "
        f"{number(warning.high95, sd, most=2)}) over the last {len(warning.laps)} full laps; "
        f"{number(warning.level, sd)}{_unit(warning)} on the last of them."
    )


def _died(warning: CarWarning, track: Track, units: Units) -> str:
    lap = "" if warning.lap is None else f"lap {warning.lap}, "
    when = f"{lap}{clock(warning.time_s, most=0)} into the log"
    value = f"{warning.value:g}{_unit(warning)}"
    shows = _DIED[warning.how].format(value=value, when=when)
    named = "" if _name(warning).startswith('"') else f' (column "{warning.channel}")'
    return f"{_name(warning)}{named} {shows}: the sensor may have died."


def _unit(warning: CarWarning) -> str:
    return f" {warning.unit}" if warning.unit else ""


def _with_bar(value: float, sd: float) -> str:
    if not sd > 0.0:
        return f"{value:g}"
    return f"{number(value, sd, most=_MOST)} {_PM} {error_bar(sd)}"


def _place(warning: CarWarning, track: Track, units: Units) -> str:
    station = number(units.distance_of(warning.station_m), most=0)
    near = f" (nearest: {_corner(warning, track)})" if warning.corner else ""
    return f"{station} {units.distance} after the start line{near}"


def _corner(warning: CarWarning, track: Track) -> str:
    names = {corner.order: corner.name for corner in track.corners}
    return corner_in_text(warning.corner, names.get(warning.corner, ""))


def _laps(laps: Sequence[int]) -> str:
    """Laps, as runs of numbers where there are more than a few."""
    if len(laps) == 1:
        return f"lap {laps[0]}"
    numbers = np.asarray(laps)
    parts = np.split(numbers, np.flatnonzero(np.diff(numbers) != 1) + 1)
    said = [
        text
        for part in parts
        for text in (map(str, part) if len(part) < 3 else [f"{part[0]} to {part[-1]}"])
    ]
    return f"laps {' and '.join(filter(None, (', '.join(said[:-1]), said[-1])))}"
