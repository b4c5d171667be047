"""Small multiples: the speed of several laps through every corner."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd

from lapwright.arguments import checked, with_columns
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.display_units import distance_axis, speed_in, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import SHEET, drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BEFORE_M, _AFTER_M = 120.0, 80.0
_COLUMNS = 3


@checked
def corner_speeds(
    traces: Sequence[LapTrace],
    corners: pd.DataFrame,
    axes: "Sequence[Axes] | None" = None,
    best: int | None = None,
    units: Units | str = "km/h",
) -> "list[Axes]":
    """
    Draw the speed of several laps through every corner, one small figure a corner.

    Parameters
    ----------
    traces : sequence of LapTrace
    corners : DataFrame
        `lapwright.Session.corners`.
    axes : sequence of Axes, optional
        One a corner; a new figure where not given.
    best : int, optional
        Number of the lap to be drawn above the others.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.

    Returns
    -------
    list of Axes
        Distance is from the apex.

    Raises
    ------
    ValueError
        If the units are none that there are, or the table is not that of the corners.

    Examples
    --------
    >>> traces = [session.trace(lap) for lap in session.clean_laps]
    >>> axes = lw.plots.corner_speeds(traces, session.corners, best=session.best_lap)
    >>> len(axes) == len(session.corners)
    True
    """
    with_columns("corners", corners, ("corner", "name", "entry_m", "apex_m", "exit_m"))
    shown = units_of(units)
    given = list(axes) if axes is not None else _grid(len(corners))
    for ax, row in zip(given, corners.to_dict("records"), strict=False):
        with drawing(ax):
            _one(ax, traces, row, best, shown)
    if best is not None and len(corners):
        with drawing(given[0]):
            given[0].legend(loc="best", handlelength=1.2)
    for ax in given[: len(corners)][::_COLUMNS]:
        ax.set_ylabel(f"speed [{shown.speed}]")
    for ax in given[: len(corners)][-_COLUMNS:]:
        distance_axis(ax.xaxis, shown, "distance from the apex")
    return given[: len(corners)]


def _grid(count: int) -> "list[Axes]":
    import matplotlib.pyplot as plt

    columns = max(min(count, _COLUMNS), 1)
    rows = max(-(-count // columns), 1)
    # One corner alone is not small.
    size = (6.2, 3.2) if count == 1 else (2.4 * columns, 1.75 * rows + 0.3)
    with plt.style.context(SHEET):
        _, axes = plt.subplots(rows, columns, figsize=size, layout="constrained", squeeze=False)
    for ax in axes.ravel()[count:]:
        ax.set_visible(False)
    return list(axes.ravel())


def _one(
    ax: "Axes", traces: Sequence[LapTrace], row: dict[Any, Any], best: int | None, units: Units
) -> None:
    apex, entry, leave = (float(row[f"{n}_m"]) for n in ("apex", "entry", "exit"))
    low, high = entry - _BEFORE_M, leave + _AFTER_M
    ax.axvspan(entry - apex, leave - apex, color="#f0efe9", linewidth=0, zorder=0)
    for trace in sorted(traces, key=lambda t: t.lap == best):
        part = trace.within(low, high)
        first = trace.lap == best
        ax.plot(
            trace.station_m[part] - apex, speed_in(trace.speed_mps[part], units.speed),
            color=LIGHT.best if first else LIGHT.other, linewidth=1.8 if first else 0.8,
            linestyle="-", label=f"lap {trace.lap}" if first else None,
        )  # fmt: skip
    number, name = row["corner"], row["name"]
    ax.set_title(f"{number} {name}" if name and str(name) != str(number) else f"corner {number}")
    ax.set_xlim(low - apex, high - apex)
