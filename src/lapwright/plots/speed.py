"""Speed along the lap, for several laps."""

import warnings
from collections.abc import Sequence
from itertools import cycle
from typing import TYPE_CHECKING

import pandas as pd

from lapwright.arguments import checked
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.corner_bands import corner_bands
from lapwright.plots.drawing.display_units import distance_axis, speed_in, units_of
from lapwright.plots.drawing.style import COLOURS, DASHES, drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@checked
def speed(
    traces: Sequence[LapTrace],
    ax: "Axes | None" = None,
    corners: pd.DataFrame | None = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw speed against distance from the line.

    Parameters
    ----------
    traces : sequence of LapTrace
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, shaded behind the lines.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.

    Returns
    -------
    Axes

    Raises
    ------
    ValueError
        If the units are none that there are.

    References
    ----------
    M. Okabe and K. Ito, "Color Universal Design", 2008: the colours.

    Examples
    --------
    >>> laps = [session.trace(lap) for lap in (session.typical_lap, session.best_lap)]
    >>> ax = lw.plots.speed(laps, corners=session.corners, units="mph,ft")
    >>> ax.get_ylabel()
    'speed [mph]'
    """
    shown = units_of(units)
    with drawing(ax, (7.2, 3.6)) as ax:
        distance_axis(ax.xaxis, shown, "distance after the start line")
        ax.set_ylabel(f"speed [{shown.speed}]")
        ax.set_title("Speed along the lap", pad=14)
        if not traces:
            warnings.warn("there is no lap to draw", UserWarning, stacklevel=2)
            return ax
        corner_bands(ax, corners, traces[0].length_m)
        for trace, colour, dash in zip(traces, cycle(COLOURS), cycle(DASHES)):
            lap = trace.inside
            ax.plot(
                trace.station_m[lap], speed_in(trace.speed_mps[lap], shown.speed), color=colour,
                linestyle=dash, label=f"lap {trace.lap}",
            )  # fmt: skip
        ax.set_xlim(0.0, traces[0].length_m)
        ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.05), ncols=len(COLOURS))
        return ax
