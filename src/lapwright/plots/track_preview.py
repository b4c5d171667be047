"""A track to be looked at before it is saved: path, lines, corners, pit lane, direction."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lapwright.arguments import checked
from lapwright.geometry import Gate, Track
from lapwright.plots.drawing.display_units import units_of
from lapwright.plots.drawing.label_places import Label, label_places
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.plan import north_arrow, plan_view
from lapwright.plots.drawing.style import drawing
from lapwright.units import Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = npt.NDArray[np.float64]

_STEP_M = 2.0
_ARROWS = 8
# Height of a corner's label; a letter is some six tenths of it wide, the box a little more. [pt]
_LABEL_PT, _LETTER, _BOX_PT = 7.5, 0.6, 6.0
# A name longer than this would be most of the map.
_LONGEST = 28


@checked
def track_preview(track: Track, ax: "Axes | None" = None, units: Units | str = "km/h") -> "Axes":
    """
    Draw a track, each corner with its number and name.

    Parameters
    ----------
    track : Track
        With a path.
    ax : Axes, optional
    units : Units or str
        For distances.

    Returns
    -------
    Axes

    Examples
    --------
    >>> ax = lw.plots.track_preview(session.track)
    >>> ax.get_title(loc="left")
    'Wren Hollow, 3108 m, clockwise'
    """
    path, chosen = track.path, units_of(units)
    with drawing(ax, (8.0, 5.6)) as ax:
        if path is None:
            ends = np.array([track.start_finish.left_m, track.start_finish.right_m])
            plan_view(ax, ends, chosen)
        else:
            station = np.linspace(0.0, path.length_m, round(path.length_m / _STEP_M))
            points = path.at(station)
            ax.plot(points.east_m, points.north_m, color=LIGHT.ink, linestyle="-", linewidth=2.0)
            plan_view(ax, np.stack([points.east_m, points.north_m], axis=-1), chosen)
            _arrows(ax, track)
        if track.pit_lane is not None:
            ax.plot(*track.pit_lane.T, color=LIGHT.quiet, linestyle=":", label="pit lane")
        _gate(ax, track.start_finish, LIGHT.usual, "-", "start/finish line")
        for k, gate in enumerate(track.sectors):
            _gate(ax, gate, LIGHT.best, "--", "sector line" if k == 0 else None)
        north_arrow(ax)
        length = ""
        if path is not None:
            far = chosen.distance_of(path.length_m)
            length = f", {far:.0f} {chosen.distance}, {track.direction}"
        ax.set_title(f"{track.name or 'Unnamed circuit'}{length}")
        # Below the map, where no corner can be.
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=3)
        if path is not None:
            _label_corners(ax, track)
        return ax


def _gate(ax: "Axes", gate: Gate, colour: str, dash: str, label: str | None) -> None:
    east, north = zip(gate.left_m, gate.right_m, strict=True)
    ax.plot(east, north, color=colour, linestyle=dash, linewidth=2.2, label=label, zorder=6)


def _label_corners(ax: "Axes", track: Track) -> None:
    """Write number and name of each corner beside it, with a line to it."""
    assert track.path is not None
    _room_for_names(ax, track)
    figure = ax.get_figure(root=True)
    assert figure is not None
    # Only then is it known how large a metre is.
    figure.draw_without_rendering()
    scale = 72.0 / figure.dpi
    station = np.linspace(0.0, track.length_m, round(track.length_m / _STEP_M))
    drawn = [np.stack([track.path.at(station).east_m, track.path.at(station).north_m], axis=-1)]
    for gate in (track.start_finish, *track.sectors):
        drawn.append(np.linspace(gate.left_m, gate.right_m, 9))
    if track.pit_lane is not None:
        drawn.append(track.pit_lane)
    points = ax.transData.transform(np.concatenate(drawn)) * scale
    texts, labels, places = [], [], []
    for corner in track.corners:
        apex = track.path.at(corner.apex_m)
        at_m = (float(apex.east_m), float(apex.north_m))
        side = -1.0 if corner.direction == "left" else 1.0
        heading = float(apex.heading_rad)
        outwards = (-side * float(np.sin(heading)), side * float(np.cos(heading)))
        text = _text(corner.order, corner.given_name)
        size = (_LETTER * _LABEL_PT * len(text) + _BOX_PT, _LABEL_PT + _BOX_PT)
        x, y = ax.transData.transform(at_m) * scale
        labels.append(Label((float(x), float(y)), size, outwards))
        texts.append(text)
        places.append(at_m)
    for text, at_m, offset in zip(texts, places, label_places(labels, points), strict=True):
        ax.annotate(
            text, at_m, xytext=offset, textcoords="offset points", ha="center", va="center",
            fontsize=_LABEL_PT, color=LIGHT.ink, zorder=5,
            bbox={"boxstyle": "round,pad=0.25", "facecolor": "white", "edgecolor": LIGHT.axis,
                  "linewidth": 0.6},
            arrowprops={"arrowstyle": "-", "color": LIGHT.axis, "linewidth": 0.6},
        )  # fmt: skip


def _text(order: int, name: str) -> str:
    """Write number and name; a long name is cut, for the file has it in full."""
    short = name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1].rstrip()}…"
    return f"{order} {short}".strip()


def _room_for_names(ax: "Axes", track: Track) -> None:
    """Widen the view by the longest label on either side, so that none is cut off."""
    longest = max((len(_text(c.order, c.given_name)) for c in track.corners), default=0)
    west, east = ax.get_xlim()
    south, north = ax.get_ylim()
    # The plan is some 450 points wide.
    point_m = (east - west) / 450.0
    more = (_LETTER * _LABEL_PT * longest + 2.0 * _BOX_PT) * point_m
    ax.set_xlim(west - more, east + more)
    ax.set_ylim(south - 20.0 * point_m, north + 20.0 * point_m)


def _arrows(ax: "Axes", track: Track) -> None:
    """Show which way it is driven."""
    assert track.path is not None
    for station in (np.arange(_ARROWS) + 0.5) / _ARROWS * track.length_m:
        start, end = track.path.at(station), track.path.at(station + 0.005 * track.length_m)
        ax.annotate(
            "", (float(end.east_m), float(end.north_m)),
            xytext=(float(start.east_m), float(start.north_m)),
            arrowprops={"arrowstyle": "-|>", "color": LIGHT.ink},
        )  # fmt: skip
