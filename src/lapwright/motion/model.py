"""
The model of one horizontal axis: how a car moves and how a satellite receiver errs.

States of an axis, in this order: position, velocity, acceleration (first-order Gauss-Markov, the
model of [1]_), drift of the receiver's position (first-order Gauss-Markov) and, where velocity is
logged, a slow error of the receiver's velocity (the same).  Errors of position and velocity are
kept apart on purpose: taking GNSS errors as white makes error bars lie.

References
----------
.. [1] R. A. Singer, "Estimating optimal tracking filter performance for manned maneuvering
   targets", IEEE Transactions on Aerospace and Electronic Systems AES-6 (1970) 473-483.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Below this ratio of step to time constant the closed form of the process noise loses digits.
_SERIES_BELOW = 0.5


@dataclass(frozen=True, slots=True)
class NoiseLevels:
    """
    One set of noise levels, per horizontal axis.

    Attributes
    ----------
    white_m : float
        White error of a position. [m]
    drift_m, drift_tau_s : float
        Standard deviation and time constant of the slow position error. [m], [s]
    speed_mps : float
        White error of the velocity, infinite where none is logged. [m/s]
    slow_speed_mps, slow_speed_tau_s : float
        Standard deviation and time constant of the slow velocity error. [m/s], [s]
    accel_mps2, accel_tau_s : float
        Standard deviation and time constant of the car's acceleration: its agility. [m/s2], [s]
    """

    white_m: float
    drift_m: float
    drift_tau_s: float
    speed_mps: float
    slow_speed_mps: float
    slow_speed_tau_s: float
    accel_mps2: float
    accel_tau_s: float

    def __post_init__(self) -> None:
        for name in self.__slots__:
            if not getattr(self, name) > 0.0:
                msg = f"{name} must be positive, not {getattr(self, name)}"
                raise ValueError(msg)

    @property
    def has_velocity(self) -> bool:
        """Whether velocity was logged at all."""
        return bool(np.isfinite(self.speed_mps))


def car_transition(dt_s: Floats, tau_s: float) -> Floats:
    """Position, velocity, acceleration over a step. Shape (n,) to (n, 3, 3)."""
    x = dt_s / tau_s
    f = np.zeros((len(dt_s), 3, 3))
    f[:, 0, 0] = f[:, 1, 1] = 1.0
    f[:, 0, 1] = dt_s
    f[:, 0, 2] = tau_s**2 * (np.expm1(-x) + x)
    f[:, 1, 2] = -tau_s * np.expm1(-x)
    f[:, 2, 2] = np.exp(-x)
    return f


def car_process_cov(dt_s: Floats, tau_s: float, accel_mps2: float) -> Floats:
    """Process noise of position, velocity, acceleration over a step. Shape (n,) to (n, 3, 3)."""
    density = 2.0 * accel_mps2**2 / tau_s
    x = dt_s / tau_s
    q = np.empty((len(dt_s), 3, 3))
    short = x < _SERIES_BELOW
    if short.any():
        q[short] = _process_cov_by_quadrature(dt_s[short], tau_s)
    if not short.all():
        q[~short] = _process_cov_closed(x[~short], tau_s)
    return q * density


def _process_cov_by_quadrature(dt_s: Floats, tau_s: float) -> Floats:
    # Exact to rounding: the integrand is an entire function on a short interval.
    nodes, weights = np.polynomial.legendre.leggauss(8)
    s = 0.5 * dt_s[:, None] * (nodes + 1.0)
    # Response of position, velocity, acceleration to a unit kick of acceleration s ago.
    response = car_transition(s.ravel(), tau_s)[:, :, 2].reshape(*s.shape, 3)
    weighted = response * (0.5 * dt_s[:, None] * weights)[:, :, None]
    return np.asarray(weighted.swapaxes(1, 2) @ response)


def _process_cov_closed(x: Floats, tau_s: float) -> Floats:
    # Singer 1970, for unit spectral density of the acceleration's driving noise.
    e1, e2 = np.exp(-x), np.exp(-2.0 * x)
    q = np.empty((len(x), 3, 3))
    q[:, 0, 0] = tau_s**5 * (1.0 - e2 + 2.0 * x + 2.0 * x**3 / 3.0 - 2.0 * x**2 - 4.0 * x * e1)
    q[:, 0, 1] = tau_s**4 * (e2 + 1.0 - 2.0 * e1 + 2.0 * x * e1 - 2.0 * x + x**2)
    q[:, 0, 2] = tau_s**3 * (1.0 - e2 - 2.0 * x * e1)
    q[:, 1, 1] = tau_s**3 * (4.0 * e1 - 3.0 - e2 + 2.0 * x)
    q[:, 1, 2] = tau_s**2 * (e2 + 1.0 - 2.0 * e1)
    q[:, 2, 2] = tau_s * (1.0 - e2)
    for i, j in ((1, 0), (2, 0), (2, 1)):
        q[:, i, j] = q[:, j, i]
    return 0.5 * q


def axis_step(dt_s: Floats, noise: NoiseLevels) -> tuple[Floats, Floats]:
    """
    Transition and process covariance of one axis.

    Parameters
    ----------
    dt_s : ndarray, shape (n,)
        Steps. [s]
    noise : NoiseLevels

    Returns
    -------
    transition, process_cov : ndarray, shape (n, k, k)
        k is 5, or 4 where no velocity is logged.
    """
    k = 5 if noise.has_velocity else 4
    f, q = np.zeros((len(dt_s), k, k)), np.zeros((len(dt_s), k, k))
    f[:, :3, :3] = car_transition(dt_s, noise.accel_tau_s)
    q[:, :3, :3] = car_process_cov(dt_s, noise.accel_tau_s, noise.accel_mps2)
    errors = [(3, noise.drift_m, noise.drift_tau_s)]
    if noise.has_velocity:
        errors.append((4, noise.slow_speed_mps, noise.slow_speed_tau_s))
    for i, sd, tau in errors:
        f[:, i, i] = np.exp(-dt_s / tau)
        q[:, i, i] = -(sd**2) * np.expm1(-2.0 * dt_s / tau)
    return f, q


def axis_start_cov(noise: NoiseLevels) -> Floats:
    """Covariance of one axis before the first fix: nothing known of the car, shape (k, k)."""
    # 100 m about the first fix and 60 m/s are 'unknown' for any car, without being so large that
    # they eat the digits of centimetres.
    sds = [100.0, 60.0, noise.accel_mps2, noise.drift_m]
    if noise.has_velocity:
        sds.append(noise.slow_speed_mps)
    return np.diag(np.square(sds))


def block_diagonal(matrices: Floats) -> Floats:
    """Two equal axes side by side: shape (n, k, k) to (n, 2k, 2k)."""
    n, k, _ = matrices.shape
    both = np.zeros((n, 2 * k, 2 * k))
    both[:, :k, :k] = both[:, k:, k:] = matrices
    return both
