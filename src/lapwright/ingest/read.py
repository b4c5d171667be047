"""`read_log`: the one door of this room."""

from dataclasses import replace
from pathlib import Path
from typing import cast

import numpy as np

from lapwright.arguments import checked
from lapwright.errors import LogError
from lapwright.ingest.archive import archive_of, content, is_there
from lapwright.ingest.assemble import assemble
from lapwright.ingest.csv.column_map import ColumnMap, read_column_map
from lapwright.ingest.detect import load
from lapwright.ingest.invariants import check_log
from lapwright.ingest.log import Log
from lapwright.ingest.plug_ins import read_by_plug_in
from lapwright.ingest.registry import read_built_in
from lapwright.kept import MISSING, Store, content_of, fingerprint, method_version


@checked
def read_log(path: str | Path, columns: str | Path | None = None) -> Log:
    """
    Read a log.

    Parameters
    ----------
    path : path
        CSV of any dialect, GPX or NMEA 0183 text, plain or gzip-compressed, or what a
        plug-in reads.  One in a ZIP archive is named behind it: ``card.zip/run1.csv``.  It is
        never written to.
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
    return _read(Path(path), columns)[0]


def read_kept(store: Store | None, path: str | Path, columns: str | Path | None = None) -> Log:
    """
    `read_log`, kept for a file of the same content: reading takes some ten times as long.

    Parameters
    ----------
    store : Store or None
        None to read the file in any case.
    path, columns : path
        As for `read_log`.

    Returns
    -------
    Log
    """
    path = Path(path)
    data = _content(path)
    if store is None or data is None:
        return read_log(path, columns)
    said = None if columns is None else content_of(Path(columns))
    about = None if columns is None else (str(columns), said)
    key = fingerprint(method_version(), "log", data, about)
    found = store.get(key)
    if found is not MISSING:
        return replace(cast("Log", found), path=path)
    log, ours = _read(path, columns)
    # Nobody but their makers knows what plug-ins depend on; and a log may be growing.
    if ours and _content(path) == data:
        store.put(key, replace(log, path=Path()))
    return log


def _read(path: Path, columns: str | Path | None) -> tuple[Log, bool]:
    """Read a log, and say whether by a reader of ours."""
    mapped = read_column_map(columns) if columns is not None else ColumnMap()
    if not is_there(path):
        load(path)
    try:
        # Numbers out of all range become infinite or none, and are judged as such; nobody needs
        # to read on the terminal that they did.
        with np.errstate(over="ignore", invalid="ignore"):
            log = assemble(read_built_in(path, mapped), path)
    except LogError:
        # A plug-in opens its file itself, which nothing in an archive is.
        other = read_by_plug_in(path) if archive_of(path) is None else None
        if other is None:
            raise
        return check_log(assemble(other, path)), False
    return check_log(log), True


def _content(path: Path) -> bytes | None:
    """What is in a log; None where it cannot be read, which whoever reads it will say."""
    try:
        return content(path)
    except (OSError, LogError):
        return None
