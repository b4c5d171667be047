"""Charts of a weekend on paper: the same places as on the page, drawn by matplotlib."""

from typing import TYPE_CHECKING

import numpy as np

from lapwright.geometry import Track
from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.weekend.charts import Chart

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MARKERS = ("o", "s", "^", "D")
COLOURS = (LIGHT.best, LIGHT.usual, LIGHT.ink, LIGHT.quiet)
FILLED = (True, False, True, False)
_DASHES = ("-", "--", ":", "-.")
# A corner's number stands so far inside it, as a share of the plan.
_INSIDE = 0.045


def draw_chart(ax: "Axes", chart: Chart) -> None:
    """
    Draw a chart as the page has it.

    Parameters
    ----------
    ax : Axes
    chart : Chart
    """
    for x in chart.parts:
        ax.axvline(x, color=LIGHT.axis, linewidth=0.7, linestyle=(0, (2, 3)))
    for v in chart.levels:
        ax.fill_between([v.start, v.end], v.y - v.bar, v.y + v.bar, color=LIGHT.rule, linewidth=0)
        ax.plot([v.start, v.end], [v.y, v.y], color=LIGHT.ink, linewidth=1.0, linestyle="-")
    for start, y, end, other_y, shape in chart.joins:
        ax.plot(
            [start, end], [y, other_y], color=COLOURS[shape], linewidth=1.0,
            linestyle=_DASHES[shape],
        )  # fmt: skip
    for d in chart.dots:
        ax.plot([d.share, d.share], [d.y - d.bar, d.y + d.bar], color=LIGHT.ink, linewidth=0.9,
                linestyle="-")  # fmt: skip
        colour = COLOURS[d.shape]
        ax.plot(
            [d.share], [d.y], marker=MARKERS[d.shape], markersize=4.5, linestyle="none",
            color=colour, markerfacecolor=colour if FILLED[d.shape] else LIGHT.panel,
            alpha=0.4 if d.role == "flagged" else 1.0, zorder=4,
        )  # fmt: skip
        if d.role == "best":
            ax.plot([d.share], [d.y], marker="o", markersize=9, linestyle="none",
                    color=LIGHT.ink, markerfacecolor="none", zorder=5)  # fmt: skip
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(chart.height, 0.0)
    ax.set_xticks([t.share for t in chart.x_ticks], [t.text for t in chart.x_ticks])
    ax.set_yticks(
        [(1.0 - t.share) * chart.height for t in chart.y_ticks], [t.text for t in chart.y_ticks]
    )
    ax.tick_params(labelsize=8)
    ax.set_title(chart.axis, loc="left", fontsize=8)


def draw_plan(ax: "Axes", track: Track) -> None:
    """
    Draw the circuit with its corner numbers, north up.

    Parameters
    ----------
    ax : Axes
    track : Track
        With a path.
    """
    assert track.path is not None
    s = np.linspace(0.0, track.length_m, 600)
    point = track.path.at(s)
    ax.plot(point.east_m, point.north_m, color=LIGHT.axis, linewidth=2.5, linestyle="-")
    size = max(np.ptp(point.east_m), np.ptp(point.north_m))
    for corner in track.corners:
        apex = track.path.at(np.mod(corner.apex_m, track.length_m))
        heading = float(apex.heading_rad)
        side = _INSIDE * size * (1.0 if corner.direction == "left" else -1.0)
        ax.text(
            float(apex.east_m) - side * np.sin(heading),
            float(apex.north_m) + side * np.cos(heading), str(corner.order), fontsize=8,
            ha="center", va="center",
        )  # fmt: skip
    gate = np.array([track.start_finish.left_m, track.start_finish.right_m])
    ax.plot(gate[:, 0], gate[:, 1], color=LIGHT.ink, linewidth=2.0, linestyle="-")
    ax.set_aspect("equal")
    ax.set_axis_off()
