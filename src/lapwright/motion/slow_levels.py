"""
What a log's own velocity says about slow errors of position and velocity.

Measured position minus integrated measured velocity holds no car at all: only the drift of the
position, the integrated slow error of the velocity and white noise.  Averaged over a second or
more it is a short record, and its likelihood is had for hundreds of trial levels in one pass.
With a speed and no course the same is done along the way; across it the car is left free.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.lanes import Entries, Row, apply, at_step, log_fit, predict, take_in
from lapwright.motion.measurements import Measurements, slow, slow_speed_sd_mps
from lapwright.motion.model import NoiseLevels

Floats = npt.NDArray[np.float64]
LogLikelihood = Callable[[Floats], Floats]

_MOST_BINS = 600
# Across the way the car is left free: the direction came from the same positions, so that what it
# says of displacements across is given this many times its variance (correlated over a second).
_FREE = 10.0


@dataclass(frozen=True, eq=False)
class _Binned:
    """The record in bins: positions, displacement by velocity, and what both are worth."""

    step_s: Floats  # (b - 1,)
    position_m: Floats  # (b, 2), the mean of the bin brought to its middle
    position_var: Floats  # (b,), inf where the bin is empty
    moved_m: Floats  # (b - 1, 2), between middles
    moved_cov: Floats  # (b - 1, 2, 2)
    along: Floats  # (b - 1, 2, 2), integral of u u' dt (the identity times the step for vectors)


def velocity_likelihood(
    m: Measurements, local: NoiseLevels, direction: Floats | None, cross_var: Floats | None
) -> LogLikelihood:
    """
    Log likelihood of slow errors, given the white noise.

    Parameters
    ----------
    m : Measurements
        With velocity, as a vector or as a speed.
    local : NoiseLevels
        White noise and agility.
    direction : ndarray, shape (n, 2), or None
        Along the way, for a speed without a course.
    cross_var : ndarray, shape (n,), or None
        Variance of the velocity across the way. [m2/s2]

    Returns
    -------
    callable
        Rows of the logarithms of (drift_m, drift_tau_s, slow_speed_mps, slow_speed_tau_s) to log
        likelihoods.
    """
    binned = _bin(m, local, direction, cross_var)
    return lambda points: _filter_bins(binned, np.exp(points), coupled=m.kind == "speed")


def _bin(
    m: Measurements, local: NoiseLevels, direction: Floats | None, cross_var: Floats | None
) -> _Binned:
    dt = np.diff(m.time_s)
    width = max(1.0, (m.time_s[-1] - m.time_s[0]) / _MOST_BINS, 2.0 * float(np.median(dt)))
    bins = np.floor((m.time_s - m.time_s[0]) / width).astype(np.intp)
    count = int(bins[-1]) + 1
    middles = m.time_s[0] + (np.arange(count) + 0.5) * width
    middles = np.clip(middles, m.time_s[0], m.time_s[-1])
    moved, cov, along = _displacements(m, local, direction, cross_var)

    def at_middles(per_step: Floats) -> Floats:
        total = np.concatenate([np.zeros((1, *per_step.shape[1:])), np.cumsum(per_step, axis=0)])
        flat = total.reshape(len(total), -1)
        columns = [np.interp(middles, m.time_s, flat[:, i]) for i in range(flat.shape[1])]
        return np.stack(columns, axis=-1).reshape(count, *per_step.shape[1:])

    way = np.concatenate([np.zeros((1, 2)), np.cumsum(moved, axis=0)])
    weight = np.where(np.isfinite(m.position_factor), 1.0 / m.position_factor, 0.0)
    total = np.bincount(bins, weight, count)
    offset = m.position_m - way
    mean = np.stack([np.bincount(bins, weight * offset[:, i], count) for i in (0, 1)], axis=-1)
    way_middle = at_middles(moved)
    safe = np.where(total > 0.0, total, 1.0)
    return _Binned(
        np.diff(middles),
        mean / safe[:, None] + way_middle,
        np.where(total > 0.0, local.white_m**2 / safe, np.inf),
        np.diff(way_middle, axis=0),
        np.diff(at_middles(cov), axis=0),
        np.diff(at_middles(along), axis=0),
    )


def _displacements(
    m: Measurements, local: NoiseLevels, direction: Floats | None, cross_var: Floats | None
) -> tuple[Floats, Floats, Floats]:
    """Displacement of each step, its covariance, and the integral of u u' over it."""
    dt = np.diff(m.time_s)
    usual = float(np.median(dt))
    seen = np.isfinite(m.velocity_factor)
    whole = seen[1:] & seen[:-1] & (dt < 1.8 * usual)
    velocity = m.velocity_mps if direction is None else m.speed_mps[:, None] * direction
    # The trapezium rule with its first correction: bridging a white jerk it errs by q dt^5 / 720.
    slope = np.gradient(velocity, m.time_s, axis=0)
    moved = 0.5 * dt[:, None] * (velocity[1:] + velocity[:-1])
    corrected = moved - (dt**2 / 12.0)[:, None] * (slope[1:] - slope[:-1])
    moved = np.where(whole[:, None], corrected, moved)
    jerk = 2.0 * local.accel_mps2**2 / local.accel_tau_s
    factor = np.where(seen, m.velocity_factor, 1.0)
    white = local.speed_mps**2 * dt**2 * 0.5 * (factor[1:] + factor[:-1])
    var = white + np.where(whole, jerk * dt**5 / 720.0, (local.accel_mps2 * dt**2 / 6.0) ** 2)
    eye = np.eye(2)
    if direction is None or cross_var is None:
        return moved, var[:, None, None] * eye, dt[:, None, None] * eye
    crawling = slow(m)[:-1]
    u = direction[:-1]
    uu = u[:, :, None] * u[:, None, :]
    free = np.where(crawling, slow_speed_sd_mps(m)[:-1] ** 2, _FREE * cross_var[:-1]) * dt
    along_var = np.where(crawling, free, var)
    cov = along_var[:, None, None] * uu + free[:, None, None] * (eye - uu)
    return moved, cov, dt[:, None, None] * uu


def _filter_bins(binned: _Binned, levels: Floats, *, coupled: bool) -> Floats:
    """
    Log likelihood of each row of levels.

    The state of an axis is the car's position, the drift and the slow velocity error; coupled, both
    axes are one state of six, else they are two columns of three.
    """
    t, (c, half) = len(levels), ((1, 2) if coupled else (2, 1))
    drift, drift_tau, slow_speed, _ = levels.T
    f, q = _bin_steps(binned, levels, half)
    start = [100.0**2 * np.ones(t), drift**2, slow_speed**2]
    cov = np.zeros((3 * half, 3 * half, t))
    for i in range(3 * half):
        cov[i, i] = start[i // half]
    mean = np.zeros((3 * half, c, t))
    mean[:half] = binned.position_m[0].reshape(half, c, 1)
    # The mean over a bin of an error that wanders is steadier than its value in the middle: the
    # increments of means are those of the middles seen with a negative noise.
    averaged = (drift**2 / drift_tau) * float(np.median(binned.step_s)) / 3.0
    var = binned.position_var[:, None]
    var = np.where(np.isfinite(var), np.maximum(var - averaged, 0.2 * var), np.inf)
    out = np.zeros(t)
    for j in range(len(var)):
        if j > 0:
            step = at_step(f, j - 1)
            _, cov = predict(step, at_step(q, j - 1), cov)
            mean = apply(step, mean)
            mean[:half] += binned.moved_m[j - 1].reshape(half, c, 1)
        if np.isinf(var[j, 0]):
            continue
        value = binned.position_m[j].reshape(half, c, 1)
        for axis in range(half):
            row: Row = ((axis, None), (half + axis, None))
            precision, _, innovation = take_in(row, var[j], value[axis], mean, cov)
            out += log_fit(precision, innovation)
    return out


def _bin_steps(
    binned: _Binned, levels: Floats, half: int
) -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """Transition and process covariance between the bins' middles, entries (b - 1, t)."""
    drift, drift_tau, slow_speed, slow_tau = levels.T
    step = binned.step_s[:, None]
    x = step / slow_tau
    e1, e2 = np.exp(-x), np.exp(-2.0 * x)
    # Integral of a Gauss-Markov error: its response to the start, and its own variance.
    response = slow_tau * -np.expm1(-x) / step
    wander = slow_speed**2 * slow_tau**2 * (2.0 * x - 3.0 + 4.0 * e1 - e2) / step
    cross = -(slow_speed**2) * slow_tau * (1.0 - e1) ** 2 / step
    drift_kept = np.exp(-step / drift_tau)
    drift_new = -(drift**2) * np.expm1(-2.0 * step / drift_tau)
    slow_new = -(slow_speed**2) * np.expm1(-2.0 * x)
    f, q = {}, {}
    for i in range(half):
        f[i, i] = np.ones_like(x)
        f[half + i, half + i], q[half + i, half + i] = drift_kept, drift_new
        f[2 * half + i, 2 * half + i], q[2 * half + i, 2 * half + i] = e1, slow_new
        for j in range(half):
            along = binned.along[:, i, j, None]
            f[i, 2 * half + j] = -response * along
            q[i, j] = binned.moved_cov[:, i, j, None] + wander * along
            q[i, 2 * half + j] = q[2 * half + j, i] = cross * along
    shape = (3 * half, 3 * half)
    return Entries(shape, f).rows(), Entries(shape, q).rows()
