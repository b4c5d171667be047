"""
Letters of a printed sheet: how wide they are, and a way to draw thousands of them quickly.

Not matplotlib's `Text`: it lays every string out anew, which takes most of the time a report of
tables needs.  Here the widths are added up letter by letter, and a sheet's strings go to the
backend in one pass.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from lapwright.escaping.plain_letters import with_letters
from lapwright.escaping.unseen import visible

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.backend_bases import RendererBase
    from matplotlib.font_manager import FontProperties

POINTS = 72.0
# The family matplotlib brings along, so that a sheet looks the same on every machine.
_FAMILY = "DejaVu Sans"
# Height of what stands above the base line, as a share of the size.
_ABOVE = 0.78


@dataclass(frozen=True, slots=True)
class Letters:
    """One string on a sheet: its upper left or right corner from the lower left one, its look."""

    x_in: float
    y_in: float
    text: str
    size_pt: float
    colour: str
    bold: bool = False
    right: bool = False


def writing(strings: list[Letters]) -> "Artist":
    """
    Make an artist of a figure that writes strings on it.

    Parameters
    ----------
    strings : list of Letters
        As they are when the figure is drawn.

    Returns
    -------
    Artist
    """
    from matplotlib.artist import Artist

    class Writing(Artist):
        """All strings of one sheet."""

        def draw(self, renderer: "RendererBase") -> None:
            figure = self.get_figure(root=True)
            assert figure is not None
            _write(strings, renderer, figure.dpi, figure.bbox.height)

    return Writing()


def _write(strings: list[Letters], renderer: "RendererBase", dpi: float, height: float) -> None:
    """Hand every string to the backend."""
    context: Any = renderer.new_gc()
    for s in strings:
        wide_in = width_in(s.text, s.size_pt, bold=s.bold) if s.right else 0.0
        y = (s.y_in - _ABOVE * s.size_pt / POINTS) * dpi
        context.set_foreground(s.colour)
        renderer.draw_text(
            context, (s.x_in - wide_in) * dpi, height - y if renderer.flipy() else y,
            in_font(s.text, bold=s.bold), _face(s.size_pt, s.bold), 0.0,
        )  # fmt: skip
    context.restore()


def in_font(text: str, *, bold: bool = False) -> str:
    r"""
    Write a text with the letters the font has, and what cannot be seen as its number.

    Examples
    --------
    >>> in_font("Zoë \u9234\x1b")
    'Zoë ?[U+001B]'
    """
    if text.isascii() and text.isprintable():
        return text
    said = visible(text).replace("\n", " ").replace("\t", " ")
    return with_letters(said, lambda letter: _has(letter, bold))


def width_in(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Width of a string. [in]."""
    return sum(_advance(letter, bold) for letter in in_font(text, bold=bold)) * size_pt / POINTS


def wrapped(text: str, size_pt: float, wide_in: float, *, bold: bool = False) -> list[str]:
    """
    Break a text into lines that fit a width, within a word only where it is longer than a line.

    Parameters
    ----------
    text : str
    size_pt, wide_in : float
    bold : bool

    Returns
    -------
    list of str
        At least one.
    """
    lines: list[str] = []
    line = ""
    for word in _pieces(in_font(text, bold=bold), size_pt, wide_in, bold):
        longer = f"{line} {word}" if line else word
        if line and width_in(longer, size_pt, bold=bold) > wide_in:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _pieces(text: str, size_pt: float, wide_in: float, bold: bool) -> Iterator[str]:
    """Words, the overlong ones in pieces that fit."""
    for word in text.split():
        rest = word
        while len(rest) > 1 and width_in(rest, size_pt, bold=bold) > wide_in:
            fits = len(rest) - 1
            while fits > 1 and width_in(rest[:fits], size_pt, bold=bold) > wide_in:
                fits -= 1
            yield rest[:fits]
            rest = rest[fits:]
        yield rest


@cache
def _face(size_pt: float, bold: bool) -> "FontProperties":
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=_FAMILY, size=size_pt, weight="bold" if bold else "normal")


@cache
def _has(letter: str, bold: bool) -> bool:
    from matplotlib.font_manager import findfont, get_font

    # No glyph has the number 0, which stands for all that are missing.
    return get_font(findfont(_face(10.0, bold))).get_char_index(ord(letter)) != 0


@cache
def _advance(letter: str, bold: bool) -> float:
    """How far a letter moves the pen, in its size."""
    from matplotlib.font_manager import findfont, get_font

    font: Any = get_font(findfont(_face(10.0, bold)))
    font.set_size(100.0, POINTS)
    # linearHoriAdvance is in 16.16 fixed point (FreeType, FT_GlyphSlotRec), here of 100 pixels.
    return float(font.load_char(ord(letter)).linearHoriAdvance) / 65536.0 / 100.0
