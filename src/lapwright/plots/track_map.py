"""Maps of a lap: coloured by speed, or by the time lost on every metre."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import checked
from lapwright.laps.comparison import Comparison
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.display_units import speed_in, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.plan import north_arrow, number_corners, plan_view
from lapwright.plots.drawing.style import drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = npt.NDArray[np.float64]

_MIN_PT, _MAX_PT = 1.5, 6.0


@checked
def speed_map(
    trace: LapTrace,
    ax: "Axes | None" = None,
    corners: pd.DataFrame | None = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw a lap on the plan, coloured by speed.

    Parameters
    ----------
    trace : LapTrace
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, numbered on the map.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.

    Returns
    -------
    Axes
        Darker is slower, also in grey print.

    Raises
    ------
    ValueError
        If the units are none that there are.

    References
    ----------
    J. R. Nunez, C. R. Anderton and R. S. Renslow, "Optimizing colormaps with consideration for
    color vision deficiency to enable accurate interpretation of scientific data", PLoS ONE 13
    (2018) e0199239: the colours.

    Examples
    --------
    >>> ax = lw.plots.speed_map(session.trace(session.best_lap), corners=session.corners)
    >>> ax.get_title(loc="left")
    'Speed on lap 5'
    """
    lap = trace.inside
    shown = units_of(units)
    values = speed_in(trace.speed_mps[lap], shown.speed)
    with drawing(ax, (6.4, 5.2)) as ax:
        limits = (float(values.min()), float(values.max()))
        _ribbon(ax, trace, values, "cividis", limits, f"speed [{shown.speed}]", units=shown)
        number_corners(ax, trace, corners)
        ax.set_title(f"Speed on lap {trace.lap}")
        return ax


@checked
def time_lost_map(
    comparison: Comparison,
    ax: "Axes | None" = None,
    corners: pd.DataFrame | None = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw a lap on the plan, coloured by the time lost to the reference on every metre.

    Parameters
    ----------
    comparison : Comparison
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, numbered on the map.
    units : Units or str
        Distances are shown in its unit of distance.

    Returns
    -------
    Axes
        The ribbon is wide where time was lost and narrow where it was gained.

    Raises
    ------
    ValueError
        If the units are none that there are.

    Examples
    --------
    >>> ax = lw.plots.time_lost_map(session.compare(session.typical_lap), corners=session.corners)
    >>> ax.get_aspect()  # as many metres an inch across as up
    1.0
    """
    from matplotlib.colors import LinearSegmentedColormap

    trace, table = comparison.lap_trace, comparison.delta
    lap = trace.inside
    shown = units_of(units)
    per_metre = 1e3 * np.gradient(table["delta_s"], table["station_m"]) / shown.distance_of(1.0)
    values = np.interp(trace.station_m[lap], table["station_m"], per_metre)
    most = max(float(np.abs(values).max()), 1e-3)
    colours = LinearSegmentedColormap.from_list("lost", [LIGHT.gained, "#d9d9d9", LIGHT.lost])
    width = _MIN_PT + (_MAX_PT - _MIN_PT) * np.clip(0.5 + 0.5 * values / most, 0.0, 1.0)
    with drawing(ax, (6.4, 5.2)) as ax:
        label = f"time lost [ms/{shown.distance}]"
        _ribbon(ax, trace, values, colours, (-most, most), label, width, units=shown)
        number_corners(ax, trace, corners)
        ax.set_title(f"Where lap {comparison.lap} lost time to lap {comparison.reference}")
        return ax


def _ribbon(
    ax: "Axes", trace: LapTrace, values: Floats, colours: object, limits: tuple[float, float],
    label: str, width_pt: Floats | float = 3.0, *, units: Units,
) -> None:  # fmt: skip
    """Coloured segments with a dark edge, so that the pale end of the scale stays visible."""
    from matplotlib.collections import LineCollection

    lap = trace.inside
    points = np.stack([trace.east_m[lap], trace.north_m[lap]], axis=-1)
    segments = np.stack([points[:-1], points[1:]], axis=1)
    middle = 0.5 * (values[:-1] + values[1:])
    widths = np.broadcast_to(width_pt, len(values))[1:]
    edge = LineCollection(list(segments), colors=LIGHT.ink, linewidths=widths + 1.4)
    ribbon = LineCollection(
        list(segments), array=middle, cmap=colours, clim=limits, linewidths=widths
    )
    for collection in (edge, ribbon):
        collection.set_capstyle("round")
        ax.add_collection(collection)
    plan_view(ax, points, units)
    north_arrow(ax)
    figure = ax.get_figure()
    assert figure is not None
    figure.colorbar(ribbon, ax=ax, label=label, shrink=0.7, pad=0.02)
