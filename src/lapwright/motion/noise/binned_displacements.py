"""
A session by bins of some seconds: positions, and displacements by the logged velocity.

Measured position minus integrated measured velocity holds no car at all: only errors.  They are
slow, so that averages over bins tell as much of them as all the fixes do.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.measurements import Measurements, slow

Floats = npt.NDArray[np.float64]

# The cost of each trial; with so many, bins of an hour are 9 s, still short against the drift.
_MAX_BINS = 400
_LONGEST_S = 3600.0
# Bins are longer than what is averaged in each: noise that lasts a second is white from one to the
# next, and an average over five seconds would no longer be the error at its middle.
_MIN_S, _WINDOW_S = 2.0, 1.0
# What interpolation between fixes misses in one step comes back in part in the next, because a car
# cannot keep accelerating: of the variance of independent steps this is left after some seconds (in
# simulated driving 0.2 to 0.5 at one or two fixes a second; beyond five it does not matter).
_LEFT = 0.4


@dataclass(frozen=True, eq=False)
class Binned:
    """
    Bins of a session, and the steps from the middle of each to the middle of the next.

    Attributes
    ----------
    window_s : float
        Only fixes about the middle of a bin are averaged, within so long.
    step_s : ndarray, shape (b - 1,)
    position_m : ndarray, shape (b, 2)
        Mean of the bin's positions, each brought to the middle by the velocity.
    averaged : ndarray, shape (b,)
        How many fixes it is the mean of, in weight; 0 where the bin is empty.
    moved_m : ndarray, shape (b - 1, 2)
        By the velocity.
    bridged_var_m2 : ndarray, shape (b - 1,)
        Variance of that by interpolation between fixes.
    walked_s2 : ndarray, shape (b - 1,)
        Its variance for a unit of white noise of the velocity.
    whole : ndarray of bool, shape (b - 1,)
        Whether there was velocity all along, and more than walking pace.
    """

    window_s: float
    step_s: Floats
    position_m: Floats
    averaged: Floats
    moved_m: Floats
    bridged_var_m2: Floats
    walked_s2: Floats
    whole: npt.NDArray[np.bool_]


def bin_session(m: Measurements, velocity_mps: Floats, local: NoiseParameters) -> Binned:
    """
    Average a session over bins of equal length.

    Parameters
    ----------
    m : Measurements
    velocity_mps : ndarray, shape (n, 2)
        Measured, or a measured speed along a direction.
    local : NoiseParameters
        Manoeuvre standard deviation of the car, and its time constant.

    Returns
    -------
    Binned
    """
    dt = np.diff(m.time_s)
    width = max(_MIN_S, (m.time_s[-1] - m.time_s[0]) / _MAX_BINS, 2.0 * float(np.median(dt)))
    bins = np.floor((m.time_s - m.time_s[0]) / width).astype(np.intp)
    count = int(bins[-1]) + 1
    middles = m.time_s[0] + (np.arange(count) + 0.5) * width
    middles = np.clip(middles, m.time_s[0], m.time_s[-1])
    moved, bridged, walked, broken = _steps(m, velocity_mps, local)

    def at_middles(per_step: Floats) -> Floats:
        total = np.concatenate([[0.0], np.cumsum(per_step)])
        return np.asarray(np.interp(middles, m.time_s, total))

    window = min(width, max(_WINDOW_S, 2.0 * float(np.median(dt))))
    central = np.abs(m.time_s - middles[bins]) <= 0.5 * window
    weight = np.where(central & np.isfinite(m.position_factor), 1.0 / m.position_factor, 0.0)
    averaged = np.bincount(bins, weight, count).astype(np.float64)
    way = np.concatenate([np.zeros((1, 2)), np.cumsum(moved, axis=0)])
    way_middle = np.stack([at_middles(moved[:, i]) for i in (0, 1)], axis=-1)
    offset = m.position_m - way
    total = np.stack([np.bincount(bins, weight * offset[:, i], count) for i in (0, 1)], axis=-1)
    return Binned(
        window,
        np.diff(middles),
        total / np.where(averaged > 0.0, averaged, 1.0)[:, None] + way_middle,
        averaged,
        np.diff(way_middle, axis=0),
        np.diff(at_middles(bridged)),
        np.diff(at_middles(walked)),
        np.diff(at_middles(broken)) < 1e-9,
    )


def _steps(
    m: Measurements, velocity: Floats, local: NoiseParameters
) -> tuple[Floats, Floats, Floats, Floats]:
    """Displacement of each step, its two variances, and 1 where it is of no use."""
    dt = np.diff(m.time_s)
    usual = float(np.median(dt))
    seen = np.isfinite(m.velocity_factor)
    whole = seen[1:] & seen[:-1] & (dt < 1.8 * usual)
    # The trapezium rule with its first correction: bridging a white jerk it errs by q dt^5 / 720.
    slope = np.gradient(velocity, m.time_s, axis=0)
    moved = 0.5 * dt[:, None] * (velocity[1:] + velocity[:-1])
    corrected = moved - (dt**2 / 12.0)[:, None] * (slope[1:] - slope[:-1])
    moved = np.where(whole[:, None], corrected, moved)
    # Of hours nothing is known either way, and their fifth power would eat all digits.
    dt = np.minimum(dt, _LONGEST_S)
    jerk = 2.0 * local.accel_mps2**2 / local.accel_tau_s
    bridged = np.where(whole, jerk * dt**5 / 720.0, (local.accel_mps2 * dt**2 / 6.0) ** 2)
    factor = np.where(seen, m.velocity_factor, 1.0)
    walked = dt**2 * 0.5 * (factor[1:] + factor[:-1])
    crawling = slow(m)
    broken = ~whole | crawling[1:] | crawling[:-1]
    return moved, _LEFT * bridged, walked, broken.astype(np.float64)
