"""Weekend notes to be filled in, beside every log of a folder."""

from pathlib import Path

from lapwright.arguments import checked
from lapwright.batch.folder import logs_in
from lapwright.ingest.archive import folder_of, name_of
from lapwright.notes.template import Prepared, prepare_notes
from lapwright.notes.weekend_notes import FILE_NAME


@checked
def init_notes(folder: str | Path) -> list[Prepared]:
    """
    Write `weekend.toml` beside the logs of a folder, with every log and every key to be filled in.

    A file that is there is never replaced: logs that are missing in it are added at its end, and
    all else stays as it is.

    Parameters
    ----------
    folder : path
        The logs, in folders in it and in ZIP archives as well; each folder gets notes of its own.

    Returns
    -------
    list of Prepared
        One for each folder that has logs.

    Raises
    ------
    LogError
        If there is no log in the folder.
    NotesError
        If notes that are there cannot be read or added to; they are then left as they are.

    Examples
    --------
    >>> from shutil import copy
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> with TemporaryDirectory() as folder:
    ...     _ = copy("sample_sessions/saturday_qualifying.gpx", folder)
    ...     (prepared,) = lw.init_notes(folder)
    ...     notes = lw.read_notes(prepared.path)
    >>> prepared.added, notes["saturday_qualifying.gpx"].driver
    (('saturday_qualifying.gpx',), '')
    """
    beside: dict[Path, list[str]] = {}
    for path in logs_in(folder):
        beside.setdefault(folder_of(path), []).append(name_of(path))
    return [prepare_notes(place / FILE_NAME, names) for place, names in beside.items()]
