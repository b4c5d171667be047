"""Rolling delta with its band."""

from typing import TYPE_CHECKING

import pandas as pd

from lapwright.arguments import checked
from lapwright.laps.comparison import Comparison
from lapwright.plots.drawing.corner_bands import corner_bands
from lapwright.plots.drawing.display_units import distance_axis, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@checked
def delta(
    comparison: Comparison,
    ax: "Axes | None" = None,
    corners: pd.DataFrame | None = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw the delta along a lap against a reference lap.

    Parameters
    ----------
    comparison : Comparison
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, shaded behind the line.
    units : Units or str
        Distance is shown in its unit of distance.

    Returns
    -------
    Axes
        The band is one sd to either side.

    Raises
    ------
    ValueError
        If the units are none that there are.

    Examples
    --------
    >>> ax = lw.plots.delta(session.compare(session.typical_lap), corners=session.corners)
    >>> ax.get_ylabel()
    'delta [s]'
    """
    table = comparison.delta
    station, lost, sd = table["station_m"], table["delta_s"], table["delta_sd_s"]
    with drawing(ax, (7.2, 3.2)) as ax:
        corner_bands(ax, corners, float(station.iloc[-1]))
        ax.axhline(0.0, color=LIGHT.axis, linewidth=0.8)
        ax.fill_between(
            station, lost - sd, lost + sd, color=LIGHT.usual, alpha=0.25, linewidth=0,
            label="\N{PLUS-MINUS SIGN}",
        )  # fmt: skip
        ax.plot(station, lost, color=LIGHT.usual, linestyle="-", label=f"lap {comparison.lap}")
        ax.annotate(
            f"slower than lap {comparison.reference}", (0.005, 0.98), xycoords="axes fraction",
            va="top", fontsize=8, color=LIGHT.quiet,
        )  # fmt: skip
        ax.annotate(
            "quicker", (0.005, 0.02), xycoords="axes fraction", va="bottom", fontsize=8,
            color=LIGHT.quiet,
        )  # fmt: skip
        # Zero is always in sight, with room for the words on either side of it.
        low, high = min(float((lost - sd).min()), 0.0), max(float((lost + sd).max()), 0.0)
        room = 0.15 * max(high - low, 0.02)
        ax.set_ylim(low - room, high + room)
        ax.set(ylabel="delta [s]", xlim=(0.0, float(station.iloc[-1])))
        distance_axis(ax.xaxis, units_of(units), "distance after the start line")
        ax.set_title(f"Delta of lap {comparison.lap} to lap {comparison.reference}", pad=14)
        ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.05), ncols=2)
        return ax
