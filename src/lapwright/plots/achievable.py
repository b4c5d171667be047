"""Speed along the lap that a driver's own envelope allows."""

from typing import TYPE_CHECKING

import pandas as pd

from lapwright.achievable import Achievable
from lapwright.arguments import checked
from lapwright.plots.drawing.corner_bands import corner_bands
from lapwright.plots.drawing.display_units import distance_axis, speed_in, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# As on the page: column, label, colour, dashes.
_LINES = (
    ("usual_mps", "usual", LIGHT.usual, "--"),
    ("best_mps", "lap {best}", LIGHT.best, "-"),
    ("allowed_mps", "calculated", LIGHT.ink, ":"),
)


@checked
def achievable(
    found: Achievable,
    ax: "Axes | None" = None,
    corners: pd.DataFrame | None = None,
    units: Units | str = "km/h",
) -> "Axes":
    """
    Draw the speed of the usual, the best and the calculated lap against distance from the line.

    Parameters
    ----------
    found : Achievable
        `lapwright.Session.achievable`.
    ax : Axes, optional
    corners : DataFrame, optional
        `lapwright.Session.corners`, shaded behind the lines.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.

    Returns
    -------
    Axes
        The band is the 95 % interval of the calculated speed.

    Raises
    ------
    ValueError
        If the units are none that there are.

    References
    ----------
    M. Okabe and K. Ito, "Color Universal Design", 2008: the colours.

    Examples
    --------
    >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
    >>> ax = lw.plots.achievable(practice.achievable, corners=practice.corners)
    >>> [line.get_label() for line in ax.lines]
    ['usual', 'lap 4', 'calculated']
    """
    shown, table = units_of(units), found.along
    station = table["station_m"].to_numpy()
    with drawing(ax, (7.2, 3.6)) as ax:
        distance_axis(ax.xaxis, shown, "distance after the start line")
        ax.set_ylabel(f"speed [{shown.speed}]")
        ax.set_title("What your own laps add up to", pad=14)
        corner_bands(ax, corners, float(station[-1]))
        for name, label, colour, dash in _LINES:
            ax.plot(
                station, speed_in(table[name].to_numpy(), shown.speed), color=colour,
                linestyle=dash, label=label.format(best=found.best_lap),
            )  # fmt: skip
        low, high = (
            speed_in(table[f"allowed_{end}95_mps"].to_numpy(), shown.speed)
            for end in ("low", "high")
        )
        ax.fill_between(station, low, high, color=LIGHT.ink, alpha=0.15, linewidth=0)
        ax.set_xlim(0.0, float(station[-1]))
        ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.05), ncols=len(_LINES))
        return ax
