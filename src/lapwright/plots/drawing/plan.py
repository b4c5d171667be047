"""What all plan views share: equal scales, metres, north, corner numbers."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import with_columns
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.display_units import distance_axis, units_of
from lapwright.plots.drawing.palette import LIGHT
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = npt.NDArray[np.float64]

_MARGIN = 0.08


def plan_view(ax: "Axes", points_m: Floats, units: Units | str = "km/h") -> None:
    """Equal scales around some points, shape (n, 2), distances on both axes."""
    low, high = points_m.min(axis=0), points_m.max(axis=0)
    room = _MARGIN * float((high - low).max())
    ax.set_xlim(low[0] - room, high[0] + room)
    ax.set_ylim(low[1] - room, high[1] + room)
    ax.set_aspect("equal")
    for axis, name in ((ax.xaxis, "east"), (ax.yaxis, "north")):
        distance_axis(axis, units_of(units), name)


def north_arrow(ax: "Axes") -> None:
    """Point north in the upper right corner."""
    ax.annotate(
        "N", (0.97, 0.99), xytext=(0.97, 0.88), xycoords="axes fraction", ha="center",
        va="center", fontsize=8, color=LIGHT.quiet,
        arrowprops={"arrowstyle": "->", "color": LIGHT.quiet},
    )  # fmt: skip


def number_corners(ax: "Axes", trace: LapTrace, corners: pd.DataFrame | None) -> None:
    """Write each corner's number on its inner side."""
    if corners is None:
        return
    with_columns("corners", corners, ("corner", "direction", "apex_m"))
    for row in corners.to_dict("records"):
        side = 1.0 if row["direction"] == "left" else -1.0
        heading = float(trace.at_station("heading_rad", row["apex_m"]))
        number(
            ax, str(row["corner"]),
            (
                float(trace.at_station("east_m", row["apex_m"])),
                float(trace.at_station("north_m", row["apex_m"])),
            ),
            (-side * np.sin(heading), side * np.cos(heading)),
        )  # fmt: skip


def number(ax: "Axes", text: str, at_m: tuple[float, float], towards: tuple[float, float]) -> None:
    """Write a corner's number some points away from a place, in a direction."""
    ax.annotate(
        text, at_m, xytext=(12.0 * towards[0], 12.0 * towards[1]), textcoords="offset points",
        ha="center", va="center", fontsize=8, color=LIGHT.ink, zorder=5,
        bbox={"boxstyle": "circle,pad=0.25", "facecolor": "white", "edgecolor": LIGHT.axis,
              "linewidth": 0.6},
    )  # fmt: skip
