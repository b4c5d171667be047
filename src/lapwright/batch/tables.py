"""The tables of a weekend: one row a session, one row a lap, with what the notes say."""

import io
import re
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from lapwright.batch.figures import figures_of
from lapwright.batch.worker import Result
from lapwright.columns import arranged, empty, names, numbered
from lapwright.columns.weekend import ENGINE, NOTES, SESSIONS, WEEKEND_LAPS
from lapwright.notes.weekend_notes import LogNotes
from lapwright.outputs import whole_file

_NOTES = tuple(column.name for column in NOTES)
_SECTOR = re.compile(r"sector_(\d+)_s")


def session_table(results: Mapping[Path, Result], notes: Mapping[str, LogNotes]) -> pd.DataFrame:
    """
    One row a log.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of str to LogNotes
        By file name.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.SESSIONS`.
    """
    rows = []
    for path, result in results.items():
        row: dict[str, object] = {
            "path": str(path), "status": result.status, "reason": result.reason,
            "track": result.track, **_noted(notes.get(path.name, LogNotes())),
            "start_utc": result.start_utc, **(result.figures or figures_of(result.laps)),
        }  # fmt: skip
        rows.append(row)
    table = arranged(pd.DataFrame(rows), SESSIONS)
    return table.assign(start_utc=pd.to_datetime(table["start_utc"], format="ISO8601", utc=True))


def lap_table(results: Mapping[Path, Result], notes: Mapping[str, LogNotes]) -> pd.DataFrame:
    """
    One row a lap of every log.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of str to LogNotes
        By file name.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.WEEKEND_LAPS`.
    """
    parts = []
    for path, result in results.items():
        if not result.laps:
            continue
        head: dict[str, str] = {
            "session": path.name.split(".")[0],
            "log": path.name,
            "track": result.track,
        }
        head |= _noted(notes.get(path.name, LogNotes()))
        parts.append(pd.DataFrame(result.laps).assign(**head))
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


def engine_table(results: Mapping[Path, Result], notes: Mapping[str, LogNotes]) -> pd.DataFrame:
    """
    One row a lap and channel of the engine: temperatures, pressures, revs, volts.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of str to LogNotes
        By file name.

    Returns
    -------
    DataFrame
        See `lapwright.columns.weekend.ENGINE`.  No row where no log has any.
    """
    rows = []
    for path, result in results.items():
        noted = notes.get(path.name, LogNotes())
        head = {"session": path.name.split(".")[0], "log": path.name, "driver": noted.driver,
                "car": noted.car}  # fmt: skip
        rows += [head | row for row in result.engine]
    return pd.DataFrame(rows, columns=names(ENGINE, "weekend"))


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
    text = table.to_csv(index=False, lineterminator="\n", date_format="%Y-%m-%dT%H:%M:%S.%fZ")
    write_whole(written[0], text.encode())
    try:
        # Only the extra 'parquet' brings it; CSV is always there.
        import pyarrow  # noqa: F401
    except ImportError:
        return written
    buffer = io.BytesIO()
    table.to_parquet(buffer, index=False)
    written.append(stem.with_suffix(".parquet"))
    write_whole(written[1], buffer.getvalue())
    return written


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all, and only if it says something new."""
    if path.exists() and path.read_bytes() == data:
        return
    with whole_file(path) as part:
        part.write_bytes(data)


def _noted(notes: LogNotes) -> dict[str, str]:
    """Return what the notes say, lists as text."""
    said = {name: getattr(notes, name) for name in _NOTES}
    return {k: "; ".join(v) if isinstance(v, tuple) else v for k, v in said.items()}
