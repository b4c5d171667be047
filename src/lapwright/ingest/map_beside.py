"""
The column map that lies beside a log: `columns.toml`, used without being given.

A map that is given is a must; one that merely lies there is used where it can be.  It may be
meant for another logger's files in the same folder, or be somebody else's file altogether.
"""

from pathlib import Path

from lapwright.errors import LogError, NotesError
from lapwright.ingest.archive import folder_of
from lapwright.ingest.log import Finding, Log
from lapwright.ingest.read import read_kept
from lapwright.kept import Store

FILE_NAME = "columns.toml"


def map_for(log: str | Path, columns: str | Path | None = None) -> Path | None:
    """Return the column map of a log: the given one, else the one beside it, else None."""
    if columns is not None:
        return Path(columns)
    beside = folder_of(Path(log)) / FILE_NAME
    return beside if beside.is_file() else None


def read_with_map(
    path: str | Path, columns: str | Path | None = None, store: Store | None = None
) -> tuple[Log, Path | None]:
    """
    Read a log by the column map that is given or, where there is one, by `columns.toml` beside it.

    Parameters
    ----------
    path : path
        See `lapwright.read_log`.
    columns : path, optional
        A column map; it has to fit.
    store : Store, optional
        Where logs that were read are kept.

    Returns
    -------
    log : Log
        With a finding where a map beside it was used, or could not be.
    columns : Path or None
        The map: as given, or the one beside it where the log was read by that.

    Raises
    ------
    LogError, NotesError
        As `lapwright.read_log`; where a log can be read neither with the map beside it nor
        without, what is wrong with the map.
    """
    file = map_for(path, columns)
    if file is None or columns is not None:
        return read_kept(store, path, columns), file
    try:
        log = read_kept(store, path, file)
    except (LogError, NotesError) as error:
        try:
            log = read_kept(store, path)
        except LogError:
            # Without the map there is no hope, so it was meant for this log.
            raise error from None
        if log.reader != "csv":
            return log, None
        what = getattr(error, "what", str(error))
        message = f"{FILE_NAME} beside the log is not used: {what}"
        return log.with_findings(Finding("column_map_unused", message)), None
    if log.reader != "csv":
        return log, None
    said = f"its columns are read by {FILE_NAME} beside the log"
    return log.with_findings(Finding("column_map", said)), file
