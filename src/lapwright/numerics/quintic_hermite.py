"""Short quintic pieces of equal length, joined in position, slope and bend: quick to look up."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Axis = tuple[Floats, Floats, Floats]


def quintic_cells(position: Floats, first: Floats, second: Floats, cell_m: float) -> Floats:
    """Coefficients of the quintics that join position, slope and bend at both ends of a cell."""
    h = cell_m
    gap = np.roll(position, -1, axis=0) - position - h * first - h**2 / 2.0 * second
    slope_gap = np.roll(first, -1, axis=0) - first - h * second
    bend_gap = np.roll(second, -1, axis=0) - second
    coefficients = [
        position,
        first,
        second / 2.0,
        10.0 * gap / h**3 - 4.0 * slope_gap / h**2 + bend_gap / (2.0 * h),
        -15.0 * gap / h**4 + 7.0 * slope_gap / h**3 - bend_gap / h**2,
        6.0 * gap / h**5 - 3.0 * slope_gap / h**4 + bend_gap / (2.0 * h**3),
    ]
    return np.ascontiguousarray(np.stack(coefficients).transpose(0, 2, 1))


def quintic(c: Floats, index: NDArray[np.intp], x: Floats) -> Axis:
    """Value and two derivatives of quintics with ascending coefficients (6, m)."""
    c0, c1, c2, c3, c4, c5 = (row[index] for row in c)
    return (
        c0 + x * (c1 + x * (c2 + x * (c3 + x * (c4 + x * c5)))),
        c1 + x * (2.0 * c2 + x * (3.0 * c3 + x * (4.0 * c4 + x * (5.0 * c5)))),
        2.0 * c2 + x * (6.0 * c3 + x * (12.0 * c4 + x * (20.0 * c5))),
    )
