"""A small plan of a corner on paper, and the marks that stand on lines and traces alike."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.cards import Card, drawn_laps
from lapwright.report.html.figure import nice_step
from lapwright.report.pdf.sheet import SMALLEST_PT
from lapwright.report.report_data import ReportData
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARKERS = {"brake": "s", "slowest": "o", "throttle": "^"}
_COLOURS = {"best": LIGHT.best, "usual": LIGHT.usual}


def draw_marks(ax: "Axes", points: Mapping[tuple[str, str], tuple[float, float]]) -> None:
    """
    Draw marked places: filled for the best lap, hollow for the usual one.

    Parameters
    ----------
    ax : Axes
    points : mapping of (kind, role) to (x, y)
    """
    for (kind, role), (x, y) in points.items():
        ax.plot(
            [x], [y], marker=_MARKERS[kind], markersize=6.0, markeredgewidth=1.4, linestyle="none",
            color=_COLOURS[role], zorder=6 if role == "best" else 5,
            markerfacecolor=_COLOURS[role] if role == "best" else LIGHT.panel,
        )  # fmt: skip


def corner_plan_on(
    ax: "Axes", material: ReportData, card: Card, looks: Mapping[str, Mapping[str, Any]],
    units: Units,
) -> None:  # fmt: skip
    """
    Draw the lines of the usual and the best lap through a corner, north up.

    Parameters
    ----------
    ax : Axes
    material : ReportData
    card : Card
    looks : mapping
        Of lines, by role.
    units : Units
    """
    ax.set_axis_off()
    ax.set_aspect("equal", adjustable="datalim")
    points = {}
    for lap, role in drawn_laps(material):
        if role == "other":
            continue
        trace = material.traces[lap]
        part = trace.within(*card.window)
        east, north = trace.east_m[part], trace.north_m[part]
        ax.plot(east, north, **looks[role])
        for kind, own, station, _ in card.marks:
            if own == role and card.window[0] <= station <= card.window[1]:
                points[kind, role] = (
                    float(trace.at_station("east_m", station)),
                    float(trace.at_station("north_m", station)),
                )
        if role == "best":
            _way(ax, east, north)
    draw_marks(ax, points)
    ax.margins(0.08)
    _scale(ax, units)
    ax.annotate(
        "N", (0.98, 1.0), xytext=(0.98, 0.84), xycoords="axes fraction", ha="center", va="center",
        fontsize=SMALLEST_PT, color=LIGHT.quiet,
        arrowprops={"arrowstyle": "->", "color": LIGHT.quiet},
    )  # fmt: skip


def _way(
    ax: "Axes", east: "np.typing.NDArray[np.float64]", north: "np.typing.NDArray[np.float64]"
) -> None:
    """Arrow at the end of a line."""
    if len(east) > 3:
        ax.annotate(
            "", (east[-1], north[-1]), xytext=(east[-4], north[-4]), zorder=4,
            arrowprops={"arrowstyle": "-|>", "color": LIGHT.best, "mutation_scale": 13},
        )  # fmt: skip


def _scale(ax: "Axes", units: Units) -> None:
    """Scale bar in the lower left corner."""
    ax.apply_aspect()
    low, high = ax.get_xlim()
    length = nice_step(0.35 * units.distance_of(high - low), 1) / 2.0
    share = length / units.distance_of(high - low)
    ax.plot([0.02, 0.02 + share], [0.02, 0.02], transform=ax.transAxes, color=LIGHT.quiet,
            linewidth=1.4, linestyle="-", solid_capstyle="butt")  # fmt: skip
    ax.annotate(
        f"{length:.0f} {units.distance}", (0.02, 0.035), xycoords="axes fraction",
        fontsize=SMALLEST_PT, color=LIGHT.quiet, va="bottom",
    )  # fmt: skip
