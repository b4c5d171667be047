"""`read_log`: the one door of this room."""

from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.assemble import assemble
from lapwright.ingest.column_map import ColumnMap, read_column_map
from lapwright.ingest.detect import kind_of, load
from lapwright.ingest.log import Log
from lapwright.ingest.read_csv import read_csv
from lapwright.ingest.read_gpx import read_gpx
from lapwright.ingest.read_nmea import read_nmea


def read_log(path: str | Path, columns: str | Path | None = None) -> Log:
    """
    Read a log.

    Parameters
    ----------
    path : path
        CSV of any dialect, GPX or NMEA 0183 text, plain or gzip-compressed.  It is never
        written to.
    columns : path, optional
        A column map, for a CSV file whose header is not understood.

    Returns
    -------
    Log

    Raises
    ------
    LogError
        If the file cannot be used at all; what can be lived with is a finding.
    """
    path = Path(path)
    mapped = read_column_map(columns) if columns is not None else ColumnMap()
    data = load(path)
    kind = kind_of(data)
    if kind == "csv":
        return assemble(read_csv(data, path, mapped), path)
    if kind == "nmea":
        return assemble(read_nmea(data, path), path)
    if kind == "gpx":
        return assemble(read_gpx(data, path), path)
    what = f"this is {kind.upper()}, not a log"
    raise LogError(what, path, hint="Give a CSV, GPX or NMEA 0183 text file")
