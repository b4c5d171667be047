"""One calm screen, redrawn in place: no colour, and plain ASCII where need be."""

import os
import shutil
import sys
from typing import TextIO

from lapwright.cli.live.big_digits import HEIGHT, big
from lapwright.cli.live.board import Shown, head
from lapwright.wording.live import NOT_YET, SHORT_CAUTION

_HOME, _CLEAR_LINE, _CLEAR_BELOW = "\x1b[H", "\x1b[K", "\x1b[J"
_HIDE, _SHOW = "\x1b[?25l", "\x1b[?25h"
# Beside it the digits are taken for noise. [columns, lines]
_MIN_BIG = (34, 14)


class Terminal:
    """
    Draws on a terminal.

    Parameters
    ----------
    out : TextIO
    """

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._plain = not _can(out, "\N{FULL BLOCK}\N{PLUS-MINUS SIGN}")
        self._drawn = False

    def draw(self, shown: Shown) -> None:
        """Draw a moment."""
        size = shutil.get_terminal_size()
        lines = screen(shown, size.columns, size.lines, plain=self._plain)
        begin = _HOME if self._drawn else _HIDE + _HOME + _CLEAR_BELOW
        self._drawn = True
        body = f"{_CLEAR_LINE}\r\n".join(lines)
        self._out.write(f"{begin}{body}{_CLEAR_LINE}{_CLEAR_BELOW}")
        self._out.flush()

    def end(self) -> None:
        """Leave the screen as it is, with the cursor below."""
        if self._drawn:
            self._out.write(f"\r\n{_SHOW}")
            self._out.flush()


def screen(shown: Shown, columns: int, lines: int, *, plain: bool) -> list[str]:
    """
    Lay a moment out.

    Parameters
    ----------
    shown : Shown
    columns, lines : int
        Of the terminal.
    plain : bool
        Whether to use ASCII alone.

    Returns
    -------
    list of str
        No longer and no wider than the terminal.
    """
    ink = "#" if plain else "\N{FULL BLOCK}"
    top = f"{shown.state}  {shown.lap}  {shown.speed}"
    middle: list[str] = []
    predicted = f"{head('predicted')}  {shown.predicted} {shown.predicted_bar}".rstrip()
    digits = big(shown.delta, ink)
    if columns >= max(_MIN_BIG[0], len(digits[0])) and lines >= _MIN_BIG[1]:
        middle += [f"{head('delta')}  {shown.delta_bar}".rstrip(), "", *digits]
        clock = big(shown.predicted, ink)
        if lines >= _MIN_BIG[1] + HEIGHT + 3 and columns >= len(clock[0]):
            middle += ["", f"{head('predicted')}  {shown.predicted_bar}".rstrip(), "", *clock]
        else:
            middle += ["", predicted]
    else:
        middle += [f"{head('delta')}  {shown.delta} {shown.delta_bar}"]
        middle += [predicted]
    facts = [
        f"{head('lap')}  {shown.running}    {shown.against}",
        f"{head('last')}  {shown.last}",
        f"{head('best')}  {shown.best}",
        *([f"{head('sectors')}  {shown.sectors}"] if shown.sectors != NOT_YET else []),
    ]
    # The most telling first: a small terminal shows the beginning.
    said = [top, *([shown.why] if shown.why else []), *middle, "", *facts]
    caution = [SHORT_CAUTION]
    if len(SHORT_CAUTION) >= columns:
        caution = [f"{one.rstrip('.')}." for one in SHORT_CAUTION.split(". ")]
    end = [*([shown.recording] if shown.recording else []), *caution]
    room = max(lines - 1, 1)
    kept = [*said[: max(room - len(end), 1)], *end][:room]
    # A file's name may hold what a terminal takes for a command.
    clean = ["".join(c if c.isprintable() else "?" for c in line) for line in kept]
    out = [line[: columns - 1] for line in clean]
    return [_ascii(line) for line in out] if plain else out


def _ascii(line: str) -> str:
    line = line.replace("\N{PLUS-MINUS SIGN}", "+-").replace("\N{MINUS SIGN}", "-")
    return line.encode("ascii", "replace").decode("ascii")


def _can(out: TextIO, text: str) -> bool:
    """Whether a terminal's encoding has some characters."""
    try:
        text.encode(out.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def is_screen() -> bool:
    """Whether stdout is a terminal that can be drawn on."""
    return sys.stdout.isatty() and os.environ.get("TERM", "") != "dumb"
