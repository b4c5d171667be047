"""`read_log`: the one door of this room."""

from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.assemble import assemble
from lapwright.ingest.csv.column_map import ColumnMap, read_column_map
from lapwright.ingest.detect import load
from lapwright.ingest.log import Log
from lapwright.ingest.plug_ins import read_by_plug_in
from lapwright.ingest.registry import read_built_in


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

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> len(log.fixes), round(log.rate_hz), [one.code for one in log.findings]
    (7902, 10, ['disorder'])
    """
    path = Path(path)
    mapped = read_column_map(columns) if columns is not None else ColumnMap()
    if path.is_dir() or not path.exists():
        load(path)
    try:
        return assemble(read_built_in(path, mapped), path)
    except LogError:
        other = read_by_plug_in(path)
        if other is None:
            raise
        return assemble(other, path)
