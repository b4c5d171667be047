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
        Whether that file has no path and can be given the one that was found in this log.
    columns : Path or None
        The column map that was given, or the one beside the log that it was read by.
    remarks : tuple of str
        What is to be said of the track files, a sentence each.

    Examples
    --------
    >>> import lapwright as lw
    >>> opened = lw.open_session("sample_sessions/saturday_qualifying.gpx").opened_with
    >>> opened.track_file.name, opened.lines_only, opened.columns
    ('wren_hollow.geojson', True, None)
    """

    why: str = ""
    track_file: Path | None = None
    lines_only: bool = False
    columns: Path | None = None
    remarks: tuple[str, ...] = ()
