"""A track to be looked at before it is saved: path, lines, corners, pit lane, direction."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Gate, Track
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.plan import north_arrow, number, plan_view
from lapwright.plots.drawing.style import drawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = npt.NDArray[np.float64]

_STEP_M = 2.0
_ARROWS = 8
# Distance of a corner's name from its apex, and its height. [pt]
_AWAY_PT, _NAME_PT = 7.0, 7.5


def track_preview(track: Track, ax: "Axes | None" = None) -> "Axes":
    """
    Draw a track.

    Parameters
    ----------
    track : Track
        With a path.
    ax : Axes, optional

    Returns
    -------
    Axes

    Examples
    --------
    >>> ax = lw.plots.track_preview(session.track)
    >>> ax.get_title(loc="left")
    'Wren Hollow, 3108 m, clockwise'
    """
    path = track.path
    with drawing(ax, (6.4, 5.2)) as ax:
        if path is None:
            ends = np.array([track.start_finish.left_m, track.start_finish.right_m])
            plan_view(ax, ends)
        else:
            station = np.linspace(0.0, path.length_m, round(path.length_m / _STEP_M))
            points = path.at(station)
            ax.plot(points.east_m, points.north_m, color=LIGHT.ink, linestyle="-", linewidth=2.0)
            plan_view(ax, np.stack([points.east_m, points.north_m], axis=-1))
            _arrows(ax, track)
            for corner in track.corners:
                apex = path.at(corner.apex_m)
                side = 1.0 if corner.direction == "left" else -1.0
                heading = float(apex.heading_rad)
                at_m = (float(apex.east_m), float(apex.north_m))
                inwards = (-side * float(np.sin(heading)), side * float(np.cos(heading)))
                number(ax, str(corner.order), at_m, inwards)
                if corner.name != str(corner.order):
                    _name(ax, corner.name, at_m, (-inwards[0], -inwards[1]))
            _room_for_names(ax, track)
        if track.pit_lane is not None:
            ax.plot(*track.pit_lane.T, color=LIGHT.quiet, linestyle=":", label="pit lane")
        _gate(ax, track.start_finish, LIGHT.usual, "-", "start/finish line")
        for k, gate in enumerate(track.sectors):
            _gate(ax, gate, LIGHT.best, "--", "sector line" if k == 0 else None)
        north_arrow(ax)
        length = "" if path is None else f", {path.length_m:.0f} m, {track.direction}"
        ax.set_title(f"{track.name or 'Unnamed circuit'}{length}")
        ax.legend(loc="best")
        return ax


def _gate(ax: "Axes", gate: Gate, colour: str, dash: str, label: str | None) -> None:
    east, north = zip(gate.left_m, gate.right_m, strict=True)
    ax.plot(east, north, color=colour, linestyle=dash, linewidth=2.2, label=label, zorder=6)


def _name(ax: "Axes", name: str, at_m: tuple[float, float], outwards: tuple[float, float]) -> None:
    """Write a corner's name on its outer side, where no number is."""
    across = "left" if outwards[0] > 0.5 else "right" if outwards[0] < -0.5 else "center"
    up = "bottom" if outwards[1] > 0.5 else "top" if outwards[1] < -0.5 else "center"
    ax.annotate(
        name, at_m, xytext=(_AWAY_PT * outwards[0], _AWAY_PT * outwards[1]),
        textcoords="offset points", ha=across, va=up, fontsize=_NAME_PT, color=LIGHT.quiet,
        zorder=5,
    )  # fmt: skip


def _room_for_names(ax: "Axes", track: Track) -> None:
    """Widen the view by the longest name on either side, so that none is cut off."""
    longest = max((len(c.name) for c in track.corners if c.name != str(c.order)), default=0)
    if longest == 0:
        return
    west, east = ax.get_xlim()
    south, north = ax.get_ylim()
    # A letter is some six tenths of its height wide; the plan some 400 points.
    more = (_AWAY_PT + 0.6 * _NAME_PT * longest) / 400.0 * (east - west)
    ax.set_xlim(west - more, east + more)
    ax.set_ylim(south - 0.04 * (east - west), north + 0.04 * (east - west))


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
