"""
Which gear the car was in, where engine speed and speed show it.

With the clutch home engine speed over speed takes a few values, one a gear.  They are found as
clusters of the session's own ratios, on a logarithmic scale on which a slip of a hundredth is as
wide in every gear; where the clusters do not stand apart nothing is said.  What the lowest gear of
all is cannot be seen by a car that never uses it, so gears are counted from the lowest one used.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# Slower, the clutch may slip and a speed by satellite is no longer good to a few hundredths.
MIN_SPEED_MPS = 8.0
# Neighbouring gears are 12 % apart or more in anything that is raced (common practice, no source).
_APART = 0.10
# A gear is one that was used for so many samples and such a share of them.
_MIN_COUNT, _MIN_SHARE = 20, 0.01
# A cell of the histogram, in which a gap between two gears is this many times thinner than the
# thinner of them.
_CELL, _THINNER = 0.01, 0.2
# So much of the session must lie in gears, or they do not explain it.
_EXPLAINED = 0.85
# Half the width of a gear, as a ratio.
_HALF = 0.04


@dataclass(frozen=True, slots=True)
class Gears:
    """
    Ratios of a session's gears, the lowest gear first.

    Attributes
    ----------
    ratio_rpm_per_mps : tuple of float
    """

    ratio_rpm_per_mps: tuple[float, ...]

    def gear(self, rpm: npt.ArrayLike, speed_mps: npt.ArrayLike) -> Floats:
        """
        Gear by engine speed and speed.

        Parameters
        ----------
        rpm, speed_mps : array_like, shape (n,)

        Returns
        -------
        ndarray, shape (n,)
            1 is the lowest gear used in the session; NaN between gears.
        """
        x = _ratio(rpm, speed_mps)
        centres = np.log(self.ratio_rpm_per_mps)
        near = np.argmin(np.abs(x[:, None] - centres), axis=1)
        sure = np.abs(x - centres[near]) < _HALF
        return np.where(sure, near + 1.0, np.nan)


def _ratio(rpm: npt.ArrayLike, speed_mps: npt.ArrayLike) -> Floats:
    """Logarithm of engine speed over speed; NaN where the car is slow or the engine still."""
    n, v = np.asarray(rpm, dtype=np.float64), np.asarray(speed_mps, dtype=np.float64)
    fine = (n > 0.0) & (v > MIN_SPEED_MPS)
    return np.log(np.where(fine, n, np.nan) / np.where(fine, v, 1.0))


def find_gears(rpm: npt.ArrayLike, speed_mps: npt.ArrayLike) -> Gears | None:
    """
    Find the gears of a session.

    Parameters
    ----------
    rpm, speed_mps : array_like, shape (n,)
        At the same moments; NaN is passed over. [1/min], [m/s]

    Returns
    -------
    Gears or None
        None where the ratios do not fall into clusters that stand apart, or there is only one.
    """
    x = _ratio(rpm, speed_mps)
    x = x[np.isfinite(x)]
    if len(x) < 2 * _MIN_COUNT:
        return None
    edges = np.arange(x.min() - 2.0 * _CELL, x.max() + 3.0 * _CELL, _CELL)
    count = np.histogram(x, edges)[0]
    middle = 0.5 * (edges[1:] + edges[:-1])
    smooth = np.convolve(count, [0.25, 0.5, 0.25], mode="same")
    centres = _peaks(middle, smooth, max(_MIN_COUNT, _MIN_SHARE * len(x)), x)
    if len(centres) < 2 or (np.diff(centres) < _APART).any():
        return None
    near = np.abs(x[:, None] - np.asarray(centres)).min(axis=1) < _HALF
    if near.mean() < _EXPLAINED:
        return None
    return Gears(tuple(float(np.exp(c)) for c in centres[::-1]))


def _peaks(middle: Floats, smooth: Floats, least: float, x: Floats) -> list[float]:
    """Medians of the clusters: runs of cells that are not thin beside the fullest near them."""
    reach = round(_APART / _CELL)
    padded = np.pad(smooth, reach)
    fullest = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    out = []
    for first, last in flag_runs(smooth > np.maximum(_THINNER * fullest, 1.0)):
        low, high = middle[first] - 0.5 * _CELL, middle[last] + 0.5 * _CELL
        own = x[(x >= low) & (x <= high)]
        if len(own) >= least and high - low <= 2.0 * _HALF + 2.0 * _CELL:
            out.append(float(np.median(own)))
    return out
