"""Lap times over a session, with their error bars and whatever was out of the ordinary."""

import warnings
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from lapwright.arguments import checked, with_columns
from lapwright.errors import LapError
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import drawing
from lapwright.units import clock
from lapwright.wording.flags import flag_list

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Laps slower than this against the fastest are drawn at the edge, with their time beside.
_SHOWN_FACTOR = 1.06


@checked
def lap_times(laps: pd.DataFrame, ax: "Axes | None" = None, best: int | None = None) -> "Axes":
    """
    Draw lap times over a session.

    Parameters
    ----------
    laps : DataFrame
        `lapwright.Session.laps`.
    ax : Axes, optional
        Where to draw; a new figure where not given.
    best : int, optional
        Number of the lap to be marked as the best.

    Returns
    -------
    Axes
        Clean laps are filled marks, others open ones with their flags; the bars are one sd.

    Raises
    ------
    LapError
        If ``best`` is no timed lap.
    ValueError
        If the table is not that of the laps.

    Examples
    --------
    >>> ax = lw.plots.lap_times(session.laps, best=session.best_lap)
    >>> ax.get_ylabel()
    'lap time [min:s]'
    """
    from matplotlib.ticker import MaxNLocator

    with_columns("laps", laps, ("lap", "kind", "time_s", "time_sd_s", "representative", "flags"))
    timed = laps[(laps["kind"] == "timed") & laps["time_s"].notna()]
    if best is not None and len(timed) and best not in set(timed["lap"]):
        msg = f"lap {best} is not a timed lap; these are: {', '.join(map(str, timed['lap']))}"
        raise LapError(msg)
    with drawing(ax, (7.2, 3.4)) as ax:
        ax.set(xlabel="lap", ylabel="lap time [min:s]", title="Lap times")
        if timed.empty:
            warnings.warn("the session has no timed lap to draw", UserWarning, stacklevel=2)
            return ax
        top = float(timed["time_s"].min()) * _SHOWN_FACTOR
        shown = timed[timed["time_s"] <= top]
        _points(ax, shown[shown["representative"]], LIGHT.best, LIGHT.best, "clean lap")
        _points(ax, shown[~shown["representative"]], LIGHT.quiet, LIGHT.panel, "lap set aside")
        low, high = float(shown["time_s"].min()), float(shown["time_s"].max())
        # Less, and the labels' tenths would say the same time twice.
        room = max(high - low, 1.0)
        beyond = timed[timed["time_s"] > top]
        ax.set_ylim(low - 0.22 * room, high + (0.35 if beyond.empty else 0.55) * room)
        _beyond(ax, beyond)
        for row in shown[~shown["representative"]].to_dict("records"):
            _say(ax, row["lap"], row["time_s"], flag_list(row["flags"]))
        if best is not None:
            time_s = float(timed.loc[timed["lap"] == best, "time_s"].iloc[0])
            _say(ax, best, time_s, f"best {clock(time_s)}", below=True)
        ax.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
        # Steps of a quarter would be written as tenths that are not there.
        ax.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
        ax.yaxis.set_major_formatter(lambda value, _: clock(value, most=1))
        ax.set_xlim(float(timed["lap"].min()) - 0.5, float(timed["lap"].max()) + 0.5)
        ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2)
        return ax


def _points(ax: "Axes", rows: pd.DataFrame, edge: str, face: str, label: str) -> None:
    if rows.empty:
        return
    ax.errorbar(
        rows["lap"], rows["time_s"], rows["time_sd_s"], fmt="o", color=edge,
        markerfacecolor=face, label=label,
    )  # fmt: skip


def _beyond(ax: "Axes", rows: pd.DataFrame) -> None:
    """Laps too slow for the scale: an arrow at the top edge with the time."""
    for row in rows.to_dict("records"):
        said = flag_list(row["flags"])
        text = clock(row["time_s"], most=1) + "\n" + said
        ax.annotate(
            text, (row["lap"], 1.0), xycoords=("data", "axes fraction"),
            xytext=(0, -26), textcoords="offset points", ha="center", va="top", fontsize=8,
            color=LIGHT.quiet, arrowprops={"arrowstyle": "->", "color": LIGHT.quiet},
        )  # fmt: skip


def _say(ax: "Axes", lap: float, time_s: float, text: str, *, below: bool = False) -> None:
    if not text or not np.isfinite(time_s):
        return
    ax.annotate(
        text, (lap, time_s), xytext=(0, -9 if below else 7), textcoords="offset points",
        ha="center", va="top" if below else "bottom", fontsize=8,
        color=LIGHT.best if below else LIGHT.quiet,
    )  # fmt: skip
