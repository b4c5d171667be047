"""Tables of a weekend page as texts: the sessions, a corner over them, what was tried."""

from collections.abc import Sequence
from dataclasses import dataclass

from lapwright.columns import records
from lapwright.notes.time_zone import time_zone_for
from lapwright.report.numbers import NOTHING, clock_with_sd, gap_text, plain, with_sd
from lapwright.report.weekend.data import CircuitData, Field
from lapwright.report.weekend.session_facts import QUANTITIES, SessionFacts
from lapwright.report.weekend.typical import change
from lapwright.units import Units
from lapwright.wording.event import weekend as words
from lapwright.wording.flags import flag_list
from lapwright.wording.heads import NO_LIFT, PAGE, described, shown_in
from lapwright.wording.time_of_day import utc_and_local

_MINIMUM = "min_speed_mps"


@dataclass(frozen=True)
class SessionRow:
    """
    One session in the table of sessions.

    Attributes
    ----------
    number : int
    name : str
    about : tuple of str
        Who drove, in which conditions, when.
    role : str
        ``best`` for the quickest of those it is held against.
    cells : tuple of str
        As `session_heads`.
    """

    number: int
    name: str
    about: tuple[str, ...]
    role: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class CornerRow:
    """
    One session, or one driver's change, in the table of a corner.

    Attributes
    ----------
    number : str
        Of the session; empty for a change.
    lead, driver : str
        What leads the row, and whose it is.
    role : str
        ``change`` for a change.
    cells : tuple of (str, str)
        Texts with their classes.
    """

    number: str
    lead: str
    driver: str
    role: str
    cells: tuple[tuple[str, str], ...]


def session_heads() -> tuple[str, ...]:
    """Heads of the table of sessions, after what session it was."""
    return (
        "best lap", "to the best [s]", "median", "spread (sd) [s]", "best sectors added up",
        "laps", "clean",
    )  # fmt: skip


def session_rows(circuit: CircuitData) -> list[SessionRow]:
    """
    Write the sessions of a circuit.

    Parameters
    ----------
    circuit : CircuitData

    Returns
    -------
    list of SessionRow
        The gap is to the best lap on the same surface, if the laps compare at all.
    """
    rows = []
    for part in circuit.fields:
        leader = part.bests[0] if part.bests and part.comparable else None
        rows += [_session_row(one, leader, circuit) for one in part.sessions]
    return sorted(rows, key=lambda row: row.number)


def _session_row(
    one: SessionFacts, leader: SessionFacts | None, circuit: CircuitData
) -> SessionRow:
    best, gap = NOTHING, NOTHING
    if one.best is not None:
        best = clock_with_sd(*one.best)
        if leader is not None and leader.best is not None:
            gap = "best" if one is leader else gap_to(one, leader)[0]
    pace = one.pace
    added = NOTHING if one.added_up is None else clock_with_sd(*one.added_up)
    cells = (
        best, gap, clock_with_sd(pace.median_s, pace.median_sd_s),
        with_sd(pace.spread_s, pace.spread_sd_s), added, str(len(one.laps)), str(len(one.clean)),
    )  # fmt: skip
    who = words.who(one.driver)
    said = f"{who}, {one.notes.conditions}" if one.notes.conditions else who
    role = "best" if one is leader else ""
    return SessionRow(one.number, one.name, (said, began(one, circuit)), role, cells)


def gap_to(one: SessionFacts, leader: SessionFacts) -> tuple[str, float, float]:
    """
    How far the best lap of a session is from another's.

    Parameters
    ----------
    one, leader : SessionFacts
        With best laps.

    Returns
    -------
    text : str
    gap_s, gap_sd_s : float
        Two receivers, or two days of one: their errors have nothing in common.
    """
    assert one.best is not None
    assert leader.best is not None
    gap = one.best[0] - leader.best[0]
    sd = (one.best[1] ** 2 + leader.best[1] ** 2) ** 0.5
    return gap_text(gap, sd), gap, sd


def began(one: SessionFacts, circuit: CircuitData) -> str:
    """Say when a session began."""
    if one.start_utc is None:
        return "no date in the log"
    return utc_and_local(one.start_utc, time_zone_for(one.path, circuit.track.other_members))


def lap_rows(part: Field) -> list[tuple[str, str, str, str]]:
    """
    Write every timed lap of a field.

    Parameters
    ----------
    part : Field

    Returns
    -------
    list of (str, str, str, str)
        Session, lap, time and remarks.
    """
    rows = []
    for one in part.sessions:
        for lap in records(one.laps):
            said = flag_list(lap["flags"])
            if not lap["representative"]:
                said = f"set aside: {said}" if said else "set aside"
            time = clock_with_sd(lap["time_s"], lap["time_sd_s"])
            rows.append((f"{one.number} {one.name}", str(lap["lap"]), time, said))
    return rows


def corner_heads(units: Units) -> list[str]:
    """Heads of a corner's table, after the session: of each, the mean and the best lap below."""
    return [
        f"{PAGE['passes'][name]} [{shown_in(described('passes')[name].unit, units)[0]}]"
        for name in QUANTITIES
    ]


def corner_rows(part: Field, corner: int, units: Units) -> list[CornerRow]:
    """
    Write one corner over the sessions of a field.

    Parameters
    ----------
    part : Field
    corner : int
    units : Units

    Returns
    -------
    list of CornerRow
        A row per session, then one per driver with how it changed from first to last.
    """
    rows = [
        CornerRow(str(one.number), one.name, words.who(one.driver), "", _cells(one, corner, units))
        for one in part.sessions
        if corner in one.corners
    ]
    for driver in part.drivers if part.comparable else ():
        row = _change_row(part, driver, corner, units)
        if row is not None:
            rows.append(row)
    return rows


def _cells(one: SessionFacts, corner: int, units: Units) -> tuple[tuple[str, str], ...]:
    facts = one.corners[corner]
    cells = []
    for name in QUANTITIES:
        column = described("passes")[name]
        factor = shown_in(column.unit, units)[1]
        found = facts.typical.get(name)
        text = NOTHING
        if found is not None:
            text = with_sd(found.mean * factor, found.sd * factor, column.decimals)
        elif facts.flat and name == _MINIMUM:
            text = NO_LIFT
        value, sd = facts.best[name]
        cells += [(text, ""), (with_sd(value * factor, sd * factor, column.decimals), "")]
    return tuple(cells)


def _change_row(part: Field, driver: str, corner: int, units: Units) -> CornerRow | None:
    """How a driver's typical values changed from the first to the last session that has them."""
    cells: list[tuple[str, str]] = []
    said = False
    for name in QUANTITIES:
        ends = corner_ends(part.drivers[driver], corner, name)
        text, role = NOTHING, "equal"
        if ends is not None:
            column = described("passes")[name]
            found = change(*(one.corners[corner].typical[name] for one in ends))
            factor = shown_in(column.unit, units)[1]
            text = words.change_text(found, factor, 2 if column.unit == "s" else 1)
            role, said = "" if found.resolved else "equal", True
        cells.append((text, role))
    return CornerRow("", "change", words.who(driver), "change", tuple(cells)) if said else None


def changes_shown(part: Field) -> int:
    """Count the changes that the corners' tables of a field show."""
    corners = {corner for one in part.sessions for corner in one.corners}
    return sum(
        corner_ends(sessions, corner, name) is not None
        for sessions in part.drivers.values() for corner in corners for name in QUANTITIES
        if part.comparable
    )  # fmt: skip


def corner_ends(
    sessions: Sequence[SessionFacts], corner: int, name: str
) -> tuple[SessionFacts, SessionFacts] | None:
    """Return the first and the last session with a typical value there; None where they are one."""
    known = [
        one for one in sessions if corner in one.corners and name in one.corners[corner].typical
    ]
    return (known[0], known[-1]) if len(known) > 1 else None


def number_text(value: float, sd: float, unit: str, units: Units, decimals: int) -> str:
    """Write a value in SI with its error bar in the unit that is shown."""
    factor = shown_in(unit, units)[1]
    return with_sd(value * factor, sd * factor, decimals) if value == value else plain(value)
