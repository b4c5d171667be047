"""Writing a circuit down: to a file, or to the library, and never in another circuit's place."""

from dataclasses import dataclass
from pathlib import Path

from lapwright.cli.tracks.names import with_names
from lapwright.cli.tracks.seen import Seen
from lapwright.discovery import library_folder
from lapwright.discovery.library.keep import kept_with, new_file_for, older_in_library
from lapwright.errors import TrackError
from lapwright.geometry import Track, read_track, write_track


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for: other names, and where the circuit is to be kept."""

    name: str | None
    corner_names: dict[int, str]
    out: Path | None
    save: bool
    library: Path | None


@dataclass(frozen=True, eq=False)
class Kept:
    """The circuit with its names, the file it was written to, and what it replaced there."""

    track: Track
    file: Path | None = None
    replaced: str = ""


def keep(seen: Seen, asked: Asked) -> Kept:
    """
    Name a circuit and write it down, where that was asked for.

    Parameters
    ----------
    seen : Seen
    asked : Asked

    Returns
    -------
    Kept

    Raises
    ------
    TrackError
        If a circuit without a name is to go to the library.
    OutputError
        If the file holds another circuit, a name would be lost, or it cannot be written.
    click.BadParameter
        If a corner cannot be called so.
    """
    track, file, replaced = seen.track, asked.out, ""
    if asked.save:
        older = older_in_library(track, asked.library, seen.came_from)
        if older is not None and older.track is not None:
            file, replaced = older.file, older.name
            track = kept_with(track, older.file, older.track)
    elif file is not None and file.exists():
        older_track = read_track(file)
        track, replaced = kept_with(track, file, older_track), older_track.name or file.stem
    # After what the older file knows: a name that is given now counts.
    track = with_names(track.renamed(asked.name) if asked.name else track, asked.corner_names)
    if asked.save and file is None:
        if not track.name:
            what = "the circuit has no name yet"
            place = library_folder(asked.library)
            raise TrackError(what, place, hint="Give it one with --name to save it")
        file = new_file_for(track.name, asked.library)
    if file is None:
        return Kept(track)
    track = track if track.name else track.renamed(file.stem)
    write_track(track, file)
    return Kept(track, file, replaced)
