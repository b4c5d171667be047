"""A sheet of A4 to put text and figures on, from the top down."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lapwright.plots.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

Floats = npt.NDArray[np.float64]

# ISO 216. [in]
WIDTH_IN, HEIGHT_IN = 210.0 / 25.4, 297.0 / 25.4
_MARGIN_IN = 0.65
_POINTS = 72.0
# Mean width of a letter of the body type, in its size.
_LETTER = 0.49


class Sheet:
    """
    One sheet after another, filled from the top.

    Parameters
    ----------
    pages : PdfPages
        Takes the finished sheets.
    foot : str
        Written at the bottom of each.
    """

    def __init__(self, pages: "PdfPages", foot: str) -> None:
        self._pages, self._foot = pages, foot
        self._figure: Figure | None = None
        self._number = 0
        self.left_in = 0.0

    @property
    def figure(self) -> "Figure":
        """The sheet in work; a new one where there is none."""
        if self._figure is None:
            # pyplot keeps every figure it makes; a sheet is its own.
            from matplotlib.backends.backend_agg import FigureCanvasAgg
            from matplotlib.figure import Figure

            self._number += 1
            self._figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN))
            FigureCanvasAgg(self._figure)
            self.left_in = HEIGHT_IN - 2.0 * _MARGIN_IN
            self._figure.text(
                _MARGIN_IN / WIDTH_IN, 0.32 / HEIGHT_IN, f"{self._foot}   page {self._number}",
                fontsize=7, color=LIGHT.quiet, parse_math=False,
            )  # fmt: skip
        return self._figure

    def finish(self) -> None:
        """Hand the sheet in work over."""
        if self._figure is not None:
            self._pages.savefig(self._figure)  # type: ignore[no-untyped-call]
            self._figure = None
            self.left_in = 0.0

    def room(self, height_in: float) -> None:
        """Begin a new sheet where so much no longer fits."""
        if self.left_in < height_in:
            self.finish()
        _ = self.figure

    def space(self, height_in: float) -> None:
        """Leave some room empty."""
        self.left_in -= height_in

    def text(self, text: str, size: float = 9.5, *, bold: bool = False, quiet: bool = False,
             indent_in: float = 0.0) -> None:  # fmt: skip
        """Write a paragraph, wrapped."""
        line_in = 1.32 * size / _POINTS
        width = WIDTH_IN - 2.0 * _MARGIN_IN - indent_in
        letters = int(width * _POINTS / (_LETTER * size * (1.08 if bold else 1.0)))
        for line in textwrap.wrap(text, letters) or [""]:
            self.room(line_in)
            self.figure.text(
                (_MARGIN_IN + indent_in) / WIDTH_IN, self._y(), line, fontsize=size, va="top",
                fontweight="bold" if bold else "normal", parse_math=False,
                color=LIGHT.quiet if quiet else LIGHT.ink,
            )  # fmt: skip
            self.left_in -= line_in

    def heading(self, text: str, size: float = 13.0, follow_in: float = 0.8) -> None:
        """Write a heading that is not left alone at the bottom."""
        self.room(follow_in + 0.45)
        self.space(0.16)
        self.text(text, size, bold=True)
        self.space(0.06)

    def points(self, lines: "list[str]") -> None:
        """Write a list."""
        for line in lines:
            self.text("\N{BULLET}  " + line, indent_in=0.1)
            self.space(0.03)

    def axes(
        self, height_in: float, left: float = 0.0, right: float = 1.0, *, last: bool = True
    ) -> "Axes":
        """
        Make room for a figure.

        Parameters
        ----------
        height_in : float
            With its letters. [in]
        left, right : float
            Share of the width.
        last : bool
            Whether what follows goes below it.
        """
        self.room(height_in)
        width = WIDTH_IN - 2.0 * _MARGIN_IN
        letters_in, above_in, below_in = 0.55, 0.28, 0.42
        place = (
            (_MARGIN_IN + left * width + letters_in) / WIDTH_IN,
            self._y() - (height_in - below_in) / HEIGHT_IN,
            ((right - left) * width - letters_in - 0.08) / WIDTH_IN,
            (height_in - above_in - below_in) / HEIGHT_IN,
        )
        if last:
            made = self.figure.add_axes(place)
            self.left_in -= height_in
            return made
        return self.figure.add_axes(place)

    def table(
        self, head: list[str], rows: list[list[str]], size: float, bold: set[int],
        widths: list[float] | None = None,
    ) -> None:  # fmt: skip
        """
        Write a table, its head repeated on every sheet.

        Parameters
        ----------
        head : list of str
        rows : list of list of str
        size : float
            Of the letters. [pt]
        bold : set of int
            Rows to be written bold.
        widths : list of float, optional
            Shares of the width.
        """
        line_in = 1.4 * size / _POINTS
        shares = np.cumsum(widths or [1.0] * len(head))
        places = WIDTH_IN - _MARGIN_IN - (WIDTH_IN - 2.0 * _MARGIN_IN) * (1 - shares / shares[-1])
        wrapped = [textwrap.wrap(cell, 9) for cell in head]
        deep = max(len(cell) for cell in wrapped)
        heads = [[""] * (deep - len(cell)) + cell for cell in wrapped]

        def begin() -> None:
            _ = self.figure
            for k in range(deep):
                self._row([cell[k] for cell in heads], size, line_in, places, bold=True)
            self.space(0.04)

        self.room((deep + 3) * line_in + 0.04)
        begin()
        for k, row in enumerate(rows):
            if self.left_in < line_in:
                self.finish()
                begin()
            self._row(row, size, line_in, places, bold=k in bold)

    def _row(
        self, row: list[str], size: float, line_in: float, places: Floats, *, bold: bool
    ) -> None:
        """One line of a table: the first cell from the left, the others to the right."""
        for k, (cell, place) in enumerate(zip(row, places, strict=True)):
            if cell:
                self.figure.text(
                    (place if k else _MARGIN_IN) / WIDTH_IN, self._y(), cell, fontsize=size,
                    va="top", ha="right" if k else "left", color=LIGHT.ink, parse_math=False,
                    fontweight="bold" if bold else "normal",
                )  # fmt: skip
        self.left_in -= line_in

    def _y(self) -> float:
        return (_MARGIN_IN + self.left_in) / HEIGHT_IN
