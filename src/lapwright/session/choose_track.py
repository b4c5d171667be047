"""The circuit of a log: the given file, one beside the log or of the library, or none yet."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lapwright.discovery import look_up
from lapwright.discovery.library.line_use import way_driven
from lapwright.discovery.library.track_folders import check_library, files_beside, library_files
from lapwright.geometry import Track, read_track
from lapwright.ingest import Log
from lapwright.ingest.archive import folder_of
from lapwright.kept import Shelf, Store, content_of


@dataclass(frozen=True, eq=False)
class Chosen:
    """
    The circuit of a log.

    Attributes
    ----------
    track : Track or None
        None to have it found in the log.
    why : str
        How it was chosen, in words.
    remarks : tuple of str
        What is to be said of the track files, a sentence each.
    file : Path or None
        The file it came from.
    lines_only : bool
        Whether that file has no path and can be given the one that is found in the log.
    completed : Track or None
        The track with what it lacks from this log, where that was found on the way.
    """

    track: Track | None
    why: str = ""
    remarks: tuple[str, ...] = ()
    file: Path | None = None
    lines_only: bool = False
    completed: Track | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """
    Where track files are looked for.

    Attributes
    ----------
    files : tuple of Path
    beside : bool
        Whether they lie beside the log, not in a library.
    named : Path or None
        The library, where it was named: then it is said that no file of it fits.
    """

    files: tuple[Path, ...]
    beside: bool
    named: Path | None = None


def places_for(log: Path, library: Path | None) -> list[Place]:
    """
    Return where the circuit of a log is looked up, in this order.

    Raises
    ------
    TrackError
        If the library is no folder.
    """
    here = Place(files_beside(log), beside=True)
    if library is None:
        # What lies beside the log is nearer to it than the user's own library.
        return [here, Place(library_files(), beside=False)]
    check_library(library)
    first = Place(library_files(library), beside=False, named=library)
    return [first] if library.samefile(folder_of(log)) else [first, here]


def choose_track(log: Log, given: Path | None, places: Sequence[Place]) -> Chosen:
    """
    Choose the circuit of a log.

    The given file; else, where the log was driven on it, one of the places; else it is to be
    found in the log.

    Parameters
    ----------
    log : Log
    given : Path or None
        A track file.
    places : sequence of Place
        Not looked at where a file was given.

    Returns
    -------
    Chosen

    Raises
    ------
    TrackError
        If the given file cannot be used.
    """
    if given is not None:
        return _given(log, given)
    remarks: list[str] = []
    for place in places:
        looked = look_up(log, place.files, beside=place.beside)
        remarks += looked.broken
        known = looked.found
        if known is not None:
            if not known.lines_only:
                return Chosen(known.track, known.why, tuple(remarks), known.file)
            # As if the file had been given: the session finds the path for itself.
            bare = replace(known.track, path=None, corners=(), length_sd_m=None)
            # Lines driven the other way cannot be completed as they stand in the file.
            whole = not known.reversed
            return Chosen(bare, known.why, tuple(remarks), known.file, whole, known.track)
        if place.named is not None:
            remarks.append(_none_fits(looked.looked_at, place.named))
    return Chosen(None, "", tuple(remarks))


def choose_track_kept(
    store: Store | None, log: Log, given: Path | None, places: Sequence[Place]
) -> Chosen:
    """`choose_track`, kept for the same log and the same files, by what is in them."""
    files = [] if given is None else [given]
    files += [file for place in places for file in place.files]
    # The answer names log and files, so where they lie plays a part too.
    shelf = Shelf(store, log, given, list(places), [content_of(file) for file in files])
    return shelf.get("chosen track", lambda: choose_track(log, given, places))


def _given(log: Log, file: Path) -> Chosen:
    track = read_track(file)
    if not track.name:
        track = track.renamed(file.stem)
    lines_only = track.path is None
    why = f"{track.name}, from {file}"
    track, turned = way_driven(track, log)
    why = f"{why}: {turned}" if turned else why
    return Chosen(track, why, file=file, lines_only=lines_only)


def _none_fits(count: int, folder: Path) -> str:
    if count == 0:
        return f"there is no track file in {folder}"
    if count == 1:
        return f"the one track file in {folder} does not fit this log"
    return f"none of the {count} track files in {folder} fits this log"
