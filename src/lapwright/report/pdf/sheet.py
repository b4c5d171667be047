"""A sheet of A4 to put text and figures on, from the top down."""

from typing import TYPE_CHECKING

from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.pdf.text_layout import POINTS, Letters, width_in, wrapped, writing

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

# ISO 216. [in]
WIDTH_IN, HEIGHT_IN = 210.0 / 25.4, 297.0 / 25.4
MARGIN_IN = 0.6
INNER_IN = WIDTH_IN - 2.0 * MARGIN_IN
# Nothing on a sheet is smaller than this.
SMALLEST_PT = 8.0
# Height of a line of text, in sizes of its letters.
LEAD = 1.36
# A table's columns stand apart by this at least, and by this at most. [in]
_APART_IN, _MAX_APART_IN = 0.085, 0.3


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
        self._pages = pages
        self._foot = wrapped(foot, SMALLEST_PT, INNER_IN - 0.8)[0]
        self._figure: Figure | None = None
        self._strings: list[Letters] = []
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
            self._strings = []
            self._figure.add_artist(writing(self._strings))
            self.left_in = HEIGHT_IN - 2.0 * MARGIN_IN
            for x, text in ((MARGIN_IN, self._foot), (WIDTH_IN - MARGIN_IN, f"{self._number}")):
                right = x > MARGIN_IN
                self._strings.append(Letters(x, 0.42, text, SMALLEST_PT, LIGHT.quiet, right=right))
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

    def write(
        self, text: str, x_in: float, down_in: float, size: float, *, bold: bool = False,
        quiet: bool = False, right: bool = False,
    ) -> None:  # fmt: skip
        """Write one line at a place counted from the left margin and from where the sheet is."""
        _ = self.figure
        self._strings.append(
            Letters(
                MARGIN_IN + x_in, MARGIN_IN + self.left_in - down_in, text, size,
                LIGHT.quiet if quiet else LIGHT.ink, bold, right,
            )
        )  # fmt: skip

    def text(self, text: str, size: float = 9.5, *, bold: bool = False, quiet: bool = False,
             indent_in: float = 0.0) -> None:  # fmt: skip
        """Write a paragraph, wrapped."""
        for line in wrapped(text, size, INNER_IN - indent_in, bold=bold):
            self.room(LEAD * size / POINTS)
            self.write(line, indent_in, 0.0, size, bold=bold, quiet=quiet)
            self.left_in -= LEAD * size / POINTS

    def heading(self, text: str, size: float = 13.0, follow_in: float = 0.8) -> None:
        """Write a heading that is not left alone at the bottom."""
        self.room(follow_in + 0.45)
        self.space(0.16)
        self.text(text, size, bold=True)
        self.space(0.06)

    def points(self, lines: list[str], size: float = 9.5) -> None:
        """Write a list."""
        for line in lines:
            rows = wrapped(line, size, INNER_IN - 0.25)
            self.room(LEAD * size / POINTS * min(len(rows), 3))
            self.write("\N{BULLET}", 0.08, 0.0, size)
            self.text(line, size, indent_in=0.25)
            self.space(0.03)

    def points_in(self, lines: list[str], size: float = 9.5) -> float:
        """Height of a list. [in]."""
        rows = sum(len(wrapped(line, size, INNER_IN - 0.25)) for line in lines)
        return rows * LEAD * size / POINTS + 0.03 * len(lines)

    def box(self, x_in: float, down_in: float, width_in: float, height_in: float) -> "Axes":
        """
        Put axes at a place.

        Parameters
        ----------
        x_in, down_in : float
            Upper left corner of the frame, from the left margin and from where the sheet is.
        width_in, height_in : float
            Of the frame, without letters.
        """
        bottom = MARGIN_IN + self.left_in - down_in - height_in
        return self.figure.add_axes(
            ((MARGIN_IN + x_in) / WIDTH_IN, bottom / HEIGHT_IN, width_in / WIDTH_IN,
             height_in / HEIGHT_IN)
        )  # fmt: skip

    def axes(self, height_in: float, left: float = 0.0, right: float = 1.0) -> "Axes":
        """
        Make room for a figure with its letters.

        Parameters
        ----------
        height_in : float
        left, right : float
            Share of the width.
        """
        self.room(height_in)
        letters_in, above_in, below_in = 0.58, 0.28, 0.45
        made = self.box(
            left * INNER_IN + letters_in, above_in, (right - left) * INNER_IN - letters_in - 0.08,
            height_in - above_in - below_in,
        )  # fmt: skip
        self.left_in -= height_in
        return made

    def rule(self, start_in: float = 0.0, end_in: float = INNER_IN) -> None:
        """Draw a thin line from one place to another, from the left margin."""
        from matplotlib.lines import Line2D

        y = (MARGIN_IN + self.left_in) / HEIGHT_IN
        ends = [(MARGIN_IN + x) / WIDTH_IN for x in (start_in, end_in)]
        self.figure.add_artist(
            Line2D(
                ends, [y, y], color=LIGHT.axis, linewidth=0.5, linestyle="-",
                transform=self.figure.transFigure,
            )
        )  # fmt: skip

    def table(
        self, head: list[list[str]], rows: list[list[str]], bold: set[int], *,
        size: float = SMALLEST_PT, wide_in: float | None = None, words: set[int] | None = None,
        lead: float = 1.5, from_in: float = 0.0, below: int = 0,
    ) -> float:  # fmt: skip
        """
        Write a table, its head repeated on every sheet.

        Parameters
        ----------
        head : list of list of str
            Lines of each column's head.
        rows : list of list of str
        bold : set of int
            Rows to be written bold.
        size : float
            Of the letters. [pt]
        wide_in : float
            Width it may take; what is left where not given.
        words : set of int, optional
            Columns that are written from the left; the first where not given.
        lead : float
            Height of a row in sizes of its letters.
        from_in : float
            Where it begins, from the left margin.
        below : int
            So many of the last rows stand below a rule.

        Returns
        -------
        float
            Where it ends, from the left margin. [in]
        """
        left = {0} if words is None else words
        line_in = lead * size / POINTS
        widths = column_widths_in(head, rows, bold, size)
        spare = ((wide_in or INNER_IN - from_in) - sum(widths)) / max(len(head) - 1, 1)
        apart = min(max(spare, _APART_IN), _MAX_APART_IN)
        starts = [from_in + sum(widths[:k]) + k * apart for k in range(len(head))]
        places = [x + (0.0 if k in left else widths[k]) for k, x in enumerate(starts)]
        deep = max(len(lines) for lines in head)
        heads = [[""] * (deep - len(lines)) + lines for lines in head]

        end = starts[-1] + widths[-1]

        def begin() -> None:
            for k in range(deep):
                self._row([lines[k] for lines in heads], size, places, left, quiet=True)
                self.left_in -= 1.25 * size / POINTS
            self.rule(from_in, end)
            self.space(0.05)

        self.room((deep + 3) * line_in + 0.05)
        begin()
        for k, row in enumerate(rows):
            if self.left_in < line_in:
                self.finish()
                _ = self.figure
                begin()
            if below and k == len(rows) - below:
                self.rule(from_in, end)
                self.space(0.05)
            self._row(row, size, places, left, bold=k in bold)
            self.left_in -= line_in
        return end

    def _row(
        self, row: list[str], size: float, places: list[float], left: set[int], *,
        bold: bool = False, quiet: bool = False,
    ) -> None:  # fmt: skip
        """One line of a table."""
        for k, (cell, place) in enumerate(zip(row, places, strict=True)):
            if cell:
                self.write(cell, place, 0.0, size, bold=bold, quiet=quiet, right=k not in left)


def column_widths_in(
    head: list[list[str]], rows: list[list[str]], bold: set[int], size: float
) -> list[float]:
    """
    Width of each column of a table.

    Parameters
    ----------
    head : list of list of str
        Lines of each column's head.
    rows : list of list of str
    bold : set of int
        Rows written bold.
    size : float
        Of the letters. [pt]

    Returns
    -------
    list of float
        [in]
    """
    return [
        max(
            *(width_in(text, size) for text in lines),
            *(width_in(row[k], size, bold=n in bold) for n, row in enumerate(rows)),
        )
        for k, lines in enumerate(head)
    ]


def fit_in(
    head: list[list[str]], rows: list[list[str]], bold: set[int], size: float, wide_in: float
) -> bool:
    """
    Whether a table is no wider than a width, its columns as close as they may be.

    Parameters
    ----------
    head, rows, bold, size
        As for `column_widths_in`.
    wide_in : float
        [in]

    Returns
    -------
    bool
    """
    apart_in = _APART_IN * (len(head) - 1)
    return sum(column_widths_in(head, rows, bold, size)) + apart_in <= wide_in
