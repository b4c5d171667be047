"""The lines of several laps through one corner."""

import warnings
from collections.abc import Sequence
from itertools import cycle
from typing import TYPE_CHECKING

import pandas as pd

from lapwright.arguments import checked, with_columns
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.display_units import distance_axis, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import COLOURS, DASHES, drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_AROUND_M = 60.0


@checked
def lines(
    traces: Sequence[LapTrace],
    corners: pd.DataFrame,
    corner: int,
    ax: "Axes | None" = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw how far left or right of the reference path several laps were through one corner.

    On a plan of the whole corner, half a metre is less than the width of the ink; against distance
    it can be read.

    Parameters
    ----------
    traces : sequence of LapTrace
    corners : DataFrame
        `lapwright.Session.corners`.
    corner : int
        Its number.
    ax : Axes, optional
    units : Units or str
        Distances are shown in its unit of distance.

    Returns
    -------
    Axes
        Left is up.

    Raises
    ------
    ValueError
        If there is no such corner, the units are none that there are, or the table is not that of
        the corners.

    References
    ----------
    M. Okabe and K. Ito, "Color Universal Design", 2008: the colours.

    Examples
    --------
    >>> traces = [session.trace(lap) for lap in session.clean_laps]
    >>> ax = lw.plots.lines(traces, session.corners, corner=4)
    >>> ax.get_xlabel()
    'distance from the apex [m]'
    """
    with_columns("corners", corners, ("corner", "name", "entry_m", "apex_m", "exit_m"))
    if corner not in set(corners["corner"]):
        msg = f"there is no corner {corner}; there are: {', '.join(map(str, corners['corner']))}"
        raise ValueError(msg)
    row = corners[corners["corner"] == corner].iloc[0]
    apex, low, high = row["apex_m"], row["entry_m"] - _AROUND_M, row["exit_m"] + _AROUND_M
    with drawing(ax, (7.2, 3.0)) as ax:
        shown = units_of(units)
        distance_axis(ax.xaxis, shown, "distance from the apex")
        distance_axis(ax.yaxis, shown, "line, + left of the path")
        ax.set_title(f"Lines at {corner} {row['name']}, which turns {row['direction']}")
        if not traces:
            warnings.warn("there is no lap to draw", UserWarning, stacklevel=2)
            return ax
        ax.axvspan(
            row["entry_m"] - apex, row["exit_m"] - apex, color="#f0efe9", linewidth=0, zorder=0
        )
        ax.axhline(0.0, color=LIGHT.axis, linewidth=0.8)
        ax.axvline(0.0, color=LIGHT.axis, linewidth=0.8)
        for trace, colour, dash in zip(traces, cycle(COLOURS), cycle(DASHES)):
            part = trace.within(low, high)
            ax.plot(
                trace.station_m[part] - apex, trace.offset_m[part], color=colour, linestyle=dash,
                label=f"lap {trace.lap}",
            )  # fmt: skip
        ax.set_xlim(low - apex, high - apex)
        ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=len(COLOURS))
        return ax
