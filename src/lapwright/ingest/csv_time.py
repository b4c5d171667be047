"""
The time columns of a delimited text: which hold the time, on which scale, in ns.

Order of preference: GPS week and time of week; date and time; one column with both; a count of
seconds since 1970; a time of day; seconds on the logger's own clock.
"""

import time
from dataclasses import dataclass, field

import numpy as np

from lapwright.ingest.csv_table import Column, Table
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.stamps import Stamps, cells_from_texts, days_from_civil, parse
from lapwright.ingest.time_scales import (
    DAY_NS,
    GPS_EPOCH_NS,
    NANO,
    NO_TIME,
    WEEK_NS,
    Floats,
    Ints,
    continuous_ns,
    full_week,
    gps_ns_to_utc_ns,
)
from lapwright.ingest.words import TIME_UNITS

_ELAPSED = frozenset(
    "elapsed run laufzeit relative rel session log verstrichene ecoule trascorso transcurrido "
    "decorrido verstreken start lap".split()
)
_EXCEL_EPOCH_NS = -25_569 * DAY_NS


@dataclass(eq=False)
class Clock:
    """The time of every record, and what had to be assumed."""

    time_ns: Ints
    scale: str
    has_date: bool
    read_as: dict[int, str] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)


def numbers_to_ns(values: Floats, unit_ns: float, decimals: int) -> Ints:
    """
    Turn counts of a unit into whole ns, exactly as they were written.

    Parameters
    ----------
    values : ndarray, shape (n,)
        NaN gives `NO_TIME`.
    unit_ns : float
        Length of the unit. [ns]
    decimals : int
        Digits behind the decimal sign in the file: 1727615100.1 is no float64, but ten
        times it is.

    Returns
    -------
    time_ns : ndarray, shape (n,)
        [ns]
    """
    scale = 10**decimals
    good = np.isfinite(values) & (np.abs(values) * unit_ns < 9e18)
    clean = np.where(good, values, 0.0)
    if decimals <= 9 and unit_ns % scale == 0:
        ns = np.rint(clean * scale).astype(np.int64) * int(unit_ns // scale)
    else:
        whole = np.floor(clean)
        ns = (whole * unit_ns).astype(np.int64)
        ns += np.rint((clean - whole) * unit_ns).astype(np.int64)
    return np.where(good, ns, NO_TIME)


def read_clock(table: Table, month_first: bool | None, scale: str, date: str) -> Clock | None:
    """
    Read the time of every record.

    Parameters
    ----------
    table : Table
    month_first : bool or None
        From a column map.
    scale : str
        ``"utc"``, ``"gps"``, ``"local"`` from a column map, or empty.
    date : str
        ISO date of the first record from a column map, or empty.

    Returns
    -------
    Clock or None
        None where no column holds a time.
    """
    roles = table.by_role
    if "gps_tow" in roles and roles["gps_tow"].values is not None:
        clock = _gps_weeks(roles.get("gps_week"), roles["gps_tow"])
        if clock.has_date or "time" not in roles:
            return clock
    column, dates = roles.get("time"), roles.get("date")
    if column is None and dates is None:
        return None
    stamps = _stamps(table, column, month_first) if column is not None else None
    days = _stamps(table, dates, month_first) if dates is not None else None
    if dates is not None and (days is None or not days.has_date):
        days = _packed_date(table, dates)
    clock = _choose(stamps, days, column, dates)
    if clock is None:
        return None
    if clock.scale == "time_of_day":
        _add_date(clock, table, date)
    clock = _on_utc(clock, table, column or dates, stamps or days, scale)
    return _finer(clock, table)


def _choose(
    stamps: Stamps | None, days: Stamps | None, column: Column | None, dates: Column | None
) -> Clock | None:
    """Take the fullest time that the columns give."""
    if stamps is not None and stamps.has_date:
        return _absolute(stamps, column)
    if days is not None and days.has_date and days.has_time and column is None:
        return _absolute(days, dates)
    if days is not None and column is not None:
        return _date_and_time(stamps, days, column, dates)
    if stamps is not None and column is not None:
        return _time_of_day(stamps, column)
    if column is not None and column.values is not None:
        return _numeric(column)
    return None


def _add_date(clock: Clock, table: Table, date: str) -> None:
    """Give a time of day the date of the column map, or one from above the header."""
    day_ns = None
    if date:
        day_ns = int(np.datetime64(date, "ns").astype(np.int64))
    elif table.preamble:
        for cell in table.preamble:
            stamps = parse(cells_from_texts([cell.split(": ")[-1]]))
            if stamps is not None and stamps.has_date and stamps.value_ns[0] != NO_TIME:
                day_ns = int(stamps.value_ns[0] // DAY_NS * DAY_NS)
                text = f"the date is taken from {cell[:60]!r} above the header"
                clock.findings.append(finding("date_from_head", text))
                break
    if day_ns is not None:
        present = clock.time_ns != NO_TIME
        clock.time_ns = np.where(present, unwrapped(clock.time_ns) + day_ns, NO_TIME)
        clock.scale, clock.has_date = "utc", True


def unwrapped(time_ns: Ints) -> Ints:
    """Add a day where a time of day falls back by more than half a day."""
    present = np.flatnonzero(time_ns != NO_TIME)
    step = np.diff(time_ns[present])
    turns = np.where(step < -DAY_NS // 2, 1, 0) - np.where(step > DAY_NS // 2, 1, 0)
    out = time_ns.copy()
    out[present] += np.append(0, np.cumsum(turns)) * DAY_NS
    return out


def _finer(clock: Clock, table: Table) -> Clock:
    """
    Let a second time column, on the logger's own clock, say what a coarse one does not.

    A column of whole seconds gives the date and hour, one with fractions the steps.
    """
    present = clock.time_ns != NO_TIME
    if not clock.has_date or _stand(clock.time_ns[present]) < 0.2:
        return clock
    for column in table.spare_times:
        if column.values is None:
            continue
        fine = _numeric(column)
        if fine is None or fine.has_date or fine.scale != "relative":
            continue
        both = present & (fine.time_ns != NO_TIME)
        if both.sum() < 0.9 * present.sum() or _stand(fine.time_ns[both]) > 0.02:
            continue
        ahead = clock.time_ns[both] - fine.time_ns[both]
        if np.ptp(ahead) > 2 * NANO:
            continue
        # A clock in whole seconds shows the second that has begun.
        clock.time_ns = _shift(fine.time_ns, int(ahead.max()))
        clock.read_as[column.index] = "time, finer"
        text = f'the steps of time are taken from the finer column "{column.header.name}"'
        clock.findings.append(finding("finer_time", text))
        return clock
    return clock


def _stand(time_ns: Ints) -> float:
    """Share of the steps in which a clock does not move."""
    return float((np.diff(time_ns) == 0).mean()) if len(time_ns) > 1 else 0.0


def _shift(time_ns: Ints, by_ns: Ints | int) -> Ints:
    """Add to all instants that are there."""
    return np.where(time_ns == NO_TIME, NO_TIME, time_ns + by_ns)


def _stamps(table: Table, column: Column | None, month_first: bool | None) -> Stamps | None:
    """Read a column of text stamps; a column of plain numbers is none."""
    if column is None or column.kind == "number":
        return None
    return parse(table.structure.cells(column.index), month_first)


def _absolute(stamps: Stamps, column: Column | None) -> Clock:
    """One column that holds date and time."""
    ns = stamps.value_ns
    if stamps.in_leap_second.any():
        ns = continuous_ns(ns, stamps.in_leap_second)
    clock = Clock(ns, "utc", True)
    if column is not None:
        clock.read_as[column.index] = "time"
    if stamps.order:
        clock.findings.append(_order_finding(stamps.order))
    return clock


def _order_finding(order: str) -> Finding:
    text = f"dates such as 03/04/2024 leave open what the month is; read as {order}"
    return finding("date_order_assumed", f"{text} (month_first in a column map changes that)")


def _date_and_time(
    stamps: Stamps | None, days: Stamps, column: Column, dates: Column | None
) -> Clock | None:
    """A date column and a time column."""
    if stamps is not None:
        of_day = stamps.value_ns
    elif column.values is not None:
        of_day = _clock_digits(column)
        if of_day is None:
            number = _numeric(column)
            if number is not None and number.has_date:
                return number
            of_day = number.time_ns if number else np.full(len(column.values), NO_TIME)
    else:
        return None
    day_ns = days.value_ns - days.value_ns % DAY_NS
    missing = (of_day == NO_TIME) | (days.value_ns == NO_TIME)
    clock = Clock(np.where(missing, NO_TIME, day_ns + of_day), "utc", True)
    clock.read_as = {column.index: "time of day"}
    if dates is not None:
        clock.read_as[dates.index] = "date"
    if days.order:
        clock.findings.append(_order_finding(days.order))
    return clock


def _packed_date(table: Table, column: Column) -> Stamps | None:
    """Dates as one whole number: yyyymmdd, ddmmyy or yymmdd."""
    if column.kind != "number":
        return None
    cells = table.structure.cells(column.index)
    stamps = parse(cells)
    if stamps is not None and stamps.has_date:
        return stamps
    if column.values is None or not np.isfinite(column.values).any():
        return None
    value = np.where(np.isfinite(column.values), column.values, 0).astype(np.int64)
    a, month, c = value // 10000, value // 100 % 100, value % 100
    for day, year in ((a, c), (c, a)):
        full = year + np.where(year >= 69, 1900, 2000)
        number, ok = days_from_civil(full, month, day)
        if ok[value > 0].mean() > 0.9:
            ns = np.where(ok, number * DAY_NS, NO_TIME)
            return Stamps(ns, True, False, "", np.zeros(len(ns), np.bool_))
    return None


def _clock_digits(column: Column) -> Ints | None:
    """A time of day as one number hhmmss.sss, if it is that and not a count of seconds."""
    assert column.values is not None
    values = column.values[np.isfinite(column.values)]
    if len(values) == 0 or column.header.unit in ("s", "ms", "us"):
        return None
    low, high = values % 100, values // 100 % 100
    valid = values.max() < 240_000 and values.min() >= 0 and low.max() < 60 and high.max() < 60
    six = all(len(cell.split(".")[0].split(",")[0]) >= 5 for cell in column.sample)
    jumps = np.diff(values)
    minute = np.abs(jumps - np.median(jumps) - 40).min(initial=99) < 1 if len(jumps) else False
    if not valid or not (six or minute or column.header.unit == "hhmmss"):
        return None
    raw = numbers_to_ns(column.values, NANO, column.decimals)
    whole = raw // NANO
    seconds = whole // 10000 * 3600 + whole // 100 % 100 * 60 + whole % 100
    return np.where(raw == NO_TIME, NO_TIME, seconds * NANO + raw % NANO)


def _time_of_day(stamps: Stamps, column: Column) -> Clock:
    """hh:mm:ss, a time of day or a running time."""
    words = set(column.header.words)
    scale = "relative" if words & _ELAPSED else "time_of_day"
    clock = Clock(stamps.value_ns, scale, False)
    clock.read_as[column.index] = "time of day" if scale == "time_of_day" else "time"
    return clock


def _numeric(column: Column) -> Clock | None:
    """A count of seconds, milliseconds, ... since 1970, midnight or the start."""
    assert column.values is not None
    values = column.values[np.isfinite(column.values)]
    if len(values) == 0:
        return None
    typical, unit = float(np.median(values)), column.header.unit
    notes = []
    absolute = None
    for name, per_s in (("s", 1e0), ("ms", 1e3), ("us", 1e6), ("ns", 1e9)):
        # Between 1990 and 2100; a running time would have to be as long.
        if 6.3e8 * per_s < typical < 4.1e9 * per_s:
            absolute = name
    if absolute and (unit in (None, absolute) or unit not in TIME_UNITS or absolute != "s"):
        clock = Clock(
            numbers_to_ns(column.values, TIME_UNITS[absolute], column.decimals), "utc", True
        )
        clock.read_as[column.index] = f"time [{absolute} since 1970]"
        return clock
    steps = np.diff(values)
    step = float(np.median(np.abs(steps[steps != 0]))) if (steps != 0).any() else 1.0
    if unit is None and 20_000 < typical < 80_000 and step < 0.002:
        ns = numbers_to_ns(column.values, DAY_NS, 99) + _EXCEL_EPOCH_NS
        notes.append(finding("time_unit_inferred", "the time is read as days since 1899-12-30"))
        return Clock(ns, "utc", True, {column.index: "time [days]"}, notes)
    clear = unit if unit in TIME_UNITS else None
    digits = _clock_digits(column) if clear is None else None
    if digits is not None:
        return Clock(digits, "time_of_day", False, {column.index: "time of day [hhmmss]"})
    if clear is None:
        whole = column.decimals == 0 and step >= 5
        clear = "us" if whole and step >= 2000 else "ms" if whole else "s"
        if whole:
            text = f"the time has no unit; steps of {step:g} are read as {clear}"
            notes.append(finding("time_unit_inferred", text))
    ns = numbers_to_ns(column.values, TIME_UNITS[clear], column.decimals)
    return Clock(ns, "relative", False, {column.index: f"time [{clear}]"}, notes)


def _gps_weeks(week: Column | None, tow: Column) -> Clock:
    """GPS week and time of week, or the time of week alone."""
    assert tow.values is not None
    unit = tow.header.unit
    typical = np.nanmedian(tow.values) if np.isfinite(tow.values).any() else 0.0
    if unit not in TIME_UNITS:
        unit = "ms" if typical > 604_800 or "itow" in tow.header.words else "s"
    tow_ns = numbers_to_ns(tow.values, TIME_UNITS[unit], tow.decimals)
    name = f"GPS time of week [{unit}]"
    if week is None or week.values is None or not np.isfinite(week.values).any():
        text = "there is a GPS time of week but no week number, so no date is known"
        clock = Clock(tow_ns, "relative", False, {tow.index: name}, [finding("no_date", text)])
        return clock
    number = np.where(np.isfinite(week.values), week.values, -1).astype(np.int64)
    present = (number >= 0) & (tow_ns != NO_TIME)
    notes = []
    if present.any():
        full, turned = full_week(number[present], time.time_ns())
        if turned:
            text = f"the week number is the ten-bit one; week {number[present][0]} is read as {full[0]}"
            notes.append(finding("gps_week_rollover", text))
        number[present] = full
    gps_ns = np.where(present, number * WEEK_NS + tow_ns, 0)
    # One offset for the whole log: GPS time has no leap seconds, durations stay true.
    first = gps_ns[present][:1]
    offset = (gps_ns_to_utc_ns(first) - first)[0] if len(first) else GPS_EPOCH_NS
    ns = np.where(present, gps_ns + offset, NO_TIME)
    text = (
        f"GPS time turned into UTC by the leap second table ({(GPS_EPOCH_NS - offset) // NANO} s)"
    )
    notes.append(finding("gps_time", text))
    return Clock(ns, "gps", True, {week.index: "GPS week", tow.index: name}, notes)


def _on_utc(
    clock: Clock, table: Table, column: Column | None, stamps: Stamps | None, scale: str
) -> Clock:
    """Bring an absolute time to UTC by zone, offset column or stated scale."""
    words = set(column.header.words) if column is not None else set()
    dates = table.by_role.get("date")
    words |= set(dates.header.words) if dates is not None else set()
    zone = stamps.zone if stamps is not None else ""
    if not clock.has_date:
        return clock
    offset = table.by_role.get("utc_offset")
    if zone:
        clock.scale = "local" if zone == "offset" else "utc"
    elif scale == "gps" or (not scale and "gps" in words and not words & {"utc", "gmt"}):
        clock = _gps_labelled(clock, bool(scale))
    elif offset is not None:
        clock.time_ns = _minus_offset(clock.time_ns, table, offset)
        clock.scale = "local"
        clock.read_as[offset.index] = "UTC offset"
    elif stamps is not None and not scale and not words & {"utc", "gmt", "z"}:
        local = bool(words & {"local", "lokal", "lokale", "ortszeit", "lokalzeit", "locale"})
        clock.scale = "local" if local else "utc"
        text = "the time stamps name no zone; read as if they were UTC"
        hint = " (utc_offset in a column map changes that)"
        clock.findings.append(finding("time_zone_assumed", text + hint))
    elif scale:
        clock.scale = scale
    return clock


def _gps_labelled(clock: Clock, stated: bool) -> Clock:
    """Date and time that are said to be GPS time."""
    present = clock.time_ns != NO_TIME
    first = clock.time_ns[present][:1]
    if len(first):
        offset = int((gps_ns_to_utc_ns(first - GPS_EPOCH_NS) - first)[0])
        clock.time_ns = _shift(clock.time_ns, offset)
        if not stated:
            text = (
                f"the header calls it GPS time: {-offset // NANO} s were taken off to have UTC "
                '(time_scale = "utc" in a column map leaves it alone)'
            )
            clock.findings.append(finding("time_scale_assumed", text))
    clock.scale = "gps"
    return clock


def _minus_offset(time_ns: Ints, table: Table, column: Column) -> Ints:
    """Take the offset of local time from UTC off."""
    if column.values is not None:
        values = np.where(np.isfinite(column.values), column.values, 0.0)
        unit_s = 3600.0
        if column.header.unit in ("min", "s"):
            unit_s = 60.0 if column.header.unit == "min" else 1.0
        return _shift(time_ns, -np.rint(values * unit_s).astype(np.int64) * NANO)
    by_text = {text: offset_ns(text) for text in set(column.sample)}
    if len(by_text) == 1:
        return _shift(time_ns, -next(iter(by_text.values())))
    texts = [table.structure.text(row, column.index) for row in range(len(time_ns))]
    return _shift(time_ns, -np.array([offset_ns(text) for text in texts], np.int64))


def offset_ns(text: str) -> int:
    """
    Read an offset from UTC; 0 where it is none.

    >>> offset_ns("UTC+02:00") // NANO
    7200
    """
    bare = text.upper().replace("UTC", "").replace("GMT", "").strip()
    sign = -1 if bare.startswith("-") else 1
    hours, _, minutes = bare.lstrip("+-").partition(":")
    if not hours.isdigit() or (minutes and not minutes.isdigit()):
        return 0
    if len(hours) == 4:
        hours, minutes = hours[:2], hours[2:]
    return sign * (int(hours) * 60 + int(minutes or 0)) * 60 * NANO
