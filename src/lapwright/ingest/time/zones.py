"""From the zone, the offset or the scale that a file names to UTC."""

import numpy as np

from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.recording import finding
from lapwright.ingest.time.counts import Clock
from lapwright.ingest.time.scales import (
    GPS_EPOCH_NS,
    NANO,
    NO_TIME,
    Ints,
    gps_ns_to_utc_ns,
)
from lapwright.ingest.time.timestamps import Stamps


def shift(time_ns: Ints, by_ns: Ints | int) -> Ints:
    """Add to all instants that are there."""
    return np.where(time_ns == NO_TIME, NO_TIME, time_ns + by_ns)


def on_utc(
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
        clock.time_ns = shift(clock.time_ns, offset)
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
    if column.numbers is not None:
        # 140000 s are ahead of any zone; what is beyond is none.
        values = np.where(np.abs(column.numbers) < 140_000.0, column.numbers, 0.0)
        unit_s = 3600.0
        if column.header.unit in ("min", "s"):
            unit_s = 60.0 if column.header.unit == "min" else 1.0
        elif np.abs(values).max() > 15:
            # +0200 has lost its plus and zero: hours and minutes.
            values = np.trunc(values / 100) + np.sign(values) * (np.abs(values) % 100) / 60
        return shift(time_ns, -np.rint(values * unit_s).astype(np.int64) * NANO)
    by_text = {text: offset_ns(text) for text in set(column.sample)}
    if len(by_text) == 1:
        return shift(time_ns, -next(iter(by_text.values())))
    texts = [table.structure.text(row, column.index) for row in range(len(time_ns))]
    return shift(time_ns, -np.array([offset_ns(text) for text in texts], np.int64))


def offset_ns(text: str) -> int:
    """
    Read an offset from UTC; 0 where it is none.

    >>> offset_ns("UTC+02:00") // NANO
    7200
    """
    bare = text.upper().replace("UTC", "").replace("GMT", "").strip()
    sign = -1 if bare.startswith("-") else 1
    hours, _, minutes = bare.lstrip("+-").partition(":")
    if not hours.isdecimal() or (minutes and not minutes.isdecimal()):
        return 0
    if len(hours) > 4 or len(minutes) > 2:
        return 0
    if len(hours) == 4:
        hours, minutes = hours[:2], hours[2:]
    return sign * (int(hours) * 60 + int(minutes or 0)) * 60 * NANO
