"""The house style, in force only while a figure of ours is drawn."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from lapwright.escaping.unseen import visible
from lapwright.plots.drawing.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# A style sheet inside a package, by its dotted name.
SHEET = "lapwright.plots.drawing.lapwright"
# The dashes that go with the colours of several laps: alike in grey, they differ in these.
COLOURS = (LIGHT.best, LIGHT.usual, "#009e73", "#cc79a7", "#000000")
DASHES: tuple[object, ...] = ("-", "--", "-.", ":", (0, (6, 1.5, 1, 1.5, 1, 1.5)))


@contextmanager
def drawing(ax: "Axes | None", size_in: tuple[float, float] | None = None) -> "Iterator[Axes]":
    """
    Give an Axes to draw on, in the house style.

    Parameters
    ----------
    ax : Axes or None
        Where to draw; a new figure where None.
    size_in : (float, float), optional
        Width and height of a new figure. [in]

    Yields
    ------
    Axes
    """
    # pyplot costs half a second, which a command that draws nothing must not pay.
    import matplotlib.pyplot as plt
    from matplotlib.text import Text

    # A notebook's backend switches interactive drawing on when it is first used.  Used first in the
    # block below, that would be undone at its end, and no later figure would be shown.
    plt.draw_if_interactive()  # type: ignore[no-untyped-call]
    with plt.style.context(SHEET):
        if ax is None:
            _, ax = plt.subplots(figsize=size_in, layout="constrained")
        yield ax
        for text in ax.findobj(Text):
            assert isinstance(text, Text)
            text.set_text(visible(text.get_text()))
        # Ticks are made when the figure is drawn, after the style has gone: pin their look now.
        ax.tick_params(labelsize=8, color=LIGHT.quiet, labelcolor=LIGHT.ink)
