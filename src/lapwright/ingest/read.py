"""`read_log`: the one door of this room."""

from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.assemble import assemble
from lapwright.ingest.csv.column_map import ColumnMap, read_column_map
from lapwright.ingest.csv.read import read_csv
from lapwright.ingest.detect import WANTED, kind_of, load
from lapwright.ingest.gpx.read import read_gpx
from lapwright.ingest.log import Finding, Log
from lapwright.ingest.nmea.read import read_nmea
from lapwright.ingest.plug_ins import read_by_plug_in
from lapwright.ingest.recording import Recording


def read_log(path: str | Path, columns: str | Path | None = None) -> Log:
    """
    Read a log.

    Parameters
    ----------
    path : path
        CSV of any dialect, GPX or NMEA 0183 text, plain or gzip-compressed, or what a
        plug-in reads.  It is never written to.
    columns : path, optional
        A column map, for a CSV file whose header is not understood.

    Returns
    -------
    Log

    Raises
    ------
    LogError
        If the file cannot be used at all; what can be lived with is a finding.
    NotesError
        If the column map cannot be read.
    """
    path = Path(path)
    mapped = read_column_map(columns) if columns is not None else ColumnMap()
    if path.is_dir() or not path.exists():
        load(path)
    try:
        return assemble(_read(path, mapped), path)
    except LogError:
        other = read_by_plug_in(path)
        if other is None:
            raise
        return assemble(other, path)


def _read(path: Path, columns: ColumnMap) -> Recording:
    """Read with one of our own readers."""
    notes: list[Finding] = []
    data = load(path, notes)
    kind = "csv" if columns.path is not None else kind_of(data)
    if kind == "csv":
        recording = read_csv(data, path, columns)
    elif kind == "nmea":
        recording = read_nmea(data, path)
    elif kind == "gpx":
        recording = read_gpx(data, path)
    else:
        what = f"this is {kind.upper()} text, not a log"
        raise LogError(what, path, hint=WANTED)
    recording.findings[:0] = notes
    return recording
