"""
Keeping circuits in the library: one file for each, found again and never put in another's place.

A circuit is known by its road and not by its name: two clubs may call theirs the same, and one may
be renamed.  So a file is only replaced by the same road in the same direction.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from lapwright.discovery.library.known_tracks import FAR_M
from lapwright.discovery.library.track_fit import same_circuit
from lapwright.discovery.library.track_folders import (
    library_files,
    library_folder,
    new_track_file,
    read_if_track,
)
from lapwright.errors import OutputError, TrackError
from lapwright.escaping.file_names import free_file
from lapwright.geometry.track import Track
from lapwright.geometry.trackfile.kept_names import with_names_of

# Below the library, where circuits go that are taken out of it.
REMOVED = "removed"


@dataclass(frozen=True, eq=False)
class LibraryCircuit:
    """
    One file of the library.

    Attributes
    ----------
    file : Path
    track : Track or None
        None where the file cannot be used.
    broken : str
        What is wrong with it then.
    """

    file: Path
    track: Track | None = None
    broken: str = ""

    @property
    def name(self) -> str:
        """What people call it; the file's name where it has none."""
        return (self.track.name if self.track else "") or self.file.stem


def library_circuits(folder: str | Path | None = None) -> tuple[LibraryCircuit, ...]:
    """
    Return what is in the library, by file name.

    Parameters
    ----------
    folder : str or Path, optional
        The library; else the user's own data folder.

    Returns
    -------
    tuple of LibraryCircuit
        Without files that are not meant as track files.
    """
    found = []
    for file in library_files(folder):
        try:
            track = read_if_track(file, in_library=True)
        except TrackError as error:
            found.append(LibraryCircuit(file, broken=str(error)))
            continue
        if track is not None:
            found.append(LibraryCircuit(file, track))
    return tuple(found)


def older_in_library(
    track: Track, folder: str | Path | None = None, came_from: Path | None = None
) -> LibraryCircuit | None:
    """
    Find what the library has of a circuit already.

    Parameters
    ----------
    track : Track
        With a path.
    folder : str or Path, optional
        The library; else the user's own data folder.
    came_from : Path, optional
        The file the track is from, which comes first where it lies in the library.

    Returns
    -------
    LibraryCircuit or None
        The same road in the same direction.  A file with nothing but lines is one only where the
        track came from it: lines alone may be those of another variant.
    """
    known = [one for one in library_circuits(folder) if one.track is not None]
    mine = [one for one in known if came_from is not None and _same_file(one.file, came_from)]
    for one in (*mine, *known):
        older = one.track
        if older is None or not _near(track, older):
            continue
        if older.path is None and one not in mine:
            continue
        if same_circuit(track, older):
            return one
    return None


def new_file_for(name: str, folder: str | Path | None = None) -> Path:
    """
    Return a file of the library that is not there yet, called after a circuit.

    Parameters
    ----------
    name : str
    folder : str or Path, optional
        The library, which is made where it is missing; else the user's own data folder.

    Returns
    -------
    Path

    Raises
    ------
    OutputError
        If the library cannot be made.
    """
    place = library_folder(folder)
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        what = f"this folder cannot be made ({error.strerror or error})"
        raise OutputError(what, place, hint="Name another one with --tracks") from error
    return new_track_file(place, name)


def kept_with(track: Track, file: Path, older: Track) -> Track:
    """
    Give a track what only the file it is going to replace knows: names, and what others added.

    Parameters
    ----------
    track : Track
        With a path.
    file : Path
    older : Track
        As in the file.

    Returns
    -------
    Track

    Raises
    ------
    OutputError
        If a name would be lost, or the file holds another circuit.
    """
    other = "(or the same one driven the other way)"
    if not _near(track, older) or (older.path is not None and not same_circuit(track, older)):
        what = f"holds another circuit, {older.name or file.stem!r} {other}, and is not replaced"
        raise OutputError(what, file, hint="Give this one another file")
    track, lost = with_names_of(track, older)
    if lost:
        what = f"names {', '.join(map(repr, lost))}, where this circuit has no corner"
        hint = "Give --out another name, or take these corners out of the file first"
        raise OutputError(what, file, hint=hint)
    return replace(
        track,
        name=track.name or older.name,
        other_features=track.other_features or older.other_features,
        other_members={**older.other_members, **track.other_members},
    )


def remove_from_library(name: str, folder: str | Path | None = None) -> tuple[Path, Path]:
    """
    Take a circuit out of the library; its file is moved to a folder below, not deleted.

    Parameters
    ----------
    name : str
        Of the circuit, or of its file.
    folder : str or Path, optional
        The library; else the user's own data folder.

    Returns
    -------
    (Path, Path)
        Where it was, and where it is now.

    Raises
    ------
    TrackError
        If there is no such circuit, or more than one.
    OutputError
        If it cannot be moved.
    """
    place, known = library_folder(folder), library_circuits(folder)
    files = [one for one in known if name in (one.file.name, one.file.stem)]
    meant = files or [one for one in known if one.name.casefold() == name.casefold()]
    if not meant:
        what = f"there is no circuit {name!r} in the track library"
        raise TrackError(what, place, hint="lapwright track --list shows what is in it")
    if len(meant) > 1:
        which = ", ".join(one.file.name for one in meant)
        what = f"there are {len(meant)} circuits called {name!r}"
        raise TrackError(what, place, hint=f"Name one of the files: {which}")
    old = meant[0].file
    try:
        (place / REMOVED).mkdir(exist_ok=True)
        return old, old.rename(free_file(place / REMOVED, old.stem, ".geojson"))
    except OSError as error:
        what = f"cannot be moved to {place / REMOVED} ({error.strerror or error})"
        raise OutputError(what, old) from error


def _same_file(one: Path, other: Path) -> bool:
    return other.exists() and one.samefile(other)


def _near(track: Track, other: Track) -> bool:
    return bool(np.hypot(*track.plane.point_m(other.start_finish_deg[0])) < FAR_M)
