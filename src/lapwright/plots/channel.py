"""One of the driver's channels along the lap, to stand below the speed."""

import warnings
from collections.abc import Mapping, Sequence
from itertools import cycle
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.corners.driver_inputs import Channel
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.corner_bands import corner_bands
from lapwright.plots.drawing.display_units import distance_axis, units_of
from lapwright.plots.drawing.style import COLOURS, DASHES, drawing
from lapwright.units import Units
from lapwright.wording.driver import channel_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@checked
def channel(
    channels: Mapping[str, Channel], role: str, traces: Sequence[LapTrace],
    ax: "Axes | None" = None, corners: pd.DataFrame | None = None, units: Units | str = "km/h",
) -> "Axes":  # fmt: skip
    """
    Draw one of the driver's channels against distance from the line, in its own unit.

    Below the speed it shows what the driver did where; give both the same x axis.

    Parameters
    ----------
    channels : mapping of str to Channel
        `lapwright.Session.channels`.
    role : str
        ``"throttle"``, ``"brake"``, ``"steering"`` or ``"rpm"``.
    traces : sequence of LapTrace
        Laps of the same session.
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, shaded behind the lines.
    units : Units or str
        Of distance: ``"mph,ft"``.

    Returns
    -------
    Axes
        Empty, with a warning, where the log has no such channel.

    Raises
    ------
    ValueError
        If the units or the channel are none that there are.

    References
    ----------
    M. Okabe and K. Ito, "Color Universal Design", 2008: the colours.

    Examples
    --------
    >>> import matplotlib.pyplot as plt
    >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
    >>> laps = [practice.trace(lap) for lap in (practice.typical_lap, practice.best_lap)]
    >>> figure, (upper, lower) = plt.subplots(2, sharex=True, layout="constrained")
    >>> upper = lw.plots.speed(laps, upper, practice.corners)
    >>> lower = lw.plots.channel(practice.channels, "brake", laps, lower, practice.corners)
    >>> lower.get_ylabel()
    'brake [bar]'
    """
    shown, found = units_of(units), channels.get(role)
    with drawing(ax, (7.2, 1.8)) as ax:
        distance_axis(ax.xaxis, shown, "distance after the start line")
        ax.set_ylabel(channel_name(role, "" if found is None else found.unit))
        if found is None or not traces:
            missing = "lap" if found is not None else f"channel for {role} in the log"
            warnings.warn(f"there is no {missing} to draw", UserWarning, stacklevel=2)
            return ax
        corner_bands(ax, corners, traces[0].length_m)
        for trace, colour, dash in zip(traces, cycle(COLOURS), cycle(DASHES)):
            lap = trace.inside
            value = np.ma.masked_invalid(found.at(trace.time_s[lap]))
            ax.plot(
                trace.station_m[lap], value, color=colour, linestyle=dash, label=f"lap {trace.lap}"
            )
        ax.set_xlim(0.0, traces[0].length_m)
        return ax
