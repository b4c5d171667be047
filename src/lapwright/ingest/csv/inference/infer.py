"""
Columns whose header says nothing, understood from their values where only one reading is plausible.

Only looked at where a role is missing that a log cannot do without.  Candidates for the time and
the positions are put together; what could not be a drive is dropped (`drive_evidence`).  One
reading left is used and said in a finding; two are an error that names both.
"""

from dataclasses import replace

import numpy as np

from lapwright.ingest.csv import time_columns as csv_time
from lapwright.ingest.csv.column_map import ColumnMap
from lapwright.ingest.csv.header_words import SPEED_UNITS, hinted_angle, hinted_time
from lapwright.ingest.csv.inference.candidates import (
    Angle,
    angle_candidates,
    is_counter,
    is_slow,
    time_candidates,
    unit_variants,
)
from lapwright.ingest.csv.inference.choice import best, counts_seconds
from lapwright.ingest.csv.inference.drive_evidence import (
    Motion,
    SpeedFit,
    fit_speed,
    motion_of,
)
from lapwright.ingest.csv.inference.readings import ANGLES, Reading, in_words, name, reason
from lapwright.ingest.csv.roles import hemispheres_beside
from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.csv.values import read_positions
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.time.counts import Clock

# More pairs than these are no few columns that might be positions; nothing is told then.
_MAX_PAIRS = 60


def infer_columns(table: Table, columns: ColumnMap, notes: list[Finding]) -> tuple[str, ...]:
    """
    Find the roles that are missing, where the values leave one reading only.

    Parameters
    ----------
    table : Table
        With its numbers loaded; the roles found are entered.
    columns : ColumnMap
        What it names is left alone.
    notes : list of Finding
        One is added for each column found.

    Returns
    -------
    readings : tuple of str
        Two or more plausible readings in words; empty where there is one, or none.
    """
    wanted = [role for role in ANGLES if role not in table.by_role]
    if lacks_time(table):
        wanted.insert(0, "time")
    if not wanted:
        return ()
    found = _plausible(table, columns, wanted)
    if not found and "time" not in wanted and "time" not in columns.columns:
        found = _plausible(table, columns, ["time unit", *wanted])
    found = best(found, wanted)
    if len(found) > 1:
        return tuple(dict.fromkeys(in_words(reading) for reading in found))
    if not found:
        return ()
    reading = found[0]
    if reading.counter and not counts_seconds(reading):
        counter = name(reading.roles["time"])
        return (in_words(reading), f"{counter} as a mere count of the lines, at another rate")
    _enter(table, reading, notes)
    return ()


def lacks_time(table: Table) -> bool:
    """Tell whether no column is known to hold a time of day or a running time."""
    if {"time", "gps_tow"} & set(table.by_role):
        return False
    dates = table.by_role.get("date")
    if dates is None:
        return True
    if any(":" in cell for cell in dates.sample):
        return False
    return csv_time.read_clock(table, None, "", "") is None


def _plausible(table: Table, columns: ColumnMap, wanted: list[str]) -> list[Reading]:
    """Put every time together with every pair of angles; keep what can be a drive."""
    used = {column.index for role, column in table.by_role.items() if role not in ("x", "y")}
    named = {header for header, _ in columns.channels.values()}
    free = [
        column
        for column in table.columns
        if column.index not in used
        and not {column.index + 1, column.header.name} & named
        and column.header.name not in columns.channels
        and column.header.role in (None, "time", "x", "y")
    ]
    times: list[dict[str, Column]] = [{}]
    if "time" in wanted:
        times = time_candidates(table, free)
    elif "time unit" in wanted:
        times = unit_variants(table.by_role.get("time"))
    # The same whatever the time is, of which there may be hundreds.
    loose = [angle for column in free for angle in angle_candidates(table, column)]
    out = []
    for time in times:
        trial = replace(table, by_role={**table.by_role, **time})
        clock = _clock(trial, columns)
        if clock is None:
            continue
        pairs = _pairs(trial, loose, time, clock)
        if len(pairs) > _MAX_PAIRS:
            return []
        for pair in pairs:
            reading = _judge(trial, free, time, pair, clock)
            if reading is not None:
                out.append(reading)
    return out


def _clock(table: Table, columns: ColumnMap) -> Clock | None:
    """Read the time as it would be read with these roles."""
    month_first = columns.file.get("month_first")
    clock = csv_time.read_clock(
        table,
        month_first if isinstance(month_first, bool) else None,
        columns.text("time_scale"),
        columns.text("date"),
    )
    if clock is not None and clock.scale == "time_of_day":
        clock.time_ns = csv_time.unwrapped(clock.time_ns)
    return clock


def _pairs(
    table: Table, loose: list[Angle], time: dict[str, Column], clock: Clock
) -> list[tuple[Angle, Angle] | None]:
    """Latitude and longitude in every way the values allow; None stands for the known pair."""
    if set(ANGLES) <= set(table.by_role):
        return [None]
    taken = {column.index for column in time.values()}
    loose = [one for one in loose if one.column.index not in taken]
    sides = []
    for role in ANGLES:
        known = table.by_role.get(role)
        angles = loose if known is None else angle_candidates(table, known)
        sides.append([angle for angle in angles if is_slow(angle, clock.time_ns)])
    return [
        (north, east)
        for north in sides[0]
        for east in sides[1]
        if north.column.index != east.column.index
        and north.unit == east.unit
        and north.can_be("latitude")
        and east.can_be("longitude")
    ]


def _judge(
    table: Table,
    free: list[Column],
    time: dict[str, Column],
    pair: tuple[Angle, Angle] | None,
    clock: Clock,
) -> Reading | None:
    """Work out what one reading implies; None where it cannot be a drive."""
    roles = dict(time)
    if pair is None:
        decimal = table.by_role["latitude"].decimal
        lat, lon, _ = read_positions(table, decimal, clock.time_ns)
    else:
        lat, lon = pair[0].degrees, pair[1].degrees
        roles |= {
            role: angle.as_role(role)
            for role, angle in zip(ANGLES, pair, strict=True)
            if role not in table.by_role
        }
    motion = motion_of(clock.time_ns, lat, lon)
    if motion is None or not motion.is_a_drive():
        return None
    speed, allowed = _speed(table, free, roles, motion)
    if not allowed:
        return None
    hints = sum(
        hinted_angle(column.header) == role if role in ANGLES else hinted_time(column.header)
        for role, column in roles.items()
    )
    if any(hinted_angle(roles[role].header) not in (None, role) for role in ANGLES & roles.keys()):
        return None
    counter = "time" in time and clock.scale == "relative" and is_counter(time["time"])
    return Reading(roles, clock, motion, counter, hints, speed)


def _speed(
    table: Table, free: list[Column], roles: dict[str, Column], motion: Motion
) -> tuple[tuple[Column, SpeedFit] | None, bool]:
    """Find the column of speed, and say whether a known one allows this reading."""
    known = table.by_role.get("speed")
    if known is not None:
        values = known.numbers
        if values is None or np.isfinite(values[motion.row]).mean() < 0.5:
            return None, True
        fit = fit_speed(values, motion, known.header.unit, named=True)
        return (None, False) if fit is None else ((known, fit), True)
    taken = {column.index for column in roles.values()}
    closest: tuple[Column, SpeedFit] | None = None
    for column in free:
        if column.index in taken or column.numbers is None or column.header.role is not None:
            continue
        unit = column.header.unit
        if unit is not None and unit not in SPEED_UNITS:
            continue
        fit = fit_speed(column.numbers, motion, unit)
        if fit is not None and (closest is None or fit.spread < closest[1].spread):
            closest = column, fit
    return closest, True


def _enter(table: Table, reading: Reading, notes: list[Finding]) -> None:
    """Give the columns their roles, and say so."""
    for role, column in reading.roles.items():
        notes.append(finding("inferred_columns", reason(role, column, reading)))
    chosen = dict(reading.roles)
    if reading.speed is not None and "speed" not in table.by_role:
        column, fit = reading.speed
        chosen["speed"] = replace(
            column, header=replace(column.header, role="speed", unit=fit.unit)
        )
        text = (
            f"{name(column)} taken for the speed in {fit.unit}: it agrees with the distance "
            f"between the positions (spread {fit.spread:.1%})"
        )
        notes.append(finding("inferred_columns", text))
    for role, column in chosen.items():
        real = table.columns[column.index]
        for old in [key for key, other in table.by_role.items() if other is real]:
            del table.by_role[old]
        real.header = column.header
        table.by_role[role] = real
    for column in reading.spare_times:
        table.columns[column.index].header = column.header
        table.spare_times.append(table.columns[column.index])
    hemispheres_beside(table)
