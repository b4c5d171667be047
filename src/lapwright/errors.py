"""
The errors this package raises, and nothing else.

::

    LapwrightError                 catch this one to catch them all
    ├── LogError                   a log that cannot be used at all
    ├── TrackError                 a track file, or a track that does not fit the log
    ├── NotesError                 weekend notes or settings that cannot be read
    ├── OutputError                a file that cannot be written, or that would replace an input
    └── LapError                   a lap that was asked for and is not there, or has no times

What can be lived with is not an error but a finding in the log
(`lapwright.Log.findings`).  Every message is one line: what, where, what to do.
"""

from pathlib import Path


class LapwrightError(Exception):
    """The root of all errors raised on purpose by this package."""


class _FileError(LapwrightError):
    """An error that has a place in a file."""

    def __init__(
        self, what: str, path: str | Path, line: int | None = None, hint: str = ""
    ) -> None:
        # All four go to Exception.args, or the error cannot leave a worker process.
        super().__init__(what, path, line, hint)
        self.what, self.path, self.line, self.hint = what, Path(path), line, hint

    def __str__(self) -> str:
        where = str(self.path) if self.line is None else f"{self.path}:{self.line}"
        return f"{where}: {self.what}. {self.hint}".rstrip()


class LogError(_FileError):
    """A log that cannot be used at all."""


class TrackError(_FileError):
    """A track file that cannot be used, or a track that does not belong to the log."""


class NotesError(_FileError):
    """Weekend notes, a column map or settings that cannot be read."""


class OutputError(_FileError):
    """An output that cannot be written, or that would take the place of an input."""


class LapError(LapwrightError):
    """A lap that is not there, or that has no times to compare."""
