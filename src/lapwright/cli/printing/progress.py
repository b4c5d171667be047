"""
What a command is doing, on one line of stderr that is gone when it is done.

Not `click.progressbar`: it knows how much there is to do, which only `weekend` does, and leaves its
last state on the screen.  Only the commands know of it; nothing they call is told.
"""

import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

# What takes less needs no word: it would only flicker.
DELAY_S = 0.5

OPENING = "reading the log and finding the circuit"
READING = "reading the log"
MOVING = "estimating how the car moved"
TIMING = "timing the laps"
CORNERS = "looking at the corners"
BEFORE = "looking at the session before"
COMPARING = "comparing the laps"
WRITING = "writing the report"
ALIGNING = "aligning the two logs by how the car moved"
WRITING_LOG = "writing the log"

_BAR = 24
# Where a terminal does not say how wide it is.
_WIDTH = 80


class Progress:
    """
    The steps of one command, each shown while it lasts.

    Nothing is shown before `DELAY_S` have passed since the first step, or where nobody is looking:
    stderr is not a terminal, or one that cannot take a line back (``TERM=dumb``).

    Parameters
    ----------
    silent : bool
        Whether to show nothing at all, as where a program reads the result.
    """

    def __init__(self, *, silent: bool = False) -> None:
        self._silent = silent
        self._from_s: float | None = None

    @contextmanager
    def step(self, text: str) -> Iterator[Callable[[str], None]]:
        """
        Show what is being done until it is done, has failed or is interrupted.

        Parameters
        ----------
        text : str
            In a few plain words, on one line.

        Yields
        ------
        callable
            Takes another text to show instead, such as how far it has come.
        """
        now_s = time.monotonic()
        if self._from_s is None:
            self._from_s = now_s
        if self._silent or not _can_redraw(sys.stderr):
            yield lambda _: None
            return
        line = _Line(sys.stderr, text)
        # A step cannot look at the clock while it works, so somebody else has to.
        timer = threading.Timer(self._from_s + DELAY_S - now_s, line.show)
        timer.daemon = True
        try:
            if timer.interval > 0.0:
                timer.start()
            else:
                line.show()
            yield line.change
        finally:
            timer.cancel()
            line.end()


class _Line:
    """One line of a terminal, redrawn in place; it is not shown before it is told to be."""

    def __init__(self, stream: TextIO, text: str) -> None:
        self._stream = stream
        self._text = text
        self._shown = self._ended = False
        self._drawn = 0
        # The timer and the work may draw at the same moment.
        self._lock = threading.Lock()

    def show(self) -> None:
        with self._lock:
            self._shown = True
            self._draw(f"{self._text} ...")

    def change(self, text: str) -> None:
        with self._lock:
            self._text = text
            if self._shown:
                self._draw(f"{text} ...")

    def end(self) -> None:
        with self._lock:
            self._draw("")
            self._ended = True

    def _draw(self, text: str) -> None:
        if self._ended or not (text or self._drawn):
            return
        # On two lines it could not be taken back; in the last column some terminals wrap.
        text = text[: _width_of(self._stream) - 1]
        # Blanks and not an escape sequence: every terminal knows them.
        over = " " * (self._drawn - len(text))
        # Before it is written: an interruption in between leaves too much to wipe, not too little.
        self._drawn = len(text)
        self._stream.write(f"\r{text}{over}" if text else f"\r{over}\r")
        self._stream.flush()


def logs_done(done: int, total: int) -> str:
    """
    Say how many logs are done, with a bar.

    Parameters
    ----------
    done, total : int

    Returns
    -------
    str

    Examples
    --------
    >>> logs_done(6, 24)
    '[######                  ] 6 of 24 logs'
    """
    full = _BAR * done // max(total, 1)
    return f"[{'#' * full:{_BAR}}] {done} of {total} log{'' if total == 1 else 's'}"


def _can_redraw(stream: TextIO | None) -> bool:
    # There is none where a program is started without it.
    return stream is not None and stream.isatty() and os.environ.get("TERM") != "dumb"


def _width_of(stream: TextIO) -> int:
    """Columns of a terminal; not those of stdout, which may be a file."""
    try:
        return os.get_terminal_size(stream.fileno()).columns or _WIDTH
    except (OSError, ValueError):
        return _WIDTH
