"""
Offset and clock rate between two logs, by generalised least squares on their two motions.

At moments where the car accelerates hardest, along or across, velocity and position of the two
motions are compared.  A clock that is off by a little shows the acceleration times that in the
velocity, and the velocity times that in the position.  What else the positions differ by is the
drift of two receivers, which their posterior covariance holds, and that they are not mounted at
one place in the car.  The two motions err independently of each other, so their joint posterior
covariances add up, and the weights of the least squares follow (A. C. Aitken, "On Least Squares
and Linear Combination of Observations", Proc. R. Soc. Edinburgh 55 (1936) 42-48).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# So many moments at most, spread evenly over what both logs have.
_MOMENTS = 160
# Further from a fix than this many usual steps nothing is compared.
_NEAR_STEPS = 1.5
_ITERATIONS = 6
_DONE_S, _DONE_RATE = 1e-5, 1e-8
# No clock is worse: a bad quartz in the heat is 100 ppm off (common practice, no source).
_RATE_SD = 200e-6
# Neighbours whose errors may have to do with each other, where the motions do not fit.
_BLOCK, _FITS = 8, 1.5
# How far apart two receivers may sit along the car, and across it. [m]
_MOUNT_SD_M = 1.0


@dataclass(frozen=True, eq=False)
class Refined:
    """
    The clock of one log on that of another.

    Attributes
    ----------
    at_s : float
        Middle of what both have, on the first log's axis. [s]
    offset_s, rate : float
        Time of the other less time of the one at that moment, and how much faster it runs: a share.
    cov : ndarray, shape (2, 2)
        Of the two.
    misfit : float
        Chi-square over its degrees of freedom: 1 where the motions differ as their error bars say.
    speed_rms_mps, position_rms_m : float
        What velocity (each component) and position (along or across) differ by.
    count : int
        Moments compared.
    """

    at_s: float
    offset_s: float
    rate: float
    cov: Floats
    misfit: float
    speed_rms_mps: float
    position_rms_m: float
    count: int


def refine(one: Motion, other: Motion, offset_s: float) -> Refined | None:
    """
    Refine a rough offset.

    Parameters
    ----------
    one, other : Motion
        On one plane.
    offset_s : float
        Time of the other less time of the one, to half a second or so.

    Returns
    -------
    Refined or None
        None where the two have too little in common.
    """
    first = max(one.start_s, other.start_s - offset_s) + 1.0
    last = min(one.end_s, other.end_s - offset_s) - 1.0
    moments = _moments(one, other, offset_s, first, last)
    if len(moments) < 20:
        return None
    middle = 0.5 * (first + last)
    time_s = np.concatenate([moments, moments])
    since = time_s - middle
    offset, rate = offset_s, 0.0
    weights = _directions(one, moments)
    cov_one = one.posterior(time_s, weights).cov
    prior = np.diag([0.0, _RATE_SD**-2, 0.0, 0.0, _MOUNT_SD_M**-2, _MOUNT_SD_M**-2])
    lower = None
    for step in range(_ITERATIONS):
        there = np.clip(time_s + offset + rate * since, other.start_s, other.end_s)
        if lower is None or step == 2:
            # Again once the offset is nearly known: fixes fall elsewhere between the moments.
            lower = np.linalg.cholesky(cov_one + other.posterior(there, weights).cov)
        state = other.at(there)
        columns = np.concatenate([state.position_m, state.velocity_mps, state.accel_mps2], axis=1)
        differs = np.einsum("kj,kj->k", weights, columns) - _mean(one, time_s, weights)
        design = _design(one, weights, columns, since)
        white, left = np.linalg.solve(lower, design), np.linalg.solve(lower, differs)
        known = prior.copy()
        past = np.array([0.0, rate, 0.0, 0.0, 0.0, 0.0])
        normal = white.T @ white + known
        step_by = np.linalg.solve(normal, -(white.T @ left) - known @ past)
        offset, rate = offset + float(step_by[0]), rate + float(step_by[1])
        if abs(step_by[0]) < _DONE_S and abs(step_by[1]) < _DONE_RATE and step > 2:
            break
    rest = left + white @ step_by
    chi_square = float(rest @ rest) / (len(time_s) - 6)
    away = differs + design @ step_by
    half = len(moments)
    inverse = np.linalg.inv(normal)
    return Refined(
        middle, offset, rate, _honest(inverse, white, rest, chi_square), chi_square,
        float(np.sqrt(np.mean(away[:half] ** 2))), float(np.sqrt(np.mean(away[half:] ** 2))), half,
    )  # fmt: skip


def _honest(inverse: Floats, white: Floats, rest: Floats, chi_square: float) -> Floats:
    """
    Covariance of offset and rate, wider where the motions differ by more than their error bars.

    By the size of the residuals; never less than the error bars, for positions without a speed fit
    better than those say and err as much.  And by sums over neighbours, which is more where errors
    last from one moment to the next (K.-Y. Liang and S. L. Zeger, "Longitudinal data analysis using
    generalized linear models", Biometrika 73 (1986) 13-22: the robust variance of clusters).
    """
    wide = inverse[:2, :2] * max(chi_square, 1.0)
    half = len(rest) // 2
    block = np.arange(half) // _BLOCK
    score = white * rest[:, None]
    score = score[:half] + score[half:]
    sums = np.stack([np.bincount(block, column) for column in score.T], axis=1)
    robust = (inverse @ (sums.T @ sums) @ inverse)[:2, :2]
    scale = np.sqrt(np.maximum(np.diag(robust) / np.diag(wide), 1.0))
    return wide * np.outer(scale, scale) if chi_square > _FITS else wide


def _moments(one: Motion, other: Motion, offset_s: float, first: float, last: float) -> Floats:
    """Fixes of the coarser log at which the car accelerates hardest, near fixes of the other."""
    fixes = [one.fix_time_s, other.fix_time_s - offset_s]
    steps = [float(np.median(np.diff(f))) for f in fixes]
    coarse = 0 if steps[0] >= steps[1] else 1
    time_s = fixes[coarse]
    time_s = time_s[(time_s > first) & (time_s < last)]
    for own, step in zip(fixes, steps, strict=True):
        i = np.clip(np.searchsorted(own, time_s), 1, len(own) - 1)
        time_s = time_s[own[i] - own[i - 1] <= _NEAR_STEPS * step + 0.05]
    if not len(time_s):
        return time_s
    state = one.at(time_s)
    size = np.where(state.speed_mps > 5.0, np.hypot(*state.accel_mps2.T), 0.0)
    window = np.floor((time_s - first) / (last - first) * _MOMENTS).astype(np.intp)
    order = np.lexsort((-size, window))
    chosen = order[np.r_[True, np.diff(window[order]) > 0]]
    return np.sort(time_s[chosen[size[chosen] > 0.5]])


def _directions(one: Motion, moments: Floats) -> Floats:
    """Weights of a velocity along the acceleration, then of a position along the way."""
    state = one.at(moments)
    weights = np.zeros((2 * len(moments), 6))
    size = np.hypot(*state.accel_mps2.T)
    weights[: len(moments), 2:4] = state.accel_mps2 / size[:, None]
    weights[len(moments) :, 0:2] = state.direction
    return weights


def _mean(motion: Motion, time_s: Floats, weights: Floats) -> Floats:
    state = motion.at(time_s)
    columns = np.concatenate([state.position_m, state.velocity_mps, state.accel_mps2], axis=1)
    return np.asarray(np.einsum("kj,kj->k", weights, columns))


def _design(one: Motion, weights: Floats, columns: Floats, since: Floats) -> Floats:
    """
    What each row changes by: offset, rate, east, north, and a receiver further ahead or left.

    A later time moves the position by the velocity and the velocity by the acceleration.
    """
    velocity, accel = columns[:, 2:4], columns[:, 4:6]
    later = np.einsum("kj,kj->k", weights[:, :2], velocity)
    later += np.einsum("kj,kj->k", weights[:, 2:4], accel)
    speed = np.maximum(np.hypot(*velocity.T), 1.0)
    ahead = velocity / speed[:, None]
    leftward = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    turn = (velocity[:, 0] * accel[:, 1] - velocity[:, 1] * accel[:, 0]) / speed**2
    position, along = weights[:, :2], weights[:, 2:4]
    # A receiver further ahead moves to the left as the car turns left.
    more = np.einsum("kj,kj->k", position, ahead)
    more += turn * np.einsum("kj,kj->k", along, leftward)
    aside = np.einsum("kj,kj->k", position, leftward)
    aside -= turn * np.einsum("kj,kj->k", along, ahead)
    return np.stack([later, later * since, position[:, 0], position[:, 1], more, aside], axis=1)
