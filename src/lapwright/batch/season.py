"""
A season: the tables of many weekends as Parquet, one part a log, for any program that queries it.

Each table is a folder of its own, parted by year and circuit as Hive does it
(`passes/season=2026/circuit=Wren%20Hollow/`).  A part is named by what is in its log, so that a
log that comes again, under another name or from another card, takes its own place and no second
one.  Parts are written whole or not at all; another run at the same time writes the same.
"""

import hashlib
import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from lapwright.batch.kept_results import digest
from lapwright.batch.season_place import place_of
from lapwright.columns import Column
from lapwright.columns.weekend import SEASON
from lapwright.errors import LogError, OutputError
from lapwright.escaping.file_names import partition_value
from lapwright.escaping.spreadsheet import storable
from lapwright.ingest.detect import load

if TYPE_CHECKING:
    import pyarrow as pa

# A part without a value of its own cannot be read beside others (pyarrow), and a word among the
# years would make words of them all.
_NO_YEAR, _NO_NAME = "0", "unnamed"
# Sixteen digits of SHA-256: two of a million logs share them once in 30 million seasons.
_ID_DIGITS = 16
_UTC = "_utc"


def check_season(season: str | Path) -> None:
    """
    Refuse a season that cannot be written, before the work.

    Raises
    ------
    OutputError
        If pyarrow is missing, or the place cannot be used.
    """
    place_of(season)
    try:
        import pyarrow  # noqa: F401  # only the extra 'parquet' brings it
    except ImportError as error:
        what = "a season is kept as Parquet, which needs pyarrow"
        raise OutputError(what, season, hint="pip install 'lapwright[parquet]'") from error


def log_id(path: Path) -> str:
    """
    Return what a log is known by in a season: its content, unpacked, wherever it lies.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str
        Hexadecimal digits.
    """
    try:
        return hashlib.sha256(load(path)).hexdigest()[:_ID_DIGITS]
    except LogError:
        # A plug-in may read what is no text.
        return digest(path)[:_ID_DIGITS]


def add_to_season(
    season: str | Path, tables: Mapping[str, pd.DataFrame], ids: Mapping[str, str]
) -> int:
    """
    Put the logs of a weekend into a season; those that are in it already are replaced.

    Parameters
    ----------
    season : path or str
        A folder, made where missing, or an address that fsspec knows.
    tables : mapping of DataFrame
        Tables of a weekend by name; ``sessions`` among them.
    ids : mapping of str
        By session, see `log_id`.

    Returns
    -------
    int
        How many logs.

    Raises
    ------
    OutputError
        If a part cannot be written.
    """
    place, sessions = place_of(season), tables["sessions"]
    good = sessions[sessions["status"] == "ok"]
    for name, table in tables.items():
        rows = dict(list(table.groupby("session", sort=False)))
        for session, start, track in zip(
            good["session"], good["start_utc"], good["track"], strict=True
        ):
            part = f"{ids[session]}.parquet"
            target = f"{name}/{_partition(start, track)}/{part}"
            if session in rows:
                more = rows[session].assign(
                    log_id=ids[session],
                    session_start_utc=start,
                )
                place.write(target, _parquet(more, SEASON[name]))
            # The clock was wrong, say, or the circuit has got a name since.
            for old in place.found(f"{name}/*/*/{part}"):
                if session not in rows or not place.same(old, target):
                    place.remove(old)
    return len(good)


def _partition(start: object, track: str) -> str:
    year = _NO_YEAR if pd.isna(start) else f"{pd.Timestamp(start).year}"  # type: ignore[arg-type, call-overload]
    return f"season={year}/circuit={partition_value(track or _NO_NAME)}"


def _parquet(table: pd.DataFrame, columns: tuple[Column, ...]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    # A millionth of a second, as in the CSV files: not every program knows finer times.
    times = {
        column.name: pd.to_datetime(table[column.name], utc=True).dt.floor("us")
        for column in columns if column.name.endswith(_UTC)
    }  # fmt: skip
    schema = pa.schema([(column.name, _kind(column)) for column in columns])
    buffer = io.BytesIO()
    arrow = pa.Table.from_pandas(storable(table).assign(**times), schema, preserve_index=False)
    pq.write_table(arrow, buffer)
    return buffer.getvalue()


def _kind(column: Column) -> "pa.DataType":
    """Return the type of a column, the same in every part whatever is missing in it."""
    import pyarrow as pa

    if column.name.endswith(_UTC):
        return pa.timestamp("us", "UTC")
    kinds = {float: pa.float64(), int: pa.int64(), bool: pa.bool_(), str: pa.string()}
    # What may be missing and is no number with a point: texts, and the numbers of laps.
    return kinds.get(column.holds, pa.string() if column.name == "flags" else pa.int64())
