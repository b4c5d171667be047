"""
Whether a logged speed is what the positions do.

A speed can be smooth and yet wrong for seconds: filtered, from a wheel, of another sensor.  Its
white noise then looks tiny, and believing it would drag the positions along.  Over a second or so
the displacement of the positions tells, wherever they are good enough to.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.measurements import Measurements
from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]

# Long enough for the positions' white noise to matter little, short against a bend.
_WINDOW_S = 1.0
# A disagreement below this is within what a Doppler speed does anyway. [m/s]
_MIN_MPS = 0.12
# And it must stand out of what the white noise of the positions explains.
_TIMES_EXPLAINED = 1.7
# Where the way bends more than this within the window the chord is no measure of the arc.
_MAX_BEND_RAD = 0.3
# Slower than this the direction of a displacement is noise; with longer steps than that the mean of
# two speeds is not the speed between them.
_MOVING_MPS = 3.0
_LONGEST_STEP_S = 0.3


@dataclass(frozen=True, slots=True)
class Disagreement:
    """
    How a speed disagrees with the positions.

    Attributes
    ----------
    sd_mps : float
        Robust standard deviation beyond what the positions' noise explains. [m/s]
    tau_s : float
        How long it lasts. [s]
    """

    sd_mps: float
    tau_s: float


def disagreement(m: Measurements, white_m: float) -> Disagreement | None:
    """
    Compare the logged speed with displacements of the positions.

    Parameters
    ----------
    m : Measurements
    white_m : float
        White noise of one position on each axis. [m]

    Returns
    -------
    Disagreement or None
        None where there is none to be seen.
    """
    if m.kind == "none" or len(m) < 100:
        return None
    usual = float(np.median(np.diff(m.time_s)))
    steps = max(2, round(_WINDOW_S / usual))
    # At few fixes a second the trapezium rule is off by as much as a bad speed.
    if usual > _LONGEST_STEP_S or len(m) < 6 * steps:
        return None
    residual, good, span = _residuals(m, steps)
    if good.sum() < 100:
        return None
    centre = float(np.median(residual[good]))
    sd = robust_sd(residual[good], centre)
    explained = np.sqrt(2.0) * white_m / span
    if sd < _TIMES_EXPLAINED * explained or sd**2 - explained**2 < _MIN_MPS**2:
        return None
    return Disagreement(
        float(np.sqrt(sd**2 - explained**2)),
        _duration(np.where(good, residual - centre, 0.0), steps, usual),
    )


def _residuals(m: Measurements, steps: int) -> tuple[Floats, npt.NDArray[np.bool_], float]:
    """Speed by displacement minus mean logged speed over windows, and where that is of use."""
    t, p, v = m.time_s, m.position_m, m.speed_mps
    span = t[steps:] - t[:-steps]
    moved = p[steps:] - p[:-steps]
    way = np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * np.diff(t))])
    mean_speed = (way[steps:] - way[:-steps]) / span
    half = steps // 2
    first, last = p[half:] - p[:-half], p[half:] - p[:-half]
    a, b = first[: len(moved)], last[steps - half : steps - half + len(moved)]
    angle = np.abs(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))
    bend = 2.0 * angle
    arc = np.linalg.norm(moved, axis=1) * (1.0 + bend**2 / 24.0)
    unseen = np.concatenate(
        [[0], np.cumsum(~np.isfinite(m.position_factor) | ~np.isfinite(m.velocity_factor))]
    )
    whole = unseen[steps + 1 :] == unseen[: -steps - 1]
    usual = float(np.median(span))
    good = whole & (span < 1.3 * usual) & (bend < _MAX_BEND_RAD) & (mean_speed > _MOVING_MPS)
    return arc / span - mean_speed, good, usual


def _duration(residual: Floats, steps: int, usual_s: float) -> float:
    """Lag at which the residual's autocorrelation has fallen to 1/e."""
    power = float((residual**2).mean())
    for lag in range(steps // 2 + 1, min(len(residual) // 4, 60 * steps), max(1, steps // 4)):
        if float((residual[lag:] * residual[:-lag]).mean()) < power / math.e:
            return lag * usual_s
    return 60.0
