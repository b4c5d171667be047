"""The columns of a delimited text in their final unit, put into a `Recording`."""

import re

import numpy as np
import pandas as pd

from lapwright.ingest import positions
from lapwright.ingest.csv.header_words import SPEED_UNITS, length_factor, plain
from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.log import ColumnReading, Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import Bools, Floats, Ints
from lapwright.ingest.units import angle_of_whole_numbers, in_a_turn

_PACKED_LAT = re.compile(r"[-+NS ]*\d{4}[.,]\d+ ?[NS]?")
_PACKED_LON = re.compile(r"[-+EWO ]*\d{5}[.,]\d+ ?[EWO]?")
_DRIVER = ("throttle", "brake", "steering", "rpm", "gear")
_MAX_HEADERS = 500
_TIME_ROLES = ("time", "date", "gps_week", "gps_tow", "utc_offset")
_FIX_ROLES = ("course", "height", "satellites", "hdop", "position_sd", "speed_sd")


def read_positions(
    table: Table, decimal: str, time_ns: Ints
) -> tuple[Floats, Floats, Finding | None]:
    """Latitude and longitude in degrees."""
    values, units = [], []
    for role, letters in (("latitude", "lat_hemisphere"), ("longitude", "lon_hemisphere")):
        column = table.by_role[role]
        o_is_east = any(word in ("breite", "lange", "laenge") for word in column.header.words)
        if column.numbers is None:
            column.numbers = positions.angles(
                table.structure.cells(column.index), decimal, o_is_east
            )
            column.series = None
        value = column.numbers
        sign = table.by_role.get(letters)
        if sign is not None and sign.kind == "text":
            south = positions.southern(table.structure.cells(sign.index), o_is_east)
            value = np.where(south, -np.abs(value), value)
        values.append(value)
        units.append(column.header.unit)
    north, east = (table.by_role[role].sample for role in ("latitude", "longitude"))
    packed = all(_PACKED_LAT.fullmatch(cell) for cell in north) and all(
        _PACKED_LON.fullmatch(cell) for cell in east
    )
    speed = table.by_role.get("speed")

    def angle_deg(lat: Floats, lon: Floats) -> float:
        """Hold whole numbers against the speed."""
        if speed is None:
            return 1e-7
        return angle_of_whole_numbers(lat, lon, speed.numbers, speed.header.unit, time_ns)

    return positions.to_degrees(values[0], values[1], units[0], units[1], packed, angle_deg)


def no_fix(table: Table) -> Bools | None:
    """Rows that the receiver calls invalid."""
    column = table.by_role.get("fix")
    if column is None:
        return None
    if column.numbers is not None:
        # A constant 0 says nothing but that the column is not what its name says.
        zero = column.numbers <= 0
        return None if zero.all() else zero
    cells = table.structure.cells(column.index)
    bad = np.zeros(len(cells), np.bool_)
    for word in (b"V", b"NO", b"NONE", b"NO FIX", b"NOFIX", b"VOID", b"INVALID", b"FALSE", b"N"):
        upper = np.where((cells >= 97) & (cells <= 122), cells - 32, cells)
        padded = np.frombuffer(word.ljust(cells.shape[1])[: cells.shape[1]], np.uint8)
        if len(word) <= cells.shape[1]:
            bad |= (upper == padded).all(axis=1)
    return None if bad.all() else bad


def part_numbers(table: Table, recording: Recording) -> None:
    """Number the tracks of a file that names them in a column, and say so."""
    column = table.by_role.get("part")
    if column is None or len(table.structure) < 2:
        return
    cells = table.structure.cells(column.index)
    changes = (cells[1:] != cells[:-1]).any(axis=1)
    if not changes.any() or changes.mean() > 0.1:
        return
    recording.block = np.append(0, np.cumsum(changes))
    text = f'"{column.header.name}" tells {int(changes.sum()) + 1} tracks apart; joined in time'
    recording.findings.append(finding("several_tracks", text, table.structure.line[1:][changes]))


def measures(table: Table, recording: Recording) -> None:
    """Height, course, accuracies and the like in their final unit."""
    for role in _FIX_ROLES:
        column = table.by_role.get(role)
        if column is None or column.numbers is None:
            continue
        value, unit = column.numbers, column.header.unit
        if role == "height":
            recording.measures["height_m"] = value * length_factor(unit)
        elif role == "course":
            value = np.degrees(value) if unit == "rad" else value
            recording.measures["course_deg"] = in_a_turn(value)
        elif role == "position_sd":
            # A horizontal accuracy is the root of both axes' squares: one axis is 1/sqrt 2.
            recording.measures["position_sd_m"] = value * length_factor(unit) / np.sqrt(2)
        elif role == "speed_sd":
            factor = SPEED_UNITS.get(unit or "m/s", 1.0)
            recording.measures["speed_sd_mps"] = value * factor
        else:
            recording.measures[role] = value
    north, east = table.by_role.get("sd_north"), table.by_role.get("sd_east")
    if north is None or east is None or north.numbers is None or east.numbers is None:
        return
    both = np.sqrt((north.numbers**2 + east.numbers**2) / 2)
    recording.measures["position_sd_m"] = both * length_factor(north.header.unit)


def channels(table: Table, recording: Recording, time_read_as: dict[int, str]) -> None:
    """Keep all other columns as channels; say how each was read."""
    used = {table.by_role[role].index: role for role in table.by_role}
    for column in table.columns:
        role = used.get(column.index)
        series = column.series
        if column.numbers is not None:
            series = pd.Series(column.numbers)
            filled = float(np.isfinite(column.numbers).mean())
        else:
            filled = 1.0 if column.sample else 0.0
        read_as = time_read_as.get(column.index, role)
        if role in ("x", "y", "part"):
            read_as = None
        keep = role is None or role in (*_DRIVER, "x", "y", "part")
        keep |= role in _TIME_ROLES and column.index not in time_read_as
        unit = column.header.unit
        name = column.header.name
        if keep and filled > 0:
            if series is None:
                series = _words(table, column)
            recording.channels[name] = series
            recording.channel_units[name] = unit
            if role in _DRIVER:
                recording.roles[role] = name
            read_as = role if role in _DRIVER else "channel"
        recording.columns.append(ColumnReading(name, read_as, unit, filled))


def _words(table: Table, column: Column) -> "pd.Series":
    """A column of words."""
    cells = table.structure.cells(column.index)
    width = cells.shape[1]
    raw = np.ascontiguousarray(cells).view(f"S{width}").ravel()
    texts = np.char.strip(np.char.decode(raw, "utf-8", "replace"))
    blank = texts == ""
    if not blank.any():
        return pd.Series(texts, dtype="str")
    words = texts.astype(object)
    words[blank] = pd.NA
    return pd.Series(words, dtype="str")


def say_unreadable(table: Table, recording: Recording) -> None:
    """Report fields that should be numbers and are not; a header in the body once for its line."""
    broken = [column for column in table.columns if column.unreadable is not None]
    if not broken:
        return
    wrong = np.stack([column.unreadable for column in broken if column.unreadable is not None])
    again = np.zeros(len(table.structure), np.bool_)
    for row in np.flatnonzero(wrong.sum(axis=0) > 1)[:_MAX_HEADERS]:
        again[row] = all(
            tuple(plain(table.structure.text(int(row), column.index)).split())
            == column.header.words
            for column, bad in zip(broken, wrong[:, row], strict=True)
            if bad
        )
    if again.any():
        text = "the header is repeated in the table; that line was left out"
        recording.findings.append(finding("unreadable_value", text, table.structure.line[again]))
    for column, bad in zip(broken, wrong & ~again, strict=True):
        if bad.any():
            text = f'fields of "{column.header.name}" that are not numbers were taken as blank'
            recording.findings.append(finding("unreadable_value", text, table.structure.line[bad]))
