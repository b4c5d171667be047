"""
Between two neighbouring nodes: what their states say of a time in between.

However the nodes were come by, the car in between is a bridge of its model from the one to the
other (symbols: see `lapwright.motion.kalman.model`).
"""

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters, car_process_cov, car_transition
from lapwright.numerics.batched_systems import transpose

Floats = npt.NDArray[np.float64]

# Of a longer step only the ends are known, and there the rest of it would eat all digits.
_LONGEST_S = 600.0


def bridge(since_s: Floats, step_s: Floats, noise: NoiseParameters) -> tuple[Floats, Floats]:
    """
    Weights of the two neighbouring nodes in the mean at a time between them.

    Parameters
    ----------
    since_s, step_s : ndarray, shape (k,)
        Time since the node before, and from it to the node after. [s]
    noise : NoiseParameters

    Returns
    -------
    before, after : ndarray, shape (k, 3, 3)
        Of position, velocity and acceleration.
    """
    tau = noise.accel_tau_s
    since_s, step_s = _shortened(since_s, step_s)
    f, q = car_transition(since_s, tau), car_process_cov(since_s, tau, 1.0)
    f_rest = car_transition(step_s - since_s, tau)
    f_all, q_all = car_transition(step_s, tau), car_process_cov(step_s, tau, 1.0)
    # Scaled by powers of the step, or the 3 x 3 system is close to singular at high rates.
    scale = np.stack([step_s**-2.5, step_s**-1.5, step_s**-0.5], axis=-1)
    scaled = q_all * scale[:, :, None] * scale[:, None, :]
    right = scale[:, :, None] * (f_rest @ q)
    after = transpose(scale[:, :, None] * np.linalg.solve(scaled, right))
    return f - after @ f_all, after


def bridge_cov(first_s: Floats, second_s: Floats, step_s: Floats, noise: NoiseParameters) -> Floats:
    """
    Covariance between two times of one step, given the nodes at both its ends.

    Parameters
    ----------
    first_s, second_s : ndarray, shape (k,)
        Time since the node before. [s]
    step_s : ndarray, shape (k,)
        From it to the node after. [s]
    noise : NoiseParameters

    Returns
    -------
    ndarray, shape (k, 3, 3)
        Of position, velocity and acceleration at the first time with those at the second.
    """
    tau = noise.accel_tau_s
    first_s, second_s = _shortened(first_s, step_s)[0], _shortened(second_s, step_s)[0]
    step_s = np.minimum(step_s, _LONGEST_S)
    early, late = np.minimum(first_s, second_s), np.maximum(first_s, second_s)
    q_early, q_late, q_all = (car_process_cov(t, tau, 1.0) for t in (early, late, step_s))
    on_early = car_transition(step_s - early, tau) @ q_early
    on_late = car_transition(step_s - late, tau) @ q_late
    scale = np.stack([step_s**-2.5, step_s**-1.5, step_s**-0.5], axis=-1)
    scaled = q_all * scale[:, :, None] * scale[:, None, :]
    known = np.linalg.solve(scaled, scale[:, :, None] * on_late)
    cov = q_early @ transpose(car_transition(late - early, tau))
    cov = noise.accel_mps2**2 * (cov - transpose(scale[:, :, None] * on_early) @ known)
    return np.where((first_s <= second_s)[:, None, None], cov, transpose(cov))


def _shortened(since_s: Floats, step_s: Floats) -> tuple[Floats, Floats]:
    """Take the middle out of long steps: a time keeps its distance from the nearer end."""
    long = step_s > _LONGEST_S
    if not long.any():
        return since_s, step_s
    half_s = _LONGEST_S / 2
    left_s = step_s - since_s
    late_s = np.maximum(_LONGEST_S - left_s, half_s)
    short_s = np.where(left_s < since_s, late_s, np.minimum(since_s, half_s))
    return np.where(long, short_s, since_s), np.minimum(step_s, _LONGEST_S)
