"""
Fixes that do not belong: given less weight, never deleted.

First a cheap look at each fix against its neighbours, so that a jump of tens of metres does not
spoil the first smoothing; then the smoothed residuals themselves, with a weight that falls off
fast enough that a wild fix has no say at all [1]_.

References
----------
.. [1] P. J. Huber and E. M. Ronchetti, "Robust Statistics", 2nd ed., Wiley, 2009, ch. 7
   (iterative reweighting; the redescending weight here is our choice).
"""

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.smoothing import Smoothing
from lapwright.motion.measurements import Measurements
from lapwright.motion.strangers import strangers

Floats = npt.NDArray[np.float64]

# Normalised residuals up to this count in full; one in 370 normal ones is larger.
FULL_WEIGHT_TO = 3.0
# A fix this many robust standard deviations off its neighbours' line is not used at first.
_JUMP_SDS = 8.0
# From full braking to full throttle, or from one side to the other: two g and a little.
_CAR_MPS2 = 25.0


def screen(m: Measurements) -> Measurements:
    """Take the weight off single fixes and speeds that jump away from their neighbours."""
    if len(m) < 5:
        return m
    before, after = np.diff(m.time_s)[:-1], np.diff(m.time_s)[1:]
    # What a car can do between its neighbours: brake at the very next instant, or turn.
    turned = 0.5 * _CAR_MPS2 * before * after
    braked = _CAR_MPS2 * before * after / (before + after)
    jump = _jumps(m.time_s, m.position_m, turned)
    strange = _strangers(m, jump)
    # Beside a stranger's fix the car's own stands out too.
    beside = np.convolve(strange, [1, 1, 1], "same") > 0
    position = np.where(strange | (jump & ~beside), np.inf, 1.0)
    values = m.velocity_mps if m.kind == "vector" else m.speed_mps[:, None]
    velocity = np.where(strange | _jumps(m.time_s, values, braked), np.inf, 1.0)
    return m.weighted(position, velocity if m.kind != "none" else np.ones(len(m)))


def _strangers(m: Measurements, jump: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Fixes of another drive, where jumps are left that no single wild fix explains."""
    used = np.isfinite(m.position_factor)
    if not strangers(m.time_s, m.position_m, used & ~jump).any():
        return np.zeros(len(m), dtype=bool)
    return strangers(m.time_s, m.position_m, used)


def _jumps(time_s: Floats, values: Floats, possible: Floats) -> npt.NDArray[np.bool_]:
    """Single values farther off the straight line between their neighbours than is possible."""
    share = (time_s[1:-1] - time_s[:-2]) / (time_s[2:] - time_s[:-2])
    line = values[:-2] + share[:, None] * (values[2:] - values[:-2])
    off = np.concatenate([[0.0], np.linalg.norm(values[1:-1] - line, axis=1), [0.0]])
    usual = float(np.median(off[1:-1]))
    # The neighbours of a jump are off by half of it: only the largest of three is the culprit.
    peak = np.concatenate([[False], (off[1:-1] > off[:-2]) & (off[1:-1] > off[2:]), [False]])
    least = np.concatenate([[0.0], possible, [0.0]])
    return np.asarray(peak & (off > least + _JUMP_SDS * usual))


def residual_factors(smoothing: Smoothing, m: Measurements) -> tuple[Floats, Floats]:
    """
    Variance factors from the residuals of a smoothing.

    Returns
    -------
    position, velocity : ndarray, shape (n,)
        1 where the residual is ordinary.
    """
    mean, noise = smoothing.states.mean, smoothing.noise
    if smoothing.coupled:
        mean = np.stack(np.split(mean[:, :, 0], 2, axis=1), axis=-1)
    position = np.linalg.norm(m.position_m - mean[:, 0] - mean[:, 3], axis=1)
    position_factor = _factor(position / np.sqrt(2.0) / noise.white_m)
    if m.kind == "none":
        return position_factor, np.ones(len(m))
    velocity = mean[:, 1] + mean[:, 4]
    if m.kind == "vector":
        off = np.linalg.norm(m.velocity_mps - velocity, axis=1) / np.sqrt(2.0)
    else:
        off = np.abs(m.speed_mps - np.linalg.norm(velocity, axis=1))
        off = np.where(m.speed_mps < 3.0, 0.0, off)
    return position_factor, _factor(off / noise.speed_mps)


def _factor(normalised: Floats) -> Floats:
    return np.maximum(1.0, normalised / FULL_WEIGHT_TO) ** 4
