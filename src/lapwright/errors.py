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

import re
from pathlib import Path
from reprlib import Repr

# A message is read in the paddock; what a damaged file holds may be a million letters.
_MOST_WHAT, _MOST_HINT, _MOST_VALUE = 500, 1800, 60
# Line ends of every kind, and what a terminal takes for an order.
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")


def one_line(text: str, most: int = _MOST_WHAT) -> str:
    r"""
    Return a text as one line of bounded length, what would break it written out.

    Parameters
    ----------
    text : str
    most : int
        More letters than this are left out in the middle.

    Returns
    -------
    str

    Examples
    --------
    >>> one_line("a\nb"), one_line("abcdefghijk", 7)
    ('a\\nb', 'abc…ijk')
    """
    # Cut once more at the end: written out, what breaks a line is longer.
    return _cut(_CONTROL.sub(lambda found: ascii(found[0])[1:-1], _cut(text, most)), most)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most // 2]}…{text[-(most // 2) :]}"


def shown(value: object) -> str:
    """
    Return a value of somebody's file for a message: short, whatever it is.

    Parameters
    ----------
    value : object
        What a reader of TOML or JSON returned, so perhaps nested as deep as can be.

    Examples
    --------
    >>> shown("km/h"), len(shown("x" * 1000)) <= 60
    ("'km/h'", True)
    """
    try:
        return one_line(_SHORT.repr(value), _MOST_VALUE)
    except ValueError:
        # Python writes no whole number of more than 4300 digits.
        return "a number of thousands of digits"


_SHORT = Repr()
_SHORT.maxlevel, _SHORT.maxstring, _SHORT.maxother, _SHORT.maxlong = 3, 50, 50, 50


class LapwrightError(Exception):
    """
    The root of all errors raised on purpose by this package.

    Examples
    --------
    >>> import lapwright as lw
    >>> try:
    ...     session = lw.open_session("nowhere.csv")
    ... except lw.LapwrightError as error:
    ...     print(type(error).__name__)
    LogError
    """


class _FileError(LapwrightError):
    """An error that has a place in a file."""

    def __init__(
        self, what: str, path: str | Path, line: int | None = None, hint: str = ""
    ) -> None:
        # All four go to Exception.args, or the error cannot leave a worker process.
        what, hint = one_line(what), one_line(hint, _MOST_HINT)
        super().__init__(what, path, line, hint)
        self.what, self.path, self.line, self.hint = what, Path(path), line, hint

    def __str__(self) -> str:
        where = str(self.path) if self.line is None else f"{self.path}:{self.line}"
        return f"{where}: {self.what}. {self.hint}".rstrip()


class LogError(_FileError):
    """
    A log that cannot be used at all.

    Examples
    --------
    >>> import lapwright as lw
    >>> try:
    ...     lw.read_log("nowhere.csv")
    ... except lw.LogError as error:
    ...     print(error)
    nowhere.csv: there is no such file. Check the name and the folder
    """


class TrackError(_FileError):
    """
    A track file that cannot be used, or a track that does not belong to the log.

    Examples
    --------
    >>> import lapwright as lw
    >>> try:
    ...     lw.read_track("nowhere.geojson")
    ... except lw.TrackError as error:
    ...     print(error.path)
    nowhere.geojson
    """


class NotesError(_FileError):
    """
    Weekend notes, a column map or settings that cannot be read.

    Examples
    --------
    >>> import lapwright as lw
    >>> try:
    ...     lw.read_log("friday.csv", columns="nowhere.toml")
    ... except lw.NotesError as error:
    ...     print(error.path, error.hint)
    nowhere.toml Check its name
    """


class OutputError(_FileError):
    """
    An output that cannot be written, or that would take the place of an input.

    Examples
    --------
    >>> import lapwright as lw
    >>> try:
    ...     lw.run_weekend("sample_sessions", out="sample_sessions")
    ... except lw.OutputError as error:
    ...     print(error)
    sample_sessions: is the folder of the logs. Give the results a folder of their own
    """


class LapError(LapwrightError):
    """
    A lap that is not there, or that has no times to compare.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> try:
    ...     session.trace(99)
    ... except lw.LapError as error:
    ...     print(error)
    there is no lap 99; the laps are 0, 1, 2, 3, 4, 5, 6
    """
