"""The reader of delimited text: from bytes to a `Recording`."""

from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.csv import time_columns as csv_time
from lapwright.ingest.csv.column_map import ColumnMap
from lapwright.ingest.csv.header import Head, read_head
from lapwright.ingest.csv.header_words import SPEED_UNITS
from lapwright.ingest.csv.inference.infer import infer_columns
from lapwright.ingest.csv.roles import assign, name_columns, refuse_unknown
from lapwright.ingest.csv.structure import Structure, pad_short, scan
from lapwright.ingest.csv.table import Table, load_numbers, sample_columns
from lapwright.ingest.csv.values import (
    channels,
    measures,
    no_fix,
    part_numbers,
    read_positions,
    say_unreadable,
)
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import NO_TIME
from lapwright.ingest.time.zones import offset_ns


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
        what = "it contains no table of positions"
        hint = "One line per fix is needed, with time, latitude and longitude"
        raise LogError(what, path, hint=hint)
    headers = name_columns(head, structure, columns, path)
    decimal = columns.text("decimal") or head.decimal
    table = Table(
        structure,
        sample_columns(structure, headers, decimal),
        head.delimiter,
        head.encoding,
        preamble=head.preamble,
    )
    assign(table, columns, notes)
    load_numbers(table, [column for column in table.columns if column.kind != "text"])
    refuse_unknown(table, head, path, infer_columns(table, columns, notes))
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
        structure.ragged_end = structure.ragged_end[:-1]
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
    """Digits behind the decimal sign; none in a whole number, however long."""
    sign = max(cell.rfind("."), cell.rfind(","))
    return len(cell) - 1 - sign if sign >= 0 and cell[-1:].isdigit() else 0


def _say_ragged(structure: Structure, notes: list[Finding]) -> None:
    """Report the lines that were left out because they are not whole."""
    if len(structure.ragged_line) == 0:
        return
    number = ", ".join(str(value) for value in np.unique(structure.ragged_fields)[:5])
    text = f"lines with {number} fields instead of {structure.fields} were left out"
    notes.append(finding("ragged_line", text, structure.ragged_line))


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
        what = f'the column "{name}" contains no time that can be read'
        hint = "Name the right column, and its unit, in a column map"
        raise LogError(what, path, head.data_line, hint)
    if columns.text("utc_offset") and clock.has_date:
        by = offset_ns(columns.text("utc_offset"))
        clock.time_ns = np.where(clock.time_ns == NO_TIME, NO_TIME, clock.time_ns - by)
        clock.scale = "local"
        clock.findings = [note for note in clock.findings if note.code != "time_zone_assumed"]
    lat, lon, unit_note = read_positions(table, head.decimal, clock.time_ns)
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
        clock.own_clock,
        no_fix=no_fix(table),
        findings=notes,
    )
    if speed is not None and speed.numbers is not None:
        recording.speed = speed.numbers
        unit = speed.header.unit
        recording.speed_unit = unit if unit in SPEED_UNITS else None
    measures(table, recording)
    part_numbers(table, recording)
    channels(table, recording, clock.read_as)
    say_unreadable(table, recording)
    return recording
