"""
The time columns of a delimited text: which hold the time, on which scale, in ns.

Order of preference: GPS week and time of week; date and time; one column with both; a count of
seconds since 1970; a time of day; seconds on the logger's own clock.
"""

import numpy as np

from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.time.counts import Clock, clock_digits, gps_weeks, numeric, packed_date
from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME, Ints, continuous_ns
from lapwright.ingest.time.timestamps import Stamps, cells_from_texts, parse
from lapwright.ingest.time.zones import on_utc, shift

_ELAPSED = frozenset(
    [
        "elapsed",
        "run",
        "laufzeit",
        "relative",
        "rel",
        "session",
        "log",
        "verstrichene",
        "ecoule",
        "trascorso",
        "transcurrido",
        "decorrido",
        "verstreken",
        "start",
        "lap",
    ]
)

# Cells above a header that are asked for a date; a logger writes some dozens.
_MOST_ABOVE = 1_000


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
    if "gps_tow" in roles and roles["gps_tow"].numbers is not None:
        weeks = gps_weeks(roles.get("gps_week"), roles["gps_tow"])
        if weeks.has_date or "time" not in roles:
            return weeks
    column, dates = roles.get("time"), roles.get("date")
    if column is None and dates is None:
        return None
    stamps = _stamps(table, column, month_first) if column is not None else None
    days = _stamps(table, dates, month_first) if dates is not None else None
    if dates is not None and (days is None or not days.has_date):
        days = packed_date(table, dates)
    clock = _choose(stamps, days, column, dates)
    if clock is None:
        return None
    if clock.scale == "time_of_day":
        _add_date(clock, table, date)
    clock = on_utc(clock, table, column or dates, stamps or days, scale)
    return _finer(clock, table)


def _choose(
    stamps: Stamps | None, days: Stamps | None, column: Column | None, dates: Column | None
) -> Clock | None:
    """Take the fullest time that the columns give."""
    if stamps is not None and stamps.has_date:
        return _absolute(stamps, column)
    if days is not None and days.has_date and days.has_time:
        return _absolute(days, dates)
    if days is not None and column is not None:
        return _date_and_time(stamps, days, column, dates)
    if stamps is not None and column is not None:
        return _time_of_day(stamps, column)
    if column is not None and column.numbers is not None:
        return numeric(column)
    return None


def _add_date(clock: Clock, table: Table, date: str) -> None:
    """Give a time of day the date of the column map, or one from above the header."""
    day_ns = None
    if date:
        day_ns = int(np.datetime64(date, "ns").astype(np.int64))
    elif table.preamble:
        for cell in list(dict.fromkeys(table.preamble))[:_MOST_ABOVE]:
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


def _from_zero(time_ns: Ints) -> bool:
    """Tell a running time from a time of day: it begins in the first minute."""
    present = time_ns[time_ns != NO_TIME]
    return bool(len(present) and abs(int(present[0])) < 60 * NANO)


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
    spare = [table.by_role["time"]] if "time" in table.by_role else []
    for column in (*table.spare_times, *spare):
        if column.numbers is None:
            continue
        fine = numeric(column)
        if fine is None or fine.has_date or fine.scale != "relative":
            continue
        both = present & (fine.time_ns != NO_TIME)
        if both.sum() < 0.9 * present.sum() or _stand(fine.time_ns[both]) > 0.02:
            continue
        ahead = clock.time_ns[both] - fine.time_ns[both]
        if np.ptp(ahead) > 2 * NANO:
            continue
        # A clock in whole seconds shows the second that has begun.
        clock.time_ns = shift(fine.time_ns, int(ahead.max()))
        clock.read_as[column.index] = "time, finer"
        clock.own_clock = True
        text = f'the steps of time are taken from the finer column "{column.header.name}"'
        clock.findings.append(finding("finer_time", text))
        return clock
    return clock


def _stand(time_ns: Ints) -> float:
    """Share of the steps in which a clock does not move."""
    return float((np.diff(time_ns) == 0).mean()) if len(time_ns) > 1 else 0.0


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
    elif column.numbers is not None:
        digits = clock_digits(column)
        if digits is not None:
            of_day = digits
        else:
            number = numeric(column)
            if number is None or number.has_date or _from_zero(number.time_ns):
                return number
            of_day = number.time_ns
    else:
        return None
    day_ns = days.value_ns - days.value_ns % DAY_NS
    if (days.value_ns == days.value_ns[0]).all():
        # A date that stays that of the start: midnight has to be found in the time.
        of_day = unwrapped(of_day)
    missing = (of_day == NO_TIME) | (days.value_ns == NO_TIME)
    clock = Clock(np.where(missing, NO_TIME, day_ns + of_day), "utc", True)
    clock.read_as = {column.index: "time of day"}
    if dates is not None:
        clock.read_as[dates.index] = "date"
    if days.order:
        clock.findings.append(_order_finding(days.order))
    return clock


def _time_of_day(stamps: Stamps, column: Column) -> Clock:
    """hh:mm:ss, a time of day or a running time."""
    words = set(column.header.words)
    scale = "relative" if words & _ELAPSED else "time_of_day"
    clock = Clock(stamps.value_ns, scale, False)
    clock.read_as[column.index] = "time of day" if scale == "time_of_day" else "time"
    return clock
