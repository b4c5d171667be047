"""The reader of delimited text: from bytes to a `Recording`."""

import re
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.errors import LogError
from lapwright.ingest import csv_time, positions
from lapwright.ingest.column_map import ColumnMap, suggestion
from lapwright.ingest.csv_header import Head, read_head
from lapwright.ingest.csv_scan import Structure, pad_short, scan
from lapwright.ingest.csv_table import Column, Table, load_numbers, sample_columns
from lapwright.ingest.log import ColumnReading, Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time_scales import Bools, Floats
from lapwright.ingest.words import SPEED_UNITS, Header, length_factor

_PACKED_LAT = re.compile(r"[-+NS ]*\d{4}[.,]\d+ ?[NS]?")
_PACKED_LON = re.compile(r"[-+EWO ]*\d{5}[.,]\d+ ?[EWO]?")
_DRIVER = ("throttle", "brake", "steering", "rpm", "gear")
_TIME_ROLES = ("time", "date", "gps_week", "gps_tow", "utc_offset")
_FIX_ROLES = ("course", "height", "satellites", "hdop", "position_sd", "speed_sd")


def read_csv(data: bytes, path: Path, columns: ColumnMap) -> Recording:
    """
    Read delimited text.

    Raises
    ------
    LogError
        If no columns can be found that hold time, latitude and longitude.
    """
    if b"\n" not in data:
        data = data.replace(b"\r", b"\n")
    notes: list[Finding] = []
    data = _without_nul(data, notes)
    has_header = columns.file.get("header")
    head = read_head(
        data, columns.text("delimiter"), has_header if isinstance(has_header, bool) else None
    )
    structure = _scan(data, head, notes)
    _say_ragged(structure, notes)
    if len(structure) == 0 or structure.fields < 2:
        what = "no table of positions is in it"
        hint = "A log has one line a fix, with time, latitude and longitude"
        raise LogError(what, path, hint=hint)
    headers = _name_columns(head, structure, columns, path)
    decimal = columns.text("decimal") or head.decimal
    table = Table(
        structure,
        sample_columns(structure, headers, decimal),
        head.delimiter,
        head.encoding,
        preamble=head.preamble,
    )
    _assign(table, columns, notes)
    _refuse_unknown(table, head, path)
    load_numbers(table, [column for column in table.columns if column.kind != "text"])
    return _record(table, columns, notes, head, path)


def _scan(data: bytes, head: Head, notes: list[Finding]) -> Structure:
    """Find the records, those of a logger that leaves out blanks at the end included."""
    structure = scan(data, head.data_offset, head.delimiter, head.data_line)
    wide = len(head.headers)
    if structure.fields < wide and (structure.ragged_fields == wide).sum() >= 2:
        structure = scan(data, head.data_offset, head.delimiter, head.data_line, wide)
    structure = _cut_end(structure, data, notes)
    padded = pad_short(structure, head.delimiter)
    if padded is None:
        return structure
    short = structure.ragged_line[structure.ragged_fields < structure.fields]
    text = "lines that end early, as many do here; what they leave out is taken for blank"
    notes.append(finding("short_line", text, short))
    return scan(padded, 0, head.delimiter, head.data_line, structure.fields)


def _without_nul(data: bytes, notes: list[Finding]) -> bytes:
    """Take out the zero bytes that a logger without power leaves."""
    if b"\0" not in data:
        return data
    body = data.rstrip(b"\0")
    text = f"{data.count(0)} zero bytes (a logger that lost power leaves them) were skipped"
    notes.append(finding("zero_bytes", text))
    return body.replace(b"\0", b"")


def _cut_end(structure: Structure, data: bytes, notes: list[Finding]) -> Structure:
    """Leave out a last line that ends in the middle of a number."""
    if data.endswith(b"\n") or len(structure) < 3:
        return structure
    last_line = structure.line[-1]
    if len(structure.ragged_line) and structure.ragged_line[-1] > last_line:
        lines = structure.ragged_line[-1:]
        structure.ragged_line = structure.ragged_line[:-1]
        structure.ragged_fields = structure.ragged_fields[:-1]
    else:
        column = structure.fields - 1
        rows = range(max(0, len(structure) - 12), len(structure) - 1)
        decimals = {_decimals(structure.text(row, column)) for row in rows}
        mine = _decimals(structure.text(len(structure) - 1, column))
        if len(decimals) > 1 or mine >= min(decimals):
            return structure
        lines = structure.line[-1:]
        structure.starts, structure.ends = structure.starts[:-1], structure.ends[:-1]
        structure.line, structure.whole = structure.line[:-1], False
    notes.append(finding("truncated_end", "the last line is cut off and was left out", lines))
    return structure


def _decimals(cell: str) -> int:
    """Digits behind the decimal sign."""
    return len(cell) - 1 - max(cell.rfind("."), cell.rfind(",")) if cell[-1:].isdigit() else 0


def _say_ragged(structure: Structure, notes: list[Finding]) -> None:
    """Report the lines that were left out because they are not whole."""
    if len(structure.ragged_line) == 0:
        return
    number = ", ".join(str(value) for value in np.unique(structure.ragged_fields)[:5])
    text = f"lines with {number} fields instead of {structure.fields} were left out"
    notes.append(finding("ragged_line", text, structure.ragged_line))


def _name_columns(
    head: Head, structure: Structure, columns: ColumnMap, path: Path
) -> tuple[Header, ...]:
    """Give every column a header; check what a column map says against them."""
    headers = list(head.headers[: structure.fields])
    taken: set[str] = set()
    for index in range(structure.fields):
        if index >= len(headers) or not headers[index].name:
            headers[index : index + 1] = [Header(f"column {index + 1}", None, None, ())]
        name, turn = headers[index].name, 2
        while headers[index].name in taken:
            old = headers[index]
            headers[index] = Header(f"{name} ({turn})", old.role, old.unit, old.words)
            turn += 1
        taken.add(headers[index].name)
    for role, (wanted, _) in columns.columns.items():
        known = [header.name for header in headers]
        if isinstance(wanted, int) and wanted > len(headers):
            what = f"the column map wants column {wanted} as {role}, there are {len(headers)}"
            raise LogError(what, path, head.header_line or head.data_line)
        if isinstance(wanted, str) and wanted not in known:
            what = f"the column map wants {wanted!r} as {role}, which no column is called"
            seen = ", ".join(f'"{name}"' for name in known[:30])
            raise LogError(what, path, head.header_line or None, f"The header reads: {seen}")
    return tuple(headers)


def _assign(table: Table, columns: ColumnMap, notes: list[Finding]) -> None:
    """Decide which column plays which role; the column map has the last word."""
    mapped: set[int] = set()
    for role, (wanted, unit) in columns.columns.items():
        for column in table.columns:
            if wanted in (column.header.name, column.index + 1):
                old = column.header
                column.header = Header(old.name, role, unit or old.unit, old.words)
                table.by_role[role] = column
                mapped.add(column.index)
    doubles = []
    for column in table.columns:
        role = column.header.role
        if role is None or column.index in mapped:
            continue
        if role in table.by_role:
            other = table.by_role[role]
            loser = column
            if other.index not in mapped and _better(column, other):
                loser, table.by_role[role] = other, column
            if role == "time":
                table.spare_times.append(loser)
            else:
                doubles.append(loser.header.name)
            continue
        table.by_role[role] = column
    roles = table.by_role
    if not ({"latitude", "longitude"} & set(roles)) and {"x", "y"} <= set(roles):
        _positions_from_xy(table, notes)
    if doubles:
        names = ", ".join(f'"{name}"' for name in doubles[:8])
        text = f"more than one column fits a meaning; kept as plain channels: {names}"
        notes.append(finding("column_twice", text))


def _better(new: Column, old: Column) -> bool:
    """Prefer a filled column, then, for the time, stamps with a date, then finer digits."""
    if (old.kind == "blank") != (new.kind == "blank"):
        return old.kind == "blank"
    if new.header.role == "time":
        dated = [any(mark in cell for mark in "-/") for cell in (new.sample[0], old.sample[0])]
        return dated[0] and not dated[1]
    return False


def _positions_from_xy(table: Table, notes: list[Finding]) -> None:
    """Take X and Y for longitude and latitude where their values can be that."""
    x, y = table.by_role["x"], table.by_role["y"]
    try:
        east = [abs(float(cell.replace(",", "."))) for cell in x.sample]
        north = [abs(float(cell.replace(",", "."))) for cell in y.sample]
    except ValueError:
        return
    fine = min(x.decimals, y.decimals) >= 4
    if east and north and max(east) <= 180 and max(north) <= 90 and fine:
        table.by_role.update(longitude=x, latitude=y)
        text = f'"{x.header.name}" and "{y.header.name}" are read as longitude and latitude'
        notes.append(finding("position_columns_assumed", text))


def _refuse_unknown(table: Table, head: Head, path: Path) -> None:
    """Raise the error that helps to write a column map."""
    roles = table.by_role
    missing = [role for role in ("latitude", "longitude") if role not in roles]
    if not {"time", "gps_tow", "date"} & set(roles):
        missing.insert(0, "time")
    if not missing:
        return
    names = [header.name for header in head.headers] or [
        f"column {index + 1}" for index in range(len(table.columns))
    ]
    known = {role: column.header.name for role, column in roles.items()}
    what = f"no column holds the {' or the '.join(missing)}"
    if not head.headers:
        what = "there is no header line that says what the columns are"
    raise LogError(what, path, head.header_line or head.data_line, suggestion(names, known))


def _record(
    table: Table, columns: ColumnMap, notes: list[Finding], head: Head, path: Path
) -> Recording:
    """Put the parts together."""
    roles = table.by_role
    month_first = columns.file.get("month_first")
    clock = csv_time.read_clock(
        table,
        month_first if isinstance(month_first, bool) else None,
        columns.text("time_scale"),
        columns.text("date"),
    )
    if clock is None:
        name = next(
            roles[role].header.name for role in ("time", "date", "gps_tow") if role in roles
        )
        what = f'the column "{name}" holds no time that can be read'
        hint = "Name the right column, and its unit, in a column map"
        raise LogError(what, path, head.data_line, hint)
    if columns.text("utc_offset") and clock.has_date:
        by = csv_time.offset_ns(columns.text("utc_offset"))
        clock.time_ns = np.where(
            clock.time_ns == csv_time.NO_TIME, csv_time.NO_TIME, clock.time_ns - by
        )
        clock.scale = "local"
        clock.findings = [note for note in clock.findings if note.code != "time_zone_assumed"]
    lat, lon, unit_note = _read_positions(table, decimal=head.decimal)
    notes.extend(clock.findings)
    if unit_note:
        notes.append(unit_note)
    speed = roles.get("speed")
    recording = Recording(
        "csv",
        table.structure.line,
        clock.time_ns,
        clock.scale,
        lat,
        lon,
        clock.has_date,
        no_fix=_no_fix(table),
        findings=notes,
    )
    if speed is not None and speed.values is not None:
        recording.speed = speed.values
        unit = speed.header.unit
        recording.speed_unit = unit if unit in SPEED_UNITS else None
    _measures(table, recording)
    _channels(table, recording, clock.read_as)
    _say_unreadable(table, recording)
    return recording


def _read_positions(table: Table, decimal: str) -> tuple[Floats, Floats, Finding | None]:
    """Latitude and longitude in degrees."""
    values, units = [], []
    for role, letters in (("latitude", "lat_hemisphere"), ("longitude", "lon_hemisphere")):
        column = table.by_role[role]
        o_is_east = any(word in ("breite", "lange", "laenge") for word in column.header.words)
        if column.values is None:
            column.values = positions.angles(
                table.structure.cells(column.index), decimal, o_is_east
            )
            column.series = None
        value = column.values
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
    return positions.to_degrees(values[0], values[1], units[0], units[1], packed)


def _no_fix(table: Table) -> Bools | None:
    """Rows that the receiver calls invalid."""
    column = table.by_role.get("fix")
    if column is None:
        return None
    if column.values is not None:
        # A constant 0 says nothing but that the column is not what its name says.
        zero = column.values <= 0
        return None if zero.all() else zero
    cells = table.structure.cells(column.index)
    bad = np.zeros(len(cells), np.bool_)
    for word in (b"V", b"NO", b"NONE", b"NO FIX", b"NOFIX", b"VOID", b"INVALID", b"FALSE", b"N"):
        upper = np.where((cells >= 97) & (cells <= 122), cells - 32, cells)
        padded = np.frombuffer(word.ljust(cells.shape[1])[: cells.shape[1]], np.uint8)
        if len(word) <= cells.shape[1]:
            bad |= (upper == padded).all(axis=1)
    return None if bad.all() else bad


def _measures(table: Table, recording: Recording) -> None:
    """Height, course, accuracies and the like in their final unit."""
    for role in _FIX_ROLES:
        column = table.by_role.get(role)
        if column is None or column.values is None:
            continue
        value, unit = column.values, column.header.unit
        if role == "height":
            recording.measures["height_m"] = value * length_factor(unit)
        elif role == "course":
            value = np.degrees(value) if unit == "rad" else value
            recording.measures["course_deg"] = value % 360.0
        elif role == "position_sd":
            # A horizontal accuracy is the root of both axes' squares: one axis is 1/sqrt 2.
            recording.measures["position_sd_m"] = value * length_factor(unit) / np.sqrt(2)
        elif role == "speed_sd":
            factor = SPEED_UNITS.get(unit or "m/s", 1.0)
            recording.measures["speed_sd_mps"] = value * factor
        else:
            recording.measures[role] = value
    north, east = table.by_role.get("sd_north"), table.by_role.get("sd_east")
    if north is not None and east is not None:
        if north.values is not None and east.values is not None:
            both = np.sqrt((north.values**2 + east.values**2) / 2)
            recording.measures["position_sd_m"] = both * length_factor(north.header.unit)


def _channels(table: Table, recording: Recording, time_read_as: dict[int, str]) -> None:
    """Keep all other columns as channels; say how each was read."""
    used = {table.by_role[role].index: role for role in table.by_role}
    for column in table.columns:
        role = used.get(column.index)
        series = column.series
        if column.values is not None:
            series = pd.Series(column.values)
            filled = float(np.isfinite(column.values).mean())
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
    texts = np.char.decode(raw, "utf-8", "replace")
    return pd.Series(np.char.strip(texts), dtype="str").replace("", pd.NA)


def _say_unreadable(table: Table, recording: Recording) -> None:
    """Report fields that should be numbers and are not."""
    for column in table.columns:
        if column.unreadable is not None and column.unreadable.any():
            lines = table.structure.line[column.unreadable]
            text = f'fields of "{column.header.name}" that are no number were taken for blank'
            recording.findings.append(finding("unreadable_value", text, lines))
