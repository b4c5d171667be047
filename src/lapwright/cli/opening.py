"""From the options of a command to a session: the log read, its circuit chosen and said."""

from dataclasses import dataclass
from pathlib import Path

from lapwright.analysis import Session
from lapwright.analysis.notes import FILE_NAME, LogNotes, read_notes
from lapwright.cli import say
from lapwright.cli.options import Choice
from lapwright.discovery import recognise
from lapwright.geometry import Track, read_track
from lapwright.ingest import Log, read_log
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


def open_session(
    path: Path, choice: Choice, units: Units, *, beside: "Opened | None" = None
) -> Opened:
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

    Returns
    -------
    Opened
    """
    log = read_log(path, choice.columns)
    notes = read_notes(path.parent / FILE_NAME).get(path.name, LogNotes())
    track: Track | None
    if beside is not None:
        track, circuit = beside.session.shared_track, beside.circuit
    else:
        track, circuit = choose_track(log, choice)
    session = Session(log, track, road=choice.road, notes=notes, units=units)
    if session.discovery is not None:
        circuit = f"found in the log ({session.discovery.how_sure})"
    # A log or a circuit that cannot be used is one line on stderr; so nothing is said before.
    _ = session.path
    say.findings(session.findings)
    if beside is None:
        say.note(f"circuit: {circuit}")
    return Opened(session, notes, circuit)


def choose_track(log: Log, choice: Choice) -> tuple[Track | None, str]:
    """
    Choose the circuit: the given file, else the library's, else None to have it found in the log.

    Returns
    -------
    (Track or None, str)
        And in words why.
    """
    if choice.track is not None:
        track = read_track(choice.track)
        if not track.name:
            track = track.renamed(choice.track.stem)
        return track, f"{track.name}, from {choice.track}"
    if choice.tracks is not None and not choice.tracks.is_dir():
        raise NotADirectoryError(20, "--tracks is no folder of track files", str(choice.tracks))
    known = recognise(log, choice.tracks)
    return (None, "") if known is None else (known.track, known.why)
