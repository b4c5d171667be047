"""Corners under a figure along the lap: a faint band and the number of each."""

from typing import TYPE_CHECKING

import pandas as pd

from lapwright.arguments import with_columns
from lapwright.plots.drawing.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def corner_bands(ax: "Axes", corners: pd.DataFrame | None, length_m: float) -> None:
    """
    Shade the corners behind a figure whose x axis is the distance from the line.

    Parameters
    ----------
    ax : Axes
    corners : DataFrame or None
        ``corner``, ``entry_m``, ``apex_m``, ``exit_m``; nothing is drawn where None.
    length_m : float
        Of the lap; what lies beyond is not drawn. [m]
    """
    if corners is None:
        return
    with_columns("corners", corners, ("corner", "entry_m", "apex_m", "exit_m"))
    for row in corners.to_dict("records"):
        ax.axvspan(
            max(float(row["entry_m"]), 0.0), min(float(row["exit_m"]), length_m),
            color="#f0efe9", linewidth=0, zorder=0,
        )  # fmt: skip
        ax.annotate(
            str(row["corner"]), (float(row["apex_m"]), 1.0), xycoords=("data", "axes fraction"),
            xytext=(0, 1), textcoords="offset points", ha="center", va="bottom",
            fontsize=8, color=LIGHT.quiet,
        )  # fmt: skip
