"""Where track files are: the library, a folder of the user's, the folder of the logs."""

import re
from pathlib import Path

from lapwright.arguments import checked
from lapwright.errors import TrackError
from lapwright.escaping.file_names import file_stem, free_file
from lapwright.geometry.track import Track
from lapwright.geometry.trackfile.read_write import read_track, write_track
from lapwright.ingest.archive import folder_of

ENDINGS = (".geojson", ".json")
# A circuit is some hundred kilobytes; a file like this is a map. [bytes]
_LARGEST = 20_000_000


def library_folder(folder: str | Path | None = None) -> Path:
    """Return the folder of track files: the given one, or the user's own data folder."""
    if folder is not None:
        return Path(folder)
    from platformdirs import user_data_path  # only the default needs it

    return user_data_path("lapwright", appauthor=False) / "tracks"


def library_files(folder: str | Path | None = None) -> tuple[Path, ...]:
    """Return the track files of the library, by name; none where there is not a folder."""
    place = library_folder(folder)
    if not place.is_dir():
        return ()
    return tuple(sorted(p for p in place.iterdir() if p.suffix.lower() in (".geojson", ".json")))


@checked
def save_to_library(track: Track, folder: str | Path | None = None) -> Path:
    """
    Write a track into the library.

    Parameters
    ----------
    track : Track
        With a name, which gives the file its name.
    folder : str or Path, optional
        The library; else the user's own data folder. Made where it is missing.

    Returns
    -------
    Path
        The new file; a file that is there already is never replaced.

    Raises
    ------
    OutputError
        If the file cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> track = lw.read_track("sample_sessions/wren_hollow.geojson")
    >>> with TemporaryDirectory() as folder:
    ...     lw.save_to_library(track, folder).name
    'wren_hollow.geojson'
    """
    place = library_folder(folder)
    place.mkdir(parents=True, exist_ok=True)
    file = new_track_file(place, track.name)
    write_track(track, file)
    return file


def new_track_file(place: Path, name: str) -> Path:
    """Return a file of a folder that is not there yet, called after a circuit."""
    return free_file(place, file_stem(name, "track"), ".geojson")


def check_library(folder: str | Path) -> None:
    """
    Refuse a folder of track files that is none.

    Raises
    ------
    TrackError
        If it is missing or no folder.
    """
    place = Path(folder)
    if not place.is_dir():
        what = "is not a folder" if place.exists() else "there is no such folder"
        raise TrackError(what, place, hint="Give --tracks the folder that holds the track files")


def files_beside(log: str | Path) -> tuple[Path, ...]:
    """Return the files in the folder of a log, or in a folder, that may be track files."""
    place = Path(log)
    folder = place if place.is_dir() else folder_of(place)
    try:
        found = [p for p in folder.iterdir() if p.suffix.lower() == ".geojson" and p.is_file()]
        return tuple(sorted(p for p in found if p.stat().st_size <= _LARGEST))
    except OSError:
        # A folder that may not be listed, though a file in it may be read.
        return ()


def read_if_track(file: Path, *, in_library: bool) -> Track | None:
    """
    Read a file that may be a track file.

    Parameters
    ----------
    file : Path
    in_library : bool
        Whether it lies in a folder of track files, where a ``.geojson`` is meant as one;
        elsewhere only a file that speaks of a role is.

    Returns
    -------
    Track or None
        None for a file that is no track file and is not meant as one.

    Raises
    ------
    TrackError
        If it is meant as a track file and cannot be used.
    """
    try:
        return read_track(file)
    except TrackError:
        if (in_library and file.suffix.lower() == ".geojson") or _speaks_of_roles(file):
            raise
        return None


def _speaks_of_roles(file: Path) -> bool:
    """Whether a file that cannot be read as a track file was meant as one."""
    try:
        data = file.read_bytes()
    except OSError:
        return True
    return (
        b'"start_finish"' in data
        or re.search(rb'"role"\s*:\s*"(sector|path|pit_lane)"', data) is not None
    )
