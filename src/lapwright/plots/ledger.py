"""Where the time goes: a bar a stretch of track, with its error bar."""

from typing import TYPE_CHECKING

import numpy as np

from lapwright.arguments import checked
from lapwright.laps.comparison import Comparison
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import drawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_ROW_IN = 0.16


@checked
def ledger(comparison: Comparison, ax: "Axes | None" = None) -> "Axes":
    """
    Draw the ledger of a lap against a reference lap.

    Parameters
    ----------
    comparison : Comparison
    ax : Axes, optional

    Returns
    -------
    Axes
        Stretches in order along the lap, lost time to the right; the error bars are one sd.
        Stretches without length are left out.

    Examples
    --------
    >>> ax = lw.plots.ledger(session.compare(session.typical_lap))
    >>> ax.get_xlabel()
    'time lost [s]'
    """
    table = comparison.ledger
    table = table[table["end_m"] > table["start_m"]]
    place = np.arange(len(table))
    value, sd = table["difference_s"].to_numpy(), table["difference_sd_s"].to_numpy()
    lost = value > 0.0
    with drawing(ax, (7.2, 1.1 + _ROW_IN * len(table))) as ax:
        for side, colour, hatch, label in (
            (lost, LIGHT.lost, "", "lost"),
            (~lost, LIGHT.gained, "////", "gained"),
        ):
            ax.barh(
                place[side], value[side], color=colour if not hatch else "white",
                edgecolor=colour, hatch=hatch, height=0.7, label=label,
            )  # fmt: skip
        ax.errorbar(value, place, xerr=sd, fmt="none", ecolor=LIGHT.ink, elinewidth=0.9, capsize=2)
        ax.axvline(0.0, color=LIGHT.axis, linewidth=0.8)
        corner = table["corner"].to_numpy()
        for edge in np.flatnonzero(np.diff(corner)):
            ax.axhline(edge + 0.5, color=LIGHT.rule, linewidth=0.8)
        has_corners = bool((corner > 0).any())
        names = [
            _label(c, s, has_corners=has_corners)
            for c, s in zip(corner, table["stretch"], strict=True)
        ]
        ax.set_yticks(place, names)
        ax.set_ylim(len(table) - 0.4, -0.6)
        ax.grid(visible=False, axis="y")
        ax.set(
            xlabel="time lost [s]", ylabel="corner and stretch",
            title=f"Where lap {comparison.lap} lost time to lap {comparison.reference}",
        )  # fmt: skip
        ax.legend(loc="lower right")
        return ax


def _label(corner: int, stretch: str, *, has_corners: bool) -> str:
    if corner:
        return f"{corner} {stretch}"
    return "from the line" if has_corners else "the lap"
