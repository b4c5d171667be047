"""What a session was made of: which files, and why these."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class OpenedWith:
    """
    What a session was made of; empty where it was put together by hand.

    Attributes
    ----------
    why : str
        How the circuit was chosen, in words.
    track_file : Path or None
        The track file it came from; None where it was found in the log or handed over.
    lines_only : bool
        Whether that file has no path, so that path and corners come from this log.
    columns : Path or None
        The column map the log was read by.
    remarks : tuple of str
        What is to be said of the track files, a sentence each.
    """

    why: str = ""
    track_file: Path | None = None
    lines_only: bool = False
    columns: Path | None = None
    remarks: tuple[str, ...] = ()
