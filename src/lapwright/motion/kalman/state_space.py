"""
From measurements and noise parameters to a state-space model, and its smoothing.

Where velocity is a vector, or there is none, the two axes share one covariance and are two columns
of one small system.  Where only the speed is known it is the velocity's component along the way,
which couples the axes; the direction of travel comes from a first smoothing of the positions.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.blocks import StateSpace
from lapwright.motion.kalman.model import NoiseParameters, axis_start_cov, axis_step
from lapwright.motion.kalman.rts_smoother import smooth
from lapwright.motion.kalman.smoothing import Smoothing
from lapwright.motion.measurements import Measurements, slow, slow_speed_sd_mps
from lapwright.numerics.batched_systems import Entries

Floats = npt.NDArray[np.float64]

# Of the states of an axis: position as measured is the car's plus the drift, velocity likewise.
POSITION, VELOCITY = (0, 3), (1, 4)


def smooth_measurements(
    m: Measurements,
    noise: NoiseParameters,
    direction: Floats | None = None,
    cross_var: Floats | None = None,
) -> Smoothing:
    """
    Smooth a session under given noise parameters.

    Parameters
    ----------
    m, direction, cross_var
        As for `smooth_under_each`.
    noise : NoiseParameters

    Returns
    -------
    Smoothing
    """
    return smooth_under_each(m, [noise], direction, cross_var)[0]


def smooth_under_each(
    m: Measurements,
    noises: Sequence[NoiseParameters],
    direction: Floats | None = None,
    cross_var: Floats | None = None,
) -> list[Smoothing]:
    """
    Smooth a session under several sets of noise parameters at once.

    Parameters
    ----------
    m : Measurements
    noises : sequence of NoiseParameters
    direction : ndarray, shape (n, 2), optional
        Unit vectors along the way, needed where only the speed is known.
    cross_var : ndarray, shape (n,), optional
        Variance of the velocity across the way when ``direction`` was estimated: a speed is longer
        than the component along a wrong direction by about ``cross_var / (2 speed)``. [m2/s2]

    Returns
    -------
    list of Smoothing
    """
    if m.kind == "speed":
        if direction is None:
            msg = "a speed without a course needs the direction of travel"
            raise ValueError(msg)
        models = [_coupled_model(m, noise, direction, cross_var) for noise in noises]
    else:
        models = [_shared_model(m, noise) for noise in noises]
    states = smooth(models) if models else []
    return [Smoothing(m.time_s, noise, s) for noise, s in zip(noises, states, strict=True)]


def direction_of_travel(m: Measurements, noise: NoiseParameters) -> tuple[Floats, Floats]:
    """
    Directions from the positions alone.

    Returns
    -------
    direction : ndarray, shape (n, 2)
    cross_var : ndarray, shape (n,)
        Variance of the velocity's component across. [m2/s2]
    """
    smoothing = smooth_measurements(
        m.without_velocity(),
        NoiseParameters(
            noise.white_m,
            noise.drift_m,
            noise.drift_tau_s,
            np.inf,
            noise.slow_speed_mps,
            noise.slow_speed_tau_s,
            noise.accel_mps2,
            noise.accel_tau_s,
        ),
    )
    velocity = smoothing.states.mean[:, 1]
    speed = np.maximum(np.linalg.norm(velocity, axis=-1), 1e-6)
    return velocity / speed[:, None], smoothing.states.cov.diagonal(1)


def _shared_model(m: Measurements, noise: NoiseParameters) -> StateSpace:
    n = len(m)
    f, q = axis_step(np.diff(m.time_s), noise)
    one = np.ones(n)
    h = {(0, state): one for state in POSITION}
    rows = 2 if noise.has_velocity else 1
    variance, value = np.empty((n, rows)), np.empty((n, rows, 2))
    variance[:, 0] = noise.white_m**2 * m.position_factor
    value[:, 0] = m.position_m
    if noise.has_velocity:
        h |= {(1, state): one for state in VELOCITY}
        variance[:, 1] = noise.speed_mps**2 * m.velocity_factor
        value[:, 1] = m.velocity_mps
    k = f.shape[0]
    start = axis_start_cov(noise)
    return StateSpace(f, q, Entries((rows, k), h), variance, value, _start_mean(m, k), start)


def _start_mean(m: Measurements, k: int) -> Floats:
    first = int(np.flatnonzero(np.isfinite(m.position_factor))[0])
    mean = np.zeros((k, 2))
    mean[0] = m.position_m[first]
    return mean


def _coupled_model(
    m: Measurements, noise: NoiseParameters, direction: Floats, cross_var: Floats | None
) -> StateSpace:
    n = len(m)
    f, q = axis_step(np.diff(m.time_s), noise)
    k = f.shape[0]
    variance, value = np.empty((n, 4)), np.zeros((n, 4, 1))
    h: dict[tuple[int, int], Floats] = {}
    for axis in (0, 1):
        h |= {(axis, axis * k + state): np.ones(n) for state in POSITION}
        variance[:, axis] = noise.white_m**2 * m.position_factor
        value[:, axis, 0] = m.position_m[:, axis]
    # At walking pace the direction is random: the velocity is then 'about zero' on both axes.
    crawling = slow(m)
    along = np.where(crawling[:, None], [1.0, 0.0], direction)
    across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    for row, unit in ((2, along), (3, across)):
        for axis in (0, 1):
            h |= {(row, axis * k + state): unit[:, axis] for state in VELOCITY}
    longer = 0.0 if cross_var is None else cross_var / (2.0 * np.maximum(m.speed_mps, 1.0))
    value[:, 2, 0] = np.where(crawling, 0.0, m.speed_mps - longer)
    crawl_var = slow_speed_sd_mps(m) ** 2
    variance[:, 2] = m.velocity_factor * np.where(crawling, crawl_var, noise.speed_mps**2)
    variance[:, 3] = m.velocity_factor * np.where(crawling, crawl_var, np.inf)
    start = np.zeros((2 * k, 1))
    start[[0, k], 0] = _start_mean(m, k)[0]
    start_cov = np.asarray(np.kron(np.eye(2), axis_start_cov(noise)), dtype=np.float64)
    observation = Entries((4, 2 * k), h)
    return StateSpace(f.twice(), q.twice(), observation, variance, value, start, start_cov)
