"""What a race is made of, in sentences: description, never advice."""

import math
from typing import Any

from lapwright.arguments import checked
from lapwright.columns import records
from lapwright.race.held_up import MIN_OTHERS
from lapwright.race.stints import MIN_FADE_LAPS
from lapwright.session import CornerCost, FirstLap, Session, first_lap
from lapwright.units import Units, clock, error_bar, number, signed
from lapwright.wording.coaching.worth_trying import lap_list
from lapwright.wording.terms import FROM_LINE_TITLE, corner_in_text

_PM = "\N{PLUS-MINUS SIGN}"
# Of the places where the first lap lost time.
_MOST_PLACES = 3
_RESOLVED_SDS = 2.0

ONE_CAR = (
    "A log sees one car: whether it was another car, a yellow flag or a mistake is not in it. The "
    "laps count as before."
)
FADE = (
    "Fade: how much slower each lap was than the one before (+ slower), a trend of the clean laps "
    "with its 95 % interval. Tyres, fuel, track, traffic and driver are all in it."
)
LANE = "In the lane: between the ends of the circuit's pit lane, not the organiser's lines."
OFF_LINE = (
    "In the lane: from leaving your usual line to coming back to it, as the circuit's pit lane is "
    "not known."
)
ANTENNAS = (
    "A gap is between the two antennas, wherever they sit in the cars, and the order is that of "
    "the two logs alone. Results are the organiser's."
)


@checked
def race_in_words(session: Session, units: Units | str = "km/h") -> tuple[str, ...]:
    """
    Say what a race was made of, in a few sentences.

    Parameters
    ----------
    session : Session
    units : Units or str

    Returns
    -------
    tuple of str
        Standing start, first lap, stints, pit stops, laps that look held up: those there are.

    Raises
    ------
    LogError, TrackError
        As `Session.laps`.
    ValueError
        If the units are none of those there are.

    Examples
    --------
    >>> race = lw.open_session("sample_sessions/sunday_race.csv")
    >>> lw.race_in_words(race)[0].split(",")[:2]
    ['Standing start', ' lap 1: to 60 km/h in 3.520 ± 0.008 s']
    """
    shown = Units.parse(str(units))
    texts = [*start_texts(session), first_lap_text(session, first_lap(session))]
    texts += [stint_text(session, row) for row in records(session.stints)]
    texts += [*stop_texts(session), *held_up_texts(session, shown)]
    return tuple(text for text in texts if text)


def start_texts(session: Session) -> list[str]:
    """Say how long the standing starts took, one sentence each."""
    out = []
    for row in records(session.launches):
        parts = _speeds(row)
        line = f"at the start line after {_with_bar(row['to_line_s'], row['to_line_sd_s'])}"
        parts += [line] if math.isfinite(row["to_line_s"]) else []
        said = ", ".join(parts) or "not timed, as the log has a gap there"
        out.append(f"Standing start, lap {row['lap']}: {said}.")
    return out


def start_lines(session: Session) -> list[str]:
    """Say the same in a line of a terminal each."""
    rows = records(session.launches)
    out = []
    for row in rows:
        head = "Standing start" if len(rows) == 1 else f"Standing start, lap {row['lap']}"
        said = ", ".join(_speeds(row))
        out += [f"{head}: {said}"] if said else []
    return out


def first_lap_text(session: Session, first: FirstLap | None) -> str:
    """Say what the first lap cost against a flying one, and where."""
    if first is None:
        return ""
    c = first.comparison
    kind = "your typical clean lap" if first.typical else "your best lap"
    lost = _with_bar(abs(c.time_difference_s), c.time_difference_sd_s)
    which = "slower" if c.time_difference_s > 0.0 else "quicker"
    text = f"First lap: lap {c.lap} was {lost} {which} than lap {c.reference}, {kind}"
    names = {corner.order: corner.name for corner in session.track.corners}
    clear = [one for one in first.corners if one.lost_s > _RESOLVED_SDS * one.lost_sd_s]
    most = sorted(clear, key=lambda one: -one.lost_s)[:_MOST_PLACES]
    places = [_place_text(one, names) for one in most]
    if not places or c.time_difference_s <= 0.0:
        return f"{text}."
    return f"{text}; most was lost here: {', '.join(places)}."


def _place_text(one: CornerCost, names: dict[int, str]) -> str:
    where = corner_in_text(one.corner, names[one.corner]) if one.corner else FROM_LINE_TITLE
    return f"{where} {_with_bar(one.lost_s, one.lost_sd_s)}"


def stint_text(session: Session, row: dict[str, Any]) -> str:
    """Say a stint's pace and its fade, or why there is none."""
    one = row["first_lap"] == row["last_lap"]
    laps = f"lap {row['last_lap']}" if one else f"laps {row['first_lap']} to {row['last_lap']}"
    head = f"Stint {row['stint']}, {laps}"
    if not row["clean_laps"]:
        return f"{head}: no clean lap."
    pace = f"median {clock(row['median_s'], most=2)} of {_laps(row['clean_laps'])}"
    return f"{head}: {pace}; {fade_text(session, row)}."


def fade_text(session: Session, row: dict[str, Any]) -> str:
    """Say a stint's fade with its interval, or why there is none."""
    fade, low, high = (row[f"fade_{name}s_per_lap"] for name in ("", "low95_", "high95_"))
    if not math.isfinite(fade):
        if row["fade_laps"] >= MIN_FADE_LAPS:
            return f"no fade, as the notes say that the track changed ({session.notes.conditions})"
        return f"too few clean laps for a fade (at least {MIN_FADE_LAPS} are needed)"
    said = f"{_fine(low)} to {_fine(high)} s a lap (95 % interval)"
    if low <= 0.0 <= high:
        return f"no fade that these laps can show: {said}"
    which = "slower" if fade > 0.0 else "quicker"
    return f"each lap about {abs(fade):.2f} s {which} than the one before, {said}"


def stop_texts(session: Session) -> list[str]:
    """Say how long each visit to the pits took, one sentence each."""
    out = []
    for row in records(session.pit_stops):
        lane = _with_bar(row["lane_s"], row["lane_sd_s"])
        out.append(f"Pit stop, lap {row['lap']}: {lane} in the lane, {standing_text(row)}.")
    return out


def standing_text(row: dict[str, Any]) -> str:
    """Say how long the car stood in the pits."""
    if row["standing_s"] == 0.0:
        return "driven through without stopping"
    if not math.isfinite(row["standing_s"]):
        return "how long it stood cannot be told"
    return f"standing for {_with_bar(row['standing_s'], row['standing_sd_s'])}"


def held_up_texts(session: Session, units: Units) -> list[str]:
    """Say which laps look held up, and by what it shows; one sentence each."""
    return [_held_up_text(row, units) for row in records(session.held_up)]


def _held_up_text(row: dict[str, Any], units: Units) -> str:
    begin, end = (number(units.distance_of(row[k]), most=0) for k in ("start_m", "end_m"))
    shown = []
    if row["lifted_mps"] > 0.0:
        drop = number(units.speed_of(row["lifted_mps"]), most=0)
        shown.append(f"{drop} {units.speed} taken off where no other clean lap slows")
    if row["slow_m"] > 0.0:
        far = number(units.distance_of(row["slow_m"]), most=0)
        shown.append(f"much slower than any other clean lap for {far} {units.distance}")
    if row["aside_m"] != 0.0:
        far = number(units.distance_of(abs(row["aside_m"])), most=0)
        side = "left" if row["aside_m"] > 0.0 else "right"
        shown.append(f"{far} {units.distance} {side} of your usual line")
    lost = f"{row['lost_s']:.1f} s"
    spread = max(row["lost_spread_s"], 0.01)
    return (
        f"Lap {row['lap']} looks held up: {lost} lost between {begin} and {end} "
        f"{units.distance} after the start line (other clean laps vary by {error_bar(spread, 2)} s "
        f"there), {', '.join(shown)}."
    )


def nothing_held_up(session: Session) -> str:
    """Say that no lap looks held up, or that there are too few to tell."""
    clean = len(session.clean_laps)
    if clean < MIN_OTHERS:
        return f"Too few clean laps ({clean}) to tell whether a lap was held up."
    return "No lap looks held up."


def held_up_short(session: Session) -> str:
    """Name the laps that look held up, in a line; nothing where there is none."""
    laps = tuple(row["lap"] for row in records(session.held_up))
    if not laps:
        return ""
    which = f"lap {laps[0]}" if len(laps) == 1 else f"laps {lap_list(laps)}"
    return f"Looks held up: {which}; the laps count as before"


def gap_text(gap_s: float, sd_s: float) -> str:
    """Write a gap with its error bar."""
    return f"{signed(gap_s, sd_s, most=2)} {_PM} {error_bar(sd_s, most=2)}"


def _speeds(row: dict[str, Any]) -> list[str]:
    return [
        f"to {name} km/h in {_with_bar(row[f'to_{name}_kmh_s'], row[f'to_{name}_kmh_sd_s'])}"
        for name in ("60", "100")
        if math.isfinite(row[f"to_{name}_kmh_s"])
    ]


def _laps(count: int) -> str:
    return f"{count} clean lap{'' if count == 1 else 's'}"


def _fine(value: float) -> str:
    """Write an end of an interval of a fade to a hundredth of a second."""
    text = f"{value:+.2f}"
    return "0.00" if float(text) == 0.0 else text.replace("-", "\N{MINUS SIGN}")


def _with_bar(value_s: float, sd_s: float) -> str:
    bar = max(sd_s, 0.0005)
    return f"{clock(value_s, bar)} {_PM} {error_bar(bar)} s"
