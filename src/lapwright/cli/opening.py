"""From the options of a command to a session: the log read, its circuit chosen and said."""

import os
import subprocess
from dataclasses import dataclass, replace
from pathlib import Path
from shlex import quote

from lapwright.cli import say
from lapwright.cli.options import Choice
from lapwright.discovery import look_up
from lapwright.discovery.line_use import way_driven
from lapwright.discovery.track_folders import check_library, files_beside, library_files
from lapwright.geometry import Track, read_track
from lapwright.ingest import Log, read_log
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes
from lapwright.session import Session
from lapwright.units import Units


@dataclass(frozen=True, eq=False)
class Opened:
    """
    A log on its circuit.

    Attributes
    ----------
    session : Session
    notes : LogNotes
        What the weekend notes beside the log say about it.
    circuit : str
        How the circuit was chosen, in words.
    """

    session: Session
    notes: LogNotes
    circuit: str

    @property
    def log(self) -> Log:
        """The log."""
        return self.session.log


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
    notes : tuple of str
        What is to be said of the track files, a sentence each.
    lines_only : Path or None
        The file it came from, where that has no path.
    """

    track: Track | None
    why: str = ""
    notes: tuple[str, ...] = ()
    lines_only: Path | None = None


def open_session(
    path: Path, choice: Choice, units: Units, *, beside: "Opened | None" = None,
    to_file: bool = False,
) -> Opened:  # fmt: skip
    """
    Read a log and set it on its circuit, with a word on stderr about what was chosen and found.

    Parameters
    ----------
    path : Path
    choice : Choice
    units : Units
        For what is said in sentences.
    beside : Opened, optional
        A session of the same circuit; its track is taken, so that laps can be compared.
    to_file : bool
        Whether the circuit is going to be written down, complete.

    Returns
    -------
    Opened
    """
    log = read_log(path, choice.columns)
    notes = read_notes(path.parent / FILE_NAME).get(path.name, LogNotes())
    if beside is not None:
        chosen = Chosen(beside.session.shared_track, beside.circuit)
    else:
        chosen = choose_track(log, choice)
    circuit = chosen.why
    session = Session(log, chosen.track, repeat_line=choice.repeat_line, notes=notes, units=units)
    if session.discovery is not None:
        circuit = f"found in the log ({session.discovery.how_sure})"
    # A log or a circuit that cannot be used is one line on stderr; so nothing is said before.
    _ = session.path
    say.findings(session.findings)
    for one in chosen.notes:
        say.note(f"track file: {one}")
    if beside is None:
        say.note(f"circuit: {circuit}")
    if beside is None:
        for mark in session.shared_track.marks_without_corner:
            name = "" if mark.name == str(mark.order) else f" {mark.name!r}"
            say.note(f"track file: corner {mark.order}{name}: this log shows no corner there")
    if chosen.lines_only is not None and not to_file:
        say.note(f"track file: {_advice(chosen.lines_only, path)}")
    return Opened(session, notes, circuit)


def choose_track(log: Log, choice: Choice) -> Chosen:
    """
    Choose the circuit of a log.

    The given file; else, where the log was driven on it, one beside the log or of the library;
    else it is to be found in the log.

    Raises
    ------
    TrackError
        If the given file or folder cannot be used.
    """
    if choice.track is not None:
        track = read_track(choice.track)
        if not track.name:
            track = track.renamed(choice.track.stem)
        lines_only = choice.track if track.path is None else None
        why = f"{track.name}, from {choice.track}"
        track, turned = way_driven(track, log)
        return Chosen(track, f"{why}: {turned}" if turned else why, lines_only=lines_only)
    notes: list[str] = []
    for files, beside in _places(log, choice):
        looked = look_up(log, files, beside=beside)
        notes += looked.broken
        known = looked.found
        if known is not None:
            if not known.lines_only:
                return Chosen(known.track, known.why, tuple(notes))
            # As if the file had been given: the session finds the path for itself.
            bare = replace(known.track, path=None, corners=(), length_sd_m=None)
            # Lines driven the other way cannot be completed as they stand in the file.
            file = None if known.reversed else known.file
            return Chosen(bare, known.why, tuple(notes), file)
        if choice.tracks is not None and not beside:
            notes.append(_none_fits(looked.looked_at, choice.tracks))
    return Chosen(None, "", tuple(notes))


def _places(log: Log, choice: Choice) -> list[tuple[tuple[Path, ...], bool]]:
    """Where track files are looked for, in this order, and whether that is beside the log."""
    library, here = choice.tracks, (files_beside(log.path), True)
    if library is None:
        # What lies beside the log is nearer to it than the user's own library.
        return [here, (library_files(), False)]
    check_library(library)
    places = [(library_files(library), False)]
    return places if library.samefile(log.path.parent) else [*places, here]


def _none_fits(count: int, folder: Path) -> str:
    if count == 0:
        return f"there is no track file in {folder}"
    if count == 1:
        return f"the one track file in {folder} does not fit this log"
    return f"none of the {count} track files in {folder} fits this log"


def _advice(file: Path, log: Path) -> str:
    """Say what it means that a file has no path, and how to give it one."""
    whole = file.with_name(f"{file.stem}_whole{file.suffix}")
    # What is pasted into a Windows shell takes double quotes only.
    quoted = quote if os.name == "posix" else lambda path: subprocess.list2cmdline([path])
    again, given, out = (quoted(str(path)) for path in (log, file, whole))
    return (
        f"{file.name} has only the start and sector lines; path and corners come from this log and "
        "differ a little from log to log. To save the rest once and for all, run: "
        f"lapwright track {again} --track {given} --out {out}"
    )
