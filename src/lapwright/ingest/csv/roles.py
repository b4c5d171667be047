"""Which column of a delimited text plays which role; the column map has the last word."""

from dataclasses import replace
from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.csv.column_map import ColumnMap, suggestion
from lapwright.ingest.csv.header import Head
from lapwright.ingest.csv.header_words import Header
from lapwright.ingest.csv.structure import Structure
from lapwright.ingest.csv.table import Column, Table
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding


def name_columns(
    head: Head, structure: Structure, columns: ColumnMap, path: Path
) -> tuple[Header, ...]:
    """Give every column a header; check what a column map says against them."""
    headers = list(head.headers[: structure.fields])
    taken: set[str] = set()
    # The number to try next for each name, so that thousands of the same cost no more than others.
    turns: dict[str, int] = {}
    for index in range(structure.fields):
        if index >= len(headers) or not headers[index].name:
            headers[index : index + 1] = [Header(f"column {index + 1}", None, None, ())]
        name = new = headers[index].name
        while new in taken:
            turns[name] = turns.get(name, 1) + 1
            new = f"{name} ({turns[name]})"
        headers[index] = replace(headers[index], name=new)
        taken.add(new)
    for role, (wanted, _) in (*columns.columns.items(), *columns.channels.items()):
        known = [header.name for header in headers]
        if isinstance(wanted, int) and wanted > len(headers):
            what = f"the column map wants column {wanted} as {role}, there are {len(headers)}"
            raise LogError(what, path, head.header_line or head.data_line)
        if isinstance(wanted, str) and wanted not in known:
            what = f"the column map wants {wanted!r} as {role}, which no column is called"
            seen = ", ".join(f'"{name}"' for name in known[:30])
            raise LogError(what, path, head.header_line or None, f"The header reads: {seen}")
    return tuple(headers)


def assign(table: Table, columns: ColumnMap, notes: list[Finding]) -> None:
    """Decide which column plays which role; the column map has the last word."""
    mapped: set[int] = set()
    found = {column.header.name: column for column in table.columns}
    for part, is_role in ((columns.columns, True), (columns.channels, False)):
        for name, (wanted, unit) in part.items():
            column = table.columns[wanted - 1] if isinstance(wanted, int) else found[wanted]
            old = column.header
            column.header = Header(
                old.name if is_role else name,
                name if is_role else None,
                unit or old.unit,
                old.words,
            )
            mapped.add(column.index)
            if is_role:
                table.by_role[name] = column
    doubles = []
    for column in table.columns:
        role = column.header.role
        if role is None or column.index in mapped or _is_no_time(column):
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
    if "gps_tow" in roles and "time" in roles and not roles["time"].header.sure:
        del roles["time"]
    if not ({"latitude", "longitude"} & set(roles)) and {"x", "y"} <= set(roles):
        _positions_from_xy(table, notes)
    hemispheres_beside(table)
    if doubles:
        names = ", ".join(f'"{name}"' for name in doubles[:8])
        text = f"more than one column fits a meaning; kept as plain channels: {names}"
        notes.append(finding("column_twice", text))


def hemispheres_beside(table: Table) -> None:
    """Take a column without a meaning that holds only N and S, or E and W, beside its angle."""
    for angle, role, letters in (
        ("latitude", "lat_hemisphere", "NS"),
        ("longitude", "lon_hemisphere", "EWO"),
    ):
        column = table.by_role.get(angle)
        if column is None or role in table.by_role:
            continue
        for index in (column.index + 1, column.index - 1):
            if not 0 <= index < len(table.columns):
                continue
            other = table.columns[index]
            seen = {cell.upper() for cell in other.sample if cell}
            if other.header.role is None and seen and seen <= set(letters):
                other.header = Header(other.header.name, role, None, other.header.words)
                table.by_role[role] = other
                break


def _better(new: Column, old: Column) -> bool:
    """Prefer a filled column, then the surer word, then, for the time, stamps with a date."""
    if (old.kind == "blank") != (new.kind == "blank"):
        return old.kind == "blank"
    if old.header.sure != new.header.sure:
        return new.header.sure
    if new.header.role == "time":
        dated = [any(mark in cell for mark in "-/") for cell in (new.sample[0], old.sample[0])]
        return dated[0] and not dated[1]
    return False


def _is_no_time(column: Column) -> bool:
    """Whether a column called by an unsure word for the time is none: it does not move on."""
    if column.header.role != "time" or column.header.sure or column.kind != "number":
        return False
    return column.sample[0] == column.sample[-1] or 2 * len(set(column.sample)) < len(column.sample)


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


def refuse_unknown(table: Table, head: Head, path: Path, readings: tuple[str, ...] = ()) -> None:
    """Raise the error that helps to write a column map; `readings` are those that are possible."""
    roles = table.by_role
    missing = [role for role in ("latitude", "longitude") if role not in roles]
    if not {"time", "gps_tow", "date"} & set(roles):
        missing.insert(0, "time")
    if not missing and not readings:
        return
    names = [header.name for header in head.headers] or [
        f"column {index + 1}" for index in range(len(table.columns))
    ]
    known = {role: column.header.name for role, column in roles.items()}
    what = f"no column holds the {' or the '.join(missing or ['time'])}"
    if not head.headers:
        what = "there is no header line that says what the columns are"
    if readings:
        what += f"; the values leave more than one reading: {'; or '.join(readings[:3])}"
    raise LogError(what, path, head.header_line or head.data_line, suggestion(names, known))
