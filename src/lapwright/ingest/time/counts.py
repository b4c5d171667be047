"""Times written as numbers: seconds since 1970, GPS weeks, packed dates and clocks."""

import time
from dataclasses import dataclass, field

import numpy as np

from lapwright.ingest.csv.header_words import TIME_UNITS
from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.time.scales import (
    DAY_NS,
    GPS_EPOCH_NS,
    NANO,
    NO_TIME,
    WEEK_NS,
    Floats,
    Ints,
    full_week,
    gps_ns_to_utc_ns,
)
from lapwright.ingest.time.timestamps import Stamps, days_from_civil, parse

_EXCEL_EPOCH_NS = -25_569 * DAY_NS
_MAX_WEEK = 10_000


@dataclass(eq=False)
class Clock:
    """The time of every record, and what had to be assumed."""

    time_ns: Ints
    scale: str
    has_date: bool
    read_as: dict[int, str] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    own_clock: bool | None = None  # as in `Recording`


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


def packed_date(table: Table, column: Column) -> Stamps | None:
    """Dates as one whole number: yyyymmdd, ddmmyy or yymmdd."""
    if column.kind != "number":
        return None
    cells = table.structure.cells(column.index)
    stamps = parse(cells)
    if stamps is not None and stamps.has_date:
        return stamps
    if column.numbers is None or not np.isfinite(column.numbers).any():
        return None
    value = np.where(np.abs(column.numbers) < 1e9, column.numbers, 0).astype(np.int64)
    a, month, c = value // 10000, value // 100 % 100, value % 100
    for day, year in ((a, c), (c, a)):
        full = year + np.where(year >= 69, 1900, 2000)
        number, ok = days_from_civil(full, month, day)
        if (value > 0).any() and ok[value > 0].mean() > 0.9:
            ns = np.where(ok, number * DAY_NS, NO_TIME)
            return Stamps(ns, True, False, "", np.zeros(len(ns), np.bool_))
    return None


def clock_digits(column: Column) -> Ints | None:
    """A time of day as one number hhmmss.sss, if it is that and not a count of seconds."""
    assert column.numbers is not None
    values = column.numbers[np.isfinite(column.numbers)]
    if len(values) == 0 or column.header.unit in ("s", "ms", "us"):
        return None
    low, high = values % 100, values // 100 % 100
    valid = values.max() < 240_000 and values.min() >= 0 and low.max() < 60 and high.max() < 60
    six = all(len(cell.split(".")[0].split(",")[0]) >= 5 for cell in column.sample)
    jumps = np.diff(values)
    minute = np.abs(jumps - np.median(jumps) - 40).min(initial=99) < 1 if len(jumps) else False
    if not valid or not (six or minute or column.header.unit == "hhmmss"):
        return None
    raw = numbers_to_ns(column.numbers, NANO, column.decimals)
    whole = raw // NANO
    seconds = whole // 10000 * 3600 + whole // 100 % 100 * 60 + whole % 100
    return np.where(raw == NO_TIME, NO_TIME, seconds * NANO + raw % NANO)


def numeric(column: Column) -> Clock | None:
    """A count of seconds, milliseconds, ... since 1970, midnight or the start."""
    assert column.numbers is not None
    values = column.numbers[np.isfinite(column.numbers)]
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
            numbers_to_ns(column.numbers, TIME_UNITS[absolute], column.decimals), "utc", True
        )
        clock.read_as[column.index] = f"time [{absolute} since 1970]"
        return clock
    steps = np.diff(values)
    step = float(np.median(np.abs(steps[steps != 0]))) if (steps != 0).any() else 1.0
    if unit is None and 20_000 < typical < 80_000 and step < 0.002:
        ns = numbers_to_ns(column.numbers, DAY_NS, 99)
        ns = np.where(ns == NO_TIME, NO_TIME, ns + _EXCEL_EPOCH_NS)
        notes.append(finding("time_unit_inferred", "the time is read as days since 1899-12-30"))
        return Clock(ns, "utc", True, {column.index: "time [days]"}, notes)
    clear = unit if unit in TIME_UNITS else None
    digits = clock_digits(column) if clear is None else None
    if digits is not None:
        return Clock(digits, "time_of_day", False, {column.index: "time of day [hhmmss]"})
    if clear is None:
        whole = column.decimals == 0 and step >= 5
        clear = "us" if whole and step >= 2000 else "ms" if whole else "s"
        if whole:
            text = f"the time has no unit; steps of {step:g} are read as {clear}"
            notes.append(finding("time_unit_inferred", text))
    ns = numbers_to_ns(column.numbers, TIME_UNITS[clear], column.decimals)
    return Clock(ns, "relative", False, {column.index: f"time [{clear}]"}, notes)


def gps_weeks(week: Column | None, tow: Column) -> Clock:
    """GPS week and time of week, or the time of week alone."""
    assert tow.numbers is not None
    unit = tow.header.unit
    typical = np.nanmedian(tow.numbers) if np.isfinite(tow.numbers).any() else 0.0
    if unit not in TIME_UNITS:
        unit = "ms" if typical > 604_800 else "s"
    tow_ns = numbers_to_ns(tow.numbers, TIME_UNITS[unit], tow.decimals)
    name = f"GPS time of week [{unit}]"
    if week is None or week.numbers is None or not np.isfinite(week.numbers).any():
        text = "there is a GPS time of week but no week number, so no date is known"
        clock = Clock(tow_ns, "relative", False, {tow.index: name}, [finding("no_date", text)])
        clock.own_clock = False
        return clock
    with np.errstate(invalid="ignore"):
        # The present week is below 3000; products of ever larger ones would not fit into int64.
        number = np.where(np.abs(week.numbers) < _MAX_WEEK, week.numbers, -1).astype(np.int64)
    present = (number >= 0) & (tow_ns != NO_TIME)
    notes = []
    if present.any():
        full, turned = full_week(number[present], time.time_ns())
        if turned:
            text = f"the week number has ten bits; week {number[present][0]} is read as {full[0]}"
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
