"""Figures in the units people read: speeds converted, distances by what is written on the axis."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lapwright.units import SPEED_PER_MPS, Units

if TYPE_CHECKING:
    from matplotlib.axis import Axis


def speed_in(speed_mps: npt.ArrayLike, units: str) -> npt.NDArray[np.float64]:
    """
    Convert speeds from m/s.

    Parameters
    ----------
    speed_mps : array_like, shape (n,)
        [m/s]
    units : {"km/h", "mph", "m/s"}

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> speed_in([10.0, 20.0], "km/h")
    array([36., 72.])
    """
    return np.asarray(speed_mps, dtype=np.float64) * SPEED_PER_MPS[units]


def units_of(units: Units | str) -> Units:
    """
    Take units as given to a figure: `Units`, or as people type them.

    Examples
    --------
    >>> units_of("mph,ft")
    Units(speed='mph', distance='ft')
    """
    return units if isinstance(units, Units) else Units.parse(units)


def distance_axis(axis: "Axis", units: Units, name: str) -> None:
    """
    Name an axis of metres in the unit of distance, with ticks at whole numbers of it.

    What is drawn stays in metres, so that figures can be drawn upon in SI units.

    Parameters
    ----------
    axis : Axis
    units : Units
    name : str
        What the distance is, without its unit.
    """
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    axis.set_label_text(f"{name} [{units.distance}]")
    scale = units.distance_of(1.0)
    if scale == 1.0:
        return

    class Scaled(MaxNLocator):
        """Round numbers of the unit that is shown."""

        def tick_values(self, vmin: float, vmax: float) -> "list[float]":
            ticks = super().tick_values(vmin * scale, vmax * scale)
            return [float(v) / scale for v in ticks]

    axis.set_major_locator(Scaled(nbins="auto", steps=[1, 2, 2.5, 5, 10]))
    axis.set_major_formatter(FuncFormatter(lambda v, _: _tick_text(v * scale)))


def _tick_text(value: float) -> str:
    """Write a round number without the dust of its conversion, with a true minus sign."""
    return f"{round(value, 6):g}".replace("-", "\N{MINUS SIGN}")
