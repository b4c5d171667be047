"""The tables of a weekend: one row a session, one row a lap, with what the notes say."""

import io
import re
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from lapwright.batch.tables.details import Named, heads
from lapwright.batch.tables.figures import figures_of
from lapwright.batch.worker import Result
from lapwright.columns import arranged, empty, names, numbered
from lapwright.columns.weekend import ENGINE, SESSIONS, WEEKEND_LAPS
from lapwright.escaping.spreadsheet import csv_text, storable
from lapwright.escaping.unseen import encodable
from lapwright.notes.weekend_notes import LogNotes
from lapwright.outputs import whole_file

_SECTOR = re.compile(r"sector_(\d+)_s")


def session_table(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> pd.DataFrame:
    """
    One row a log.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
    named : mapping, optional
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.SESSIONS`.
    """
    rows = []
    head = heads(results, notes, named)
    for path, result in results.items():
        row: dict[str, object] = {
            **head[path], "path": encodable(str(path)), "status": result.status,
            "reason": encodable(result.reason),
            "start_utc": result.start_utc, **(result.figures or figures_of(result.laps)),
        }  # fmt: skip
        del row["log"]
        rows.append(row)
    table = arranged(pd.DataFrame(rows), SESSIONS)
    return table.assign(start_utc=pd.to_datetime(table["start_utc"], format="ISO8601", utc=True))


def lap_table(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> pd.DataFrame:
    """
    One row a lap of every log.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
    named : mapping, optional
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.WEEKEND_LAPS`.
    """
    parts, head = [], heads(results, notes, named)
    for path, result in results.items():
        if not result.laps:
            continue
        parts.append(pd.DataFrame(result.laps).assign(**head[path]))
    # A column without a single number (no log with a date, say) must not change its kind.
    whole = pd.concat([part.astype(object) for part in parts], ignore_index=True) if parts else None
    found = [] if whole is None else [_SECTOR.fullmatch(str(name)) for name in whole]
    columns = numbered(WEEKEND_LAPS, max((int(m[1]) for m in found if m), default=0))
    table = empty(columns, "weekend")
    if whole is None:
        return table
    # What the work keeps of a lap for other tables is left out here.
    return (
        whole[list(table)]
        .astype(table.dtypes.to_dict())
        .assign(start_utc=pd.to_datetime(whole["start_utc"], format="ISO8601", utc=True))
    )


def engine_table(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes], named: Named | None = None
) -> pd.DataFrame:
    """
    One row a lap and channel of the engine: temperatures, pressures, revs, volts.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
    named : mapping, optional
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.ENGINE`.  No row where no log has any.
    """
    head, columns = heads(results, notes, named), names(ENGINE, "weekend")
    rows = [head[path] | row for path, result in results.items() for row in result.engine]
    return pd.DataFrame(rows, columns=columns)


def write_table(table: pd.DataFrame, stem: Path) -> list[Path]:
    """
    Write a table as CSV, and as Parquet where pyarrow is installed.

    Parameters
    ----------
    table : DataFrame
    stem : Path
        Without an ending.

    Returns
    -------
    list of Path
        The files.
    """
    written = [stem.with_suffix(".csv")]
    text = csv_text(table, date_format="%Y-%m-%dT%H:%M:%S.%fZ")
    write_whole(written[0], text.encode())
    try:
        # Only the extra 'parquet' brings it; CSV is always there.
        import pyarrow  # noqa: F401
    except ImportError:
        return written
    buffer = io.BytesIO()
    storable(table).to_parquet(buffer, index=False)
    written.append(stem.with_suffix(".parquet"))
    write_whole(written[1], buffer.getvalue())
    return written


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all, and only if it says something new."""
    if path.exists() and path.read_bytes() == data:
        return
    with whole_file(path) as part:
        part.write_bytes(data)
