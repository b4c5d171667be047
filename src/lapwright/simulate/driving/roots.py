"""Roots of pieces of cubic splines, many at once."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def cubic_root(cubic: Floats, begin_s: Floats, step_s: float, level: Floats) -> Floats:
    """
    Where cubics, given by coefficients about the begin of their piece, reach a level.

    Bisection and Newton steps together: each piece holds exactly one change of side.
    """
    c3, c2, c1, c0 = cubic
    c0 = c0 - level
    low, high = np.zeros_like(begin_s), np.full_like(begin_s, step_s)
    side = np.sign(((c3 * step_s + c2) * step_s + c1) * step_s + c0)
    x = high / 2
    for _ in range(60):
        value = ((c3 * x + c2) * x + c1) * x + c0
        past = np.sign(value) == side
        high, low = np.where(past, x, high), np.where(past, low, x)
        slope = (3 * c3 * x + 2 * c2) * x + c1
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = x - value / slope
        good = (newton > low) & (newton < high)
        nearer = np.where(good, newton, (low + high) / 2)
        if np.all(np.abs(nearer - x) < 1e-14):
            break
        x = nearer
    return np.asarray(begin_s + x)
