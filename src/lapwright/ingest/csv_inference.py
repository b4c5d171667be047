"""
Columns whose header says nothing, understood from their values where only one reading is plausible.

Only looked at where a role is missing that a log cannot do without.  Candidates for the time and
the positions are put together; what could not be a drive is dropped (`drive_evidence`).  One
reading left is used and said in a finding; two are an error that names both.
"""

from dataclasses import dataclass, replace

import numpy as np

from lapwright.ingest import csv_time
from lapwright.ingest.column_map import ColumnMap
from lapwright.ingest.csv_candidates import (
    Angle,
    angle_candidates,
    is_counter,
    time_candidates,
    unit_variants,
)
from lapwright.ingest.csv_roles import hemispheres_beside
from lapwright.ingest.csv_table import Column, Table
from lapwright.ingest.csv_values import read_positions
from lapwright.ingest.drive_evidence import (
    MAX_TOP_MPS,
    NEAR_UNIT,
    Motion,
    SpeedFit,
    comes_round,
    fit_speed,
    motion_of,
)
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.time_counts import Clock
from lapwright.ingest.time_scales import NANO, NO_TIME
from lapwright.ingest.words import SPEED_UNITS, hinted_angle, hinted_time

ANGLES = ("latitude", "longitude")
# Of two readings, the one that fits the logged speed clearly better stands: by this factor.
_CLEARLY = 0.7
# More pairs than these are no few columns that might be positions; nothing is told then.
_MOST_PAIRS = 60
# Fixes a second that receivers and loggers are set to, other than one (common practice, no source).
_RATES_HZ = (2.0, 4.0, 5.0, 8.0, 10.0, 12.5, 16.0, 18.0, 20.0, 25.0, 50.0, 100.0)
_UNIT_NAMES = {"s": "seconds", "ms": "milliseconds", "us": "microseconds", "ns": "nanoseconds"}


@dataclass(frozen=True, eq=False)
class Reading:
    """One way to read the columns: what would play which role, and what follows from it."""

    roles: dict[str, Column]
    clock: Clock
    motion: Motion
    counter: bool
    hints: int
    speed: tuple[Column, SpeedFit] | None

    @property
    def spread(self) -> float:
        """How badly the logged speed fits; infinite without one."""
        return self.speed[1].spread if self.speed is not None else np.inf


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
    found = _best(found, wanted)
    if len(found) > 1:
        return tuple(dict.fromkeys(_in_words(reading) for reading in found))
    if not found:
        return ()
    reading = found[0]
    if reading.counter and not _counts_seconds(reading, table):
        column = _name(reading.roles["time"])
        return (_in_words(reading), f"{column} as a mere count of the lines, at another rate")
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
    out = []
    for time in times:
        trial = replace(table, by_role={**table.by_role, **time})
        clock = _clock(trial, columns)
        if clock is None:
            continue
        pairs = _pairs(trial, free, time, clock)
        if len(pairs) > _MOST_PAIRS:
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
    table: Table, free: list[Column], time: dict[str, Column], clock: Clock
) -> list[tuple[Angle, Angle] | None]:
    """Latitude and longitude in every way the values allow; None stands for the known pair."""
    if set(ANGLES) <= set(table.by_role):
        return [None]
    taken = {column.index for column in time.values()}
    loose = [
        angle
        for column in free
        if column.index not in taken
        for angle in angle_candidates(table, column, clock.time_ns)
    ]
    sides = []
    for role in ANGLES:
        known = table.by_role.get(role)
        sides.append(loose if known is None else angle_candidates(table, known, clock.time_ns))
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
        fit = fit_speed(values, motion, known.header.unit)
        return (None, False) if fit is None else ((known, fit), True)
    taken = {column.index for column in roles.values()}
    best: tuple[Column, SpeedFit] | None = None
    for column in free:
        if column.index in taken or column.numbers is None or column.header.role is not None:
            continue
        unit = column.header.unit
        if unit is not None and unit not in SPEED_UNITS:
            continue
        fit = fit_speed(column.numbers, motion, unit)
        if fit is not None and (best is None or fit.spread < best[1].spread):
            best = column, fit
    return best, True


def _best(found: list[Reading], wanted: list[str]) -> list[Reading]:
    """Drop the readings that another one plainly beats, and those without enough evidence."""
    if not found:
        return []
    most = max(reading.hints for reading in found)
    found = [reading for reading in found if reading.hints == most]
    closest = min(reading.spread for reading in found)
    if np.isfinite(closest):
        found = [reading for reading in found if reading.spread * _CLEARLY <= closest]
    if set(ANGLES) & set(wanted):
        found = [reading for reading in found if _is_borne_out(reading)]
    if not all(reading.counter for reading in found):
        found = [reading for reading in found if not reading.counter]
    return _one_clock_each(found)


def _is_borne_out(reading: Reading) -> bool:
    """Ask more of positions than smooth motion: the speed, the names, or a second lap."""
    named = all(
        hinted_angle(column.header) == role
        for role, column in reading.roles.items()
        if role in ANGLES
    )
    return reading.speed is not None or named or comes_round(reading.motion)


def _one_clock_each(found: list[Reading]) -> list[Reading]:
    """Of columns that tell the same time keep the one with the date, else the finest."""
    order = sorted(
        found,
        key=lambda one: (one.clock.has_date, len(np.unique(one.clock.time_ns)), one.hints),
        reverse=True,
    )
    out: list[Reading] = []
    for reading in order:
        same = [one for one in out if _same_places(one, reading) and _same_time(one, reading)]
        if not same:
            out.append(reading)
    return out


def _same_places(one: Reading, other: Reading) -> bool:
    """Tell whether two readings have the same columns for the positions."""
    places = [
        tuple(
            (r.roles[role].index, r.roles[role].header.unit) for role in ANGLES if role in r.roles
        )
        for r in (one, other)
    ]
    return places[0] == places[1]


def _same_time(one: Reading, other: Reading) -> bool:
    """Tell whether two clocks go alike, to the second of a coarse one."""
    first, second = one.clock.time_ns, other.clock.time_ns
    both = (first != NO_TIME) & (second != NO_TIME)
    if not both.any():
        return False
    ahead = first[both] - second[both]
    if one.clock.has_date and other.clock.has_date and abs(np.median(ahead)) > NANO:
        return False
    return bool(np.ptp(ahead) <= NANO)


def _counts_seconds(reading: Reading, table: Table) -> bool:
    """Tell whether a column that rises by one a line can be nothing but seconds."""
    if reading.speed is None:
        # At any other rate the car would have to be faster than any is; but only positions that
        # are known to be some say that much.
        return (
            not set(ANGLES) & set(reading.roles)
            and reading.motion.top_mps * min(_RATES_HZ) > MAX_TOP_MPS
        )
    column, fit = reading.speed
    if column.header.unit in SPEED_UNITS:
        return True
    return not any(
        abs(np.log(fit.ratio * rate_hz / SPEED_UNITS[unit])) < np.log1p(NEAR_UNIT)
        for rate_hz in _RATES_HZ
        for unit in ("m/s", "km/h", "mph", "knots")
    )


def _enter(table: Table, reading: Reading, notes: list[Finding]) -> None:
    """Give the columns their roles, and say so."""
    for role, column in reading.roles.items():
        notes.append(finding("inferred_columns", _reason(role, column, reading)))
    chosen = dict(reading.roles)
    if reading.speed is not None and "speed" not in table.by_role:
        column, fit = reading.speed
        chosen["speed"] = replace(
            column, header=replace(column.header, role="speed", unit=fit.unit)
        )
        text = (
            f"{_name(column)} taken for the speed in {fit.unit}: it agrees with the distance "
            f"between the positions (spread {fit.spread:.1%})"
        )
        notes.append(finding("inferred_columns", text))
    for role, column in chosen.items():
        real = table.columns[column.index]
        for old in [name for name, other in table.by_role.items() if other is real]:
            del table.by_role[old]
        real.header = column.header
        table.by_role[role] = real
    hemispheres_beside(table)


def _name(column: Column) -> str:
    """Call a column by its number, and by its header if it has one."""
    number = f"column {column.index + 1}"
    return number if column.header.name == number else f'{number} ("{column.header.name}")'


def _time_name(reading: Reading) -> str:
    """Say what the time column holds."""
    column = reading.roles["time"]
    if reading.clock.has_date and column.kind == "text":
        return "the date and time"
    read_as = reading.clock.read_as.get(column.index, "time")
    if "since 1970" in read_as:
        unit = read_as.split("[")[1].split()[0]
        return f"the time in {_UNIT_NAMES[unit]} since 1970"
    if "of day" in read_as:
        return "the time of day"
    unit_name = _UNIT_NAMES.get(column.header.unit or "")
    return f"the time in {unit_name}" if unit_name else "the time"


def _top(reading: Reading) -> str:
    return f"{reading.motion.top_mps * 3.6:.0f} km/h"


def _reason(role: str, column: Column, reading: Reading) -> str:
    """Say what a column was taken for, and why."""
    if role == "time":
        moves = f"the positions then move at up to {_top(reading)}"
        return f"{_name(column)} taken for {_time_name(reading)}: it rises evenly, and {moves}"
    if role == "date":
        return f"{_name(column)} taken for the date: it holds dates beside the time"
    other = ANGLES[1 - ANGLES.index(role)]
    beside = reading.roles.get(other)
    pair = f"with {_name(beside)} as the {other}" if beside is not None else f"with the {other}"
    reasons = []
    if hinted_angle(column.header) == role:
        reasons.append("its name hints at it")
    reasons.append(f"{pair} the positions move evenly, at up to {_top(reading)}")
    if reading.speed is not None:
        reasons.append(f"and as fast as {_name(reading.speed[0])} says")
    elif len(reasons) == 1:
        reasons.append("and come round to the same places")
    return f"{_name(column)} taken for the {role}: {', '.join(reasons)}"


def _in_words(reading: Reading) -> str:
    """Put a reading in one phrase."""
    parts = [
        f"{_name(column)} as {_time_name(reading) if role == 'time' else 'the ' + role}"
        for role, column in reading.roles.items()
    ]
    return f"{', '.join(parts)} (up to {_top(reading)})"
