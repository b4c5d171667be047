"""
The formats that can be read: our own by name and content, those of plug-ins by their claim.

`read_log` and the search for logs in a folder both ask here, so that a file which can be read is
also found.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.csv.column_map import ColumnMap
from lapwright.ingest.csv.read import read_csv
from lapwright.ingest.detect import WANTED, kind_of, load
from lapwright.ingest.gpx.read import read_gpx
from lapwright.ingest.log import Finding
from lapwright.ingest.nmea.read import read_nmea
from lapwright.ingest.plug_ins import claimed
from lapwright.ingest.recording import Recording


@dataclass(frozen=True, slots=True)
class Format:
    """
    One format of our own.

    Attributes
    ----------
    endings : tuple of str
        What the names of such files usually end with; the content decides when a file is read.
    read : callable
        From the bytes, the path and a column map to a `Recording`.
    """

    endings: tuple[str, ...]
    read: Callable[[bytes, Path, ColumnMap], Recording]


# By the name that `lapwright.ingest.detect.kind_of` gives.
FORMATS = {
    "csv": Format((".csv", ".tsv", ".txt", ".log"), read_csv),
    "gpx": Format((".gpx",), lambda data, path, _: read_gpx(data, path)),
    "nmea": Format((".nmea", ".nma"), lambda data, path, _: read_nmea(data, path)),
}
LOG_ENDINGS = tuple(ending for one in FORMATS.values() for ending in one.endings)


def may_be_log(path: Path) -> bool:
    """
    Tell whether a file is to be taken for a log: by its name, or because a plug-in claims it.

    Parameters
    ----------
    path : Path
        Of a file that exists.

    Returns
    -------
    bool
    """
    return named_like_log(path.name) or claimed(path)


def named_like_log(name: str) -> bool:
    """Tell whether a file is named like the logs that we read."""
    return name.lower().removesuffix(".gz").endswith(LOG_ENDINGS)


def read_built_in(path: Path, columns: ColumnMap) -> Recording:
    """
    Read a file with the reader of ours that its content asks for.

    Parameters
    ----------
    path : Path
    columns : ColumnMap
        One that was given makes it a CSV file.

    Returns
    -------
    Recording

    Raises
    ------
    LogError
        If none can read it.
    """
    notes: list[Finding] = []
    data = load(path, notes)
    kind = "csv" if columns.path is not None else kind_of(data)
    if kind not in FORMATS:
        what = f"this is {kind.upper()} text, not a log"
        raise LogError(what, path, hint=WANTED)
    recording = FORMATS[kind].read(data, path, columns)
    recording.findings[:0] = notes
    return recording
