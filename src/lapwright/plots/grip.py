"""Grip diagram: longitudinal against lateral acceleration."""

import warnings
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from lapwright.arguments import checked
from lapwright.corners.grip import Envelope
from lapwright.laps.lap_trace import LapTrace
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import drawing
from lapwright.units import STANDARD_GRAVITY_MPS2

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@checked
def grip(
    traces: Sequence[LapTrace], ax: "Axes | None" = None, envelope: Envelope | None = None
) -> "Axes":
    """
    Draw how much the tyres were asked for, lengthwise against sideways.

    Parameters
    ----------
    traces : sequence of LapTrace
    ax : Axes, optional
    envelope : Envelope, optional
        `lapwright.Session.grip` has it: the most the driver reaches in each direction.

    Returns
    -------
    Axes
        In multiples of standard gravity; left corners on the left. The road's banking and crests
        are in it: it is what the car did, not what the tyres can do.

    Examples
    --------
    >>> traces = [session.trace(lap) for lap in session.clean_laps]
    >>> ax = lw.plots.grip(traces, envelope=session.grip.envelope)
    >>> ax.get_title(loc="left")
    'Grip used'
    """
    with drawing(ax, (5.0, 4.6)) as ax:
        ax.set(
            xlabel="left corners   lateral [g]   right corners",
            ylabel="braking   longitudinal [g]   accelerating", title="Grip used",
        )  # fmt: skip
        if not traces:
            warnings.warn("there is no lap to draw", UserWarning, stacklevel=2)
            return ax
        lateral = (
            np.concatenate([t.accel_lat_mps2[t.inside] for t in traces]) / STANDARD_GRAVITY_MPS2
        )
        along = (
            np.concatenate([t.accel_long_mps2[t.inside] for t in traces]) / STANDARD_GRAVITY_MPS2
        )
        reach = 1.08 * float(np.hypot(lateral, along).max())
        turn = np.linspace(0.0, 2.0 * np.pi, 181)
        for radius in np.arange(0.5, reach, 0.5):
            ax.plot(radius * np.cos(turn), radius * np.sin(turn), color=LIGHT.rule,
                    linewidth=0.8, linestyle="-", zorder=0)  # fmt: skip
        # Left is positive in the tables; on paper a left corner belongs on the left.
        ax.plot(-lateral, along, linestyle="none", marker=".", markersize=1.5, color=LIGHT.best,
                alpha=0.35, rasterized=True)  # fmt: skip
        if envelope is not None:
            turn = np.radians(envelope.direction_deg)
            most = envelope.reached_mps2.max(axis=0) / STANDARD_GRAVITY_MPS2
            for side in (1.0, -1.0):
                ax.plot(side * most * np.cos(turn), most * np.sin(turn), color=LIGHT.usual,
                        linestyle="--", label="your own limit" if side > 0.0 else None)  # fmt: skip
            ax.legend(loc="upper right", bbox_to_anchor=(1.0, 1.08))
        ax.axhline(0.0, color=LIGHT.axis, linewidth=0.7)
        ax.axvline(0.0, color=LIGHT.axis, linewidth=0.7)
        ax.set(xlim=(-reach, reach), ylim=(-reach, reach), aspect="equal")
        ax.grid(visible=False)
        return ax
