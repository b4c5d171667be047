"""Where time, latitude and longitude stand in a line of a log, and another text in their place."""

import re
from functools import reduce
from operator import xor

import pandas as pd

_GPX = {
    "time": re.compile(rb"<time>([^<]*)</time>"),
    "lat": re.compile(rb'lat="([^"]*)"'),
    "lon": re.compile(rb'lon="([^"]*)"'),
}
_NMEA = {
    b"RMC": {"time": 1, "lat": 3, "lon": 5, "date": 9},
    b"GGA": {"time": 1, "lat": 2, "lon": 4},
}
_CSV = {"time": 0, "lat": 1, "lon": 2}


def delimiter_of(line: bytes) -> bytes:
    """The delimiter of a line of CSV as `good_logs` writes it."""
    return b";" if b";" in line else b","


def is_fix(line: bytes, suffix: str) -> bool:
    """Whether a line holds a position."""
    if suffix == ".gpx":
        return line.startswith(b"<trkpt")
    if suffix == ".nmea":
        return line[3:6] in _NMEA
    return line[:1].isdigit()


def span(line: bytes, suffix: str, what: str) -> tuple[int, int] | None:
    """First and one past the last byte of a field; None where the line has none."""
    if suffix == ".gpx":
        match = _GPX[what].search(line) if what in _GPX else None
        return match.span(1) if match else None
    if suffix == ".nmea":
        place, mark = _NMEA.get(line[3:6], {}).get(what), b","
    else:
        place, mark = _CSV.get(what), delimiter_of(line)
    parts = line.split(mark)
    if place is None or place >= len(parts):
        return None
    start = sum(len(part) + 1 for part in parts[:place])
    return start, start + len(parts[place])


def get(line: bytes, suffix: str, what: str) -> bytes | None:
    """Text of a field."""
    at = span(line, suffix, what)
    return None if at is None else line[at[0] : at[1]]


def put(line: bytes, suffix: str, what: str, text: bytes) -> bytes:
    """The line with another text in a field, its checksum right again."""
    at = span(line, suffix, what)
    return line if at is None else summed(line[: at[0]] + text + line[at[1] :], suffix)


def summed(line: bytes, suffix: str) -> bytes:
    """The line with a right checksum: as if the receiver itself had said so."""
    if suffix != ".nmea" or not line.startswith(b"$") or b"*" not in line:
        return line
    body = line[1 : line.rindex(b"*")]
    return b"$%s*%02X\r\n" % (body, reduce(xor, body, 0))


def later(line: bytes, suffix: str, by_s: float) -> bytes:
    """The line with its time moved."""
    text = get(line, suffix, "time")
    if text is None:
        return line
    stamp = text.decode()
    if suffix == ".nmea":
        return _later_nmea(line, stamp, by_s)
    if "T" in stamp:
        when = pd.Timestamp(stamp) + pd.Timedelta(seconds=by_s)
        new = f"{when:%Y-%m-%dT%H:%M:%S}.{when.microsecond // 1000:03d}Z"
    elif ":" in stamp:
        when = pd.Timestamp(f"2026-02-06T{stamp}") + pd.Timedelta(seconds=by_s)
        new = f"{when:%H:%M:%S}.{when.microsecond // 1000:03d}"
    else:
        new = f"{float(stamp.replace(',', '.')) + by_s:.3f}"
        new = new.replace(".", ",") if "," in stamp else new
    return put(line, suffix, "time", new.encode())


def _later_nmea(line: bytes, stamp: str, by_s: float) -> bytes:
    date = (get(line, ".nmea", "date") or b"060226").decode()
    when = pd.to_datetime(f"{date} {stamp}", format="%d%m%y %H%M%S.%f")
    when += pd.Timedelta(seconds=by_s)
    line = put(line, ".nmea", "date", f"{when:%d%m%y}".encode())
    clock = f"{when:%H%M%S}.{when.microsecond // 1000:03d}"
    return put(line, ".nmea", "time", clock.encode())
