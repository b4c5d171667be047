"""
What a log's own velocity says about slow errors of position and velocity.

The errors of the binned positions and displacements are a small Gauss-Markov process, and its
likelihood is had for hundreds of trial parameters in one pass.  With a speed and no course only
what lies along the way is compared: across it the direction came from the very positions it would
be compared with, and would say that they have no drift.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.binned_displacements import Binned, bin_session
from lapwright.numerics.batched_systems import (
    Entries,
    Row,
    apply,
    at_step,
    log_fit,
    predict,
    take_in,
)

Floats = npt.NDArray[np.float64]
LogLikelihood = Callable[[Floats], Floats]


def velocity_likelihood(
    m: Measurements, local: NoiseParameters, direction: Floats | None, cross_var: Floats | None
) -> LogLikelihood:
    """
    Log likelihood of slow errors, given the white noise.

    Parameters
    ----------
    m : Measurements
        With velocity, as a vector or as a speed.
    local : NoiseParameters
        White noise and manoeuvre standard deviation.
    direction : ndarray, shape (n, 2), or None
        Along the way, for a speed without a course.
    cross_var : ndarray, shape (n,), or None
        Variance of the velocity across the way. [m2/s2]

    Returns
    -------
    callable
        Rows of the logarithms of (drift_m, drift_tau_s, slow_speed_mps, slow_speed_tau_s,
        speed_mps, lasting_m) to log likelihoods; ``lasting_m`` is what the white noise of the
        positions is more over seconds than from fix to fix.
    """
    if direction is None:
        binned = bin_session(m, m.velocity_mps, local)
        return lambda points: _of_vectors(binned, np.exp(points), local.white_m)
    # A wrong direction makes the component along it shorter than the speed.
    longer = 0.0 if cross_var is None else cross_var / (2.0 * np.maximum(m.speed_mps, 1.0))
    along = bin_session(m, (m.speed_mps - longer)[:, None] * direction, local)
    return lambda points: _of_speeds(along, np.exp(points), local.white_m)


def _mean_var(binned: Binned, parameters: Floats, white_m: float) -> Floats:
    """White variance of the bins' mean positions, shape (b, t); of no account in empty bins."""
    drift, drift_tau, lasting = parameters[:, 0], parameters[:, 1], parameters[:, 5]
    filled = np.where(binned.averaged > 0.0, binned.averaged, 1.0)
    var = (white_m**2 + lasting**2) / filled[:, None]
    # The mean over a bin of an error that wanders is steadier than its value in the middle: the
    # increments of means are those of the middles seen with a negative noise.
    steadier = (drift**2 / drift_tau) * binned.window_s / 3.0
    return np.maximum(var - steadier, 0.2 * var)


def _gauss_markov(
    binned: Binned, parameters: Floats
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats]:
    """
    Steps of the two slow errors, each of shape (b - 1, t).

    Of the drift: share kept, variance added.  Of the velocity error the same, then its integral:
    response to the error at the start, variance, covariance with the error at the end.
    """
    drift, drift_tau, sd, tau = parameters.T[:4]
    step = binned.step_s[:, None]
    x = step / tau
    e1, e2 = np.exp(-x), np.exp(-2.0 * x)
    return (
        np.exp(-step / drift_tau),
        -(drift**2) * np.expm1(-2.0 * step / drift_tau),
        e1,
        -(sd**2) * np.expm1(-2.0 * x),
        -tau * np.expm1(-x),
        sd**2 * tau**2 * (2.0 * x - 3.0 + 4.0 * e1 - e2),
        sd**2 * tau * (1.0 - e1) ** 2,
    )


def _of_vectors(binned: Binned, parameters: Floats, white_m: float) -> Floats:
    """
    Likelihood of rows of parameters.

    States of an axis: position less w, drift, and w, which is tau times the slow velocity error.
    That makes the transition diagonal, because in a step position loses (1 - kept) w and so does w;
    and the measurement, position with drift, is the sum of all three.
    """
    t = len(parameters)
    drift_kept, drift_new, kept, new, _, wander, cross = _gauss_markov(binned, parameters)
    tau = parameters[:, 3]
    w_new, w_cross = tau**2 * new, tau * cross
    white = binned.bridged_var_m2[:, None] + parameters[:, 4] ** 2 * binned.walked_s2[:, None]
    keeps = np.stack([np.ones_like(kept), drift_kept, kept], axis=1)
    process = np.zeros((len(kept), 3, 3, t))
    process[:, 0, 0] = white + wander + 2.0 * w_cross + w_new
    process[:, 1, 1], process[:, 2, 2] = drift_new, w_new
    process[:, 0, 2] = process[:, 2, 0] = -w_cross - w_new
    cov = np.zeros((3, 3, t))
    cov[1, 1], cov[2, 2] = parameters[:, 0] ** 2, (tau * parameters[:, 2]) ** 2
    cov[0, 0] = 100.0**2 + cov[2, 2]
    cov[0, 2] = cov[2, 0] = -cov[2, 2]
    mean = np.zeros((3, 2, t))
    mean[0] = binned.position_m[0][:, None]
    var = _mean_var(binned, parameters, white_m)
    used = np.flatnonzero(binned.averaged > 0.0)
    precisions, misses = np.ones((len(used), t)), np.zeros((len(used), 2, t))
    nth = 0
    for j in range(len(var)):
        if j > 0:
            keep = keeps[j - 1]
            cov *= keep[:, None] * keep
            cov += process[j - 1]
            mean *= keep[:, None]
            mean[0] += binned.moved_m[j - 1][:, None]
        if binned.averaged[j] > 0.0:
            ph = cov[0] + cov[1] + cov[2]
            precisions[nth] = precision = 1.0 / (ph[0] + ph[1] + ph[2] + var[j])
            gain = ph * precision
            misses[nth] = miss = binned.position_m[j][:, None] - mean[0] - mean[1] - mean[2]
            mean += gain[:, None] * miss
            cov -= gain[:, None] * ph
            nth += 1
    return np.asarray((np.log(precisions) - 0.5 * precisions * (misses**2).sum(axis=1)).sum(axis=0))


def _of_speeds(binned: Binned, parameters: Floats, white_m: float) -> Floats:
    """
    Likelihood of rows of parameters from what lies along the way.

    States: drift (2), error of the bin's mean position (2), slow speed error, and what the
    displacement along the way will be short of: the error at its start and the integral.
    """
    t = len(parameters)
    drift_kept, drift_new, kept, new, response, wander, cross = _gauss_markov(binned, parameters)
    length = np.linalg.norm(binned.moved_m, axis=1)
    unit = binned.moved_m / np.maximum(length, 1e-9)[:, None]
    short = np.einsum("bi,bi->b", unit, np.diff(binned.position_m, axis=0)) - length
    filled = (binned.averaged[1:] > 0.0) & (binned.averaged[:-1] > 0.0)
    use = filled & binned.whole & (length > 0.0)
    mean_var = _mean_var(binned, parameters, white_m)
    f = {(4, 4): kept, (5, 4): response}
    q = {(4, 4): new, (5, 5): wander, (4, 5): cross, (5, 4): cross}
    for i in (0, 1):
        along = np.broadcast_to(unit[:, i, None], kept.shape)
        f |= {(i, i): drift_kept, (2 + i, i): drift_kept, (5, 2 + i): along}
        q |= {(i, i): drift_new, (i, 2 + i): drift_new, (2 + i, i): drift_new}
        q[2 + i, 2 + i] = drift_new + mean_var[1:]
    f_rows, q_rows = Entries((6, 6), f).rows(), Entries((6, 6), q).rows()
    cov = np.zeros((6, 6, t))
    for i in (0, 1):
        cov[i, i] = cov[i, 2 + i] = cov[2 + i, i] = parameters[:, 0] ** 2
        cov[2 + i, 2 + i] = parameters[:, 0] ** 2 + mean_var[0]
    cov[4, 4] = parameters[:, 2] ** 2
    mean, out = np.zeros((6, 1, t)), np.zeros(t)
    white = binned.bridged_var_m2[:, None] + parameters[:, 4] ** 2 * binned.walked_s2[:, None]
    for j in range(len(short)):
        step = at_step(f_rows, j)
        _, cov = predict(step, at_step(q_rows, j), cov)
        mean = apply(step, mean)
        if use[j]:
            e, n = unit[j]
            row: Row = ((2, np.full(t, e)), (3, np.full(t, n)), (5, np.full(t, -1.0)))
            precision, _, innovation = take_in(row, white[j], short[j : j + 1, None], mean, cov)
            out += log_fit(precision, innovation)
    return out
