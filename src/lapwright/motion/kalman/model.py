r"""
The model of one horizontal axis: how a car moves and how a satellite receiver errs.

States of an axis, in this order: position, velocity, acceleration (first-order Gauss-Markov, the
model of [1]_), drift of the receiver's position (first-order Gauss-Markov) and, where velocity is
logged, a slow error of the receiver's velocity (the same).  Errors of position and velocity are
kept apart on purpose: taking GNSS errors as white makes error bars lie.

The symbols of this room, as in `docs/method-precision.md`:

=========== ================================================= ======= ==========================
symbol      meaning                                           unit    in code
=========== ================================================= ======= ==========================
p, v, a     position, velocity, acceleration on one axis      m, m/s, states 0, 1, 2
                                                              m/s2
d           drift of the receiver's position                  m       state 3
b           slow error of the receiver's velocity             m/s     state 4, where logged
x           state of an axis: (p, v, a, d, b)                         ``mean``, one node's
dt          time from a node to the next                      s       ``dt_s``
T_a         time constant of the acceleration                 s       ``accel_tau_s``
sigma_a     its (manoeuvre) standard deviation                m/s2    ``accel_mps2``
tau_d       time constant of the drift                        s       ``drift_tau_s``
sigma_d     its standard deviation                            m       ``drift_m``
tau_b       time constant of the slow velocity error          s       ``slow_speed_tau_s``
sigma_b     its standard deviation                            m/s     ``slow_speed_mps``
sigma_w     white error of a position                         m       ``white_m``
sigma_v     white error of a velocity                         m/s     ``speed_mps``
F           transition over a step, x -> F x + w                      ``transition``, ``f``
Q           covariance of w                                           ``process_cov``, ``q``
H           what a fix measures of x                                  ``observation``, ``h``
R           variance of its white errors                              ``observation_var``, ``r``
y           what was measured                                         ``value``, ``y``
P_i         posterior covariance of x at node i                       ``cov``
G_i         gain, from node i back to node i - 1                      ``gain``
=========== ================================================= ======= ==========================

With X = dt / T_a the car's part of F is (`_car_transition`) [1]_

.. math::
    F = \begin{pmatrix} 1 & dt & T_a^2 (X - 1 + e^{-X}) \\ 0 & 1 & T_a (1 - e^{-X}) \\
        0 & 0 & e^{-X} \end{pmatrix}

and its Q, for a white noise of density ``2 sigma_a^2 / T_a`` that drives the acceleration, is the
integral of f f' over the step, f being the last column of F (`_process_cov_by_quadrature`), or
what that comes to in closed form (`_process_cov_closed`) [1]_.  Drift and slow error have
``F = exp(-dt / tau)`` and ``Q = sigma^2 (1 - exp(-2 dt / tau))`` (`axis_step`).  A fix measures
``p + d`` with R = sigma_w^2, a velocity ``v + b`` with R = sigma_v^2
(`lapwright.motion.kalman.state_space`).  Filter, smoother and the covariances between nodes are in
`lapwright.motion.kalman.rts_smoother`.

Take these formulas as recalled from [1]_: the printed page was not at hand, so no numbers of its
equations are given.  The tests hold F and Q against the matrix exponential, which needs no memory.

References
----------
.. [1] R. A. Singer, "Estimating optimal tracking filter performance for manned maneuvering
   targets", IEEE Transactions on Aerospace and Electronic Systems AES-6 (1970) 473-483.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from lapwright.numerics.batched_systems import Entries

Floats = npt.NDArray[np.float64]

# Below this ratio of step to time constant the closed form of the process noise loses digits.
_SERIES_BELOW = 0.5
_AT_ONCE = 512
# After an hour without a fix the car may be anywhere.  What more would add eats the digits of the
# fix behind it: after a night its covariance would no longer be positive.
_LONGEST_S = 3600.0


@dataclass(frozen=True, slots=True)
class NoiseParameters:
    """
    One set of noise parameters, per horizontal axis.

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
        Manoeuvre standard deviation and its time constant: of the car's acceleration.
        [m/s2], [s]
    coloured_m, coloured_tau_s : float
        Error of the positions that lasts seconds and stays in the trajectory, because nothing
        tells it from the car; only the error bars know of it.  [m], [s]
    """

    white_m: float
    drift_m: float
    drift_tau_s: float
    speed_mps: float
    slow_speed_mps: float
    slow_speed_tau_s: float
    accel_mps2: float
    accel_tau_s: float
    coloured_m: float = 0.0
    coloured_tau_s: float = 4.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            if name == "coloured_m" and self.coloured_m == 0.0:
                continue
            if not getattr(self, name) > 0.0:
                msg = f"{name} must be positive, not {getattr(self, name)}"
                raise ValueError(msg)

    @property
    def has_velocity(self) -> bool:
        """Whether velocity was logged at all."""
        return bool(np.isfinite(self.speed_mps))


def _car_transition(dt_s: Floats, tau_s: float) -> Entries:
    x = dt_s / tau_s
    one, decay = np.ones_like(x), np.expm1(-x)
    return Entries(
        (3, 3),
        {
            (0, 0): one,
            (0, 1): dt_s,
            (0, 2): tau_s**2 * (decay + x),
            (1, 1): one,
            (1, 2): -tau_s * decay,
            (2, 2): 1.0 + decay,
        },
    )


def _car_process_cov(dt_s: Floats, tau_s: float, accel_mps2: float) -> Entries:
    x = dt_s / tau_s
    short = x < _SERIES_BELOW
    values = np.empty((6, len(x)))
    if short.any():
        values[:, short] = _process_cov_by_quadrature(dt_s[short], tau_s)
    if not short.all():
        values[:, ~short] = _process_cov_closed(x[~short], tau_s)
    values *= 2.0 * accel_mps2**2 / tau_s
    xx, xv, xa, vv, va, aa = values
    lower = {(1, 0): xv, (2, 0): xa, (2, 1): va}
    upper = {(0, 1): xv, (0, 2): xa, (1, 2): va}
    return Entries((3, 3), {(0, 0): xx, (1, 1): vv, (2, 2): aa} | lower | upper)


def car_transition(dt_s: Floats, tau_s: float) -> Floats:
    """Position, velocity, acceleration over a step. Shape (n,) to (n, 3, 3)."""
    return _car_transition(dt_s, tau_s).dense(len(dt_s))


def car_process_cov(dt_s: Floats, tau_s: float, accel_mps2: float) -> Floats:
    """Process noise of position, velocity, acceleration over a step. Shape (n,) to (n, 3, 3)."""
    return _car_process_cov(dt_s, tau_s, accel_mps2).dense(len(dt_s))


@cache
def _gauss_legendre() -> tuple[Floats, Floats]:
    """Nodes and weights of eight points; numpy solves for them at every call."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    return nodes, weights


def _process_cov_by_quadrature(dt_s: Floats, tau_s: float) -> Floats:
    # Exact to rounding: the integrand is an entire function on a short interval.
    out = np.empty((6, len(dt_s)))
    node, weight = _gauss_legendre()
    # So many steps at once that what is worked out for all nodes stays in the cache.
    for first in range(0, len(dt_s), _AT_ONCE):
        part = slice(first, first + _AT_ONCE)
        x = np.multiply.outer(0.5 * (node + 1.0) / tau_s, dt_s[part])
        # Response of position, velocity, acceleration to a unit kick of acceleration x tau ago.
        decay = np.expm1(-x)
        kick = np.stack([tau_s**2 * (decay + x), -tau_s * decay, 1.0 + decay])
        weighted = kick * (0.5 * weight)[:, None]
        for row, (left, right) in enumerate(((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))):
            (weighted[left] * kick[right]).sum(axis=0, out=out[row, part])
    out *= dt_s
    return out


def _process_cov_closed(x: Floats, tau_s: float) -> Floats:
    # Q of [1] for unit spectral density of the driving noise, with the factor 1/2 in front: xx, xv,
    # xa, vv, va, aa.  From memory, see above.
    e1, e2 = np.exp(-x), np.exp(-2.0 * x)
    return 0.5 * np.stack(
        [
            tau_s**5 * (1.0 - e2 + 2.0 * x + 2.0 * x**3 / 3.0 - 2.0 * x**2 - 4.0 * x * e1),
            tau_s**4 * (e2 + 1.0 - 2.0 * e1 + 2.0 * x * e1 - 2.0 * x + x**2),
            tau_s**3 * (1.0 - e2 - 2.0 * x * e1),
            tau_s**3 * (4.0 * e1 - 3.0 - e2 + 2.0 * x),
            tau_s**2 * (e2 + 1.0 - 2.0 * e1),
            tau_s * (1.0 - e2),
        ]
    )


def axis_step(dt_s: Floats, noise: NoiseParameters) -> tuple[Entries, Entries]:
    """
    Transition and process covariance of one axis.

    Parameters
    ----------
    dt_s : ndarray, shape (n,)
        Steps; of the car, one of more than an hour counts as an hour. [s]
    noise : NoiseParameters

    Returns
    -------
    transition, process_cov : Entries
        Of matrices of shape (k, k); k is 5, or 4 where no velocity is logged.
    """
    k = 5 if noise.has_velocity else 4
    car_s = np.minimum(dt_s, _LONGEST_S)
    f = _car_transition(car_s, noise.accel_tau_s).values
    q = _car_process_cov(car_s, noise.accel_tau_s, noise.accel_mps2).values
    errors = [(3, noise.drift_m, noise.drift_tau_s)]
    if noise.has_velocity:
        errors.append((4, noise.slow_speed_mps, noise.slow_speed_tau_s))
    for i, sd, tau in errors:
        f[i, i] = np.exp(-dt_s / tau)
        q[i, i] = -(sd**2) * np.expm1(-2.0 * dt_s / tau)
    return Entries((k, k), f), Entries((k, k), q)


def axis_start_cov(noise: NoiseParameters) -> Floats:
    """Covariance of one axis before the first fix: nothing known of the car, shape (k, k)."""
    # 100 m about the first fix and 60 m/s are 'unknown' for any car, without being so large that
    # they eat the digits of centimetres.
    sds = [100.0, 60.0, noise.accel_mps2, noise.drift_m]
    if noise.has_velocity:
        sds.append(noise.slow_speed_mps)
    return np.diag(np.square(sds))
