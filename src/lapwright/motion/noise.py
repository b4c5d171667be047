"""
Noise levels of a session: which ones the data and what is known beforehand leave plausible.

Priors are normal on the logarithms, wide, and rest on published figures:

- drift of the position: about 1 m for a receiver of metre class, within a factor of two (1.5 to
  2 m circular error of modules in their data sheets is 1.3 to 1.7 m an axis; augmented service is
  measured at 0.6 to 1.1 m, 95 %).  White noise of the fixes moves it: a receiver with
  centimetres of white noise is of another class.  Time constant 200 s within a factor of two to
  three (10 to 2700 s are used as bounds in aviation).
- slow error of Doppler velocity: a centimetre or two a second, within a factor of four.

References
----------
.. [1] FAA, WAAS performance analysis report 10 (2004): 0.61 to 1.06 m horizontal, 95 %.
.. [2] "Sensors" 20 (2020) 6050: errors of stationary receivers are Gauss-Markov, not white.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.consistency import disagreement
from lapwright.motion.local_levels import local_levels
from lapwright.motion.measurements import Measurements
from lapwright.motion.model import NoiseLevels
from lapwright.motion.repeats import Repeats, repeat_likelihood
from lapwright.motion.search import sample
from lapwright.motion.slow_levels import velocity_likelihood
from lapwright.motion.system import direction_of_travel

Floats = npt.NDArray[np.float64]

# Logarithms of drift_tau_s, slow_speed_mps, slow_speed_tau_s, driver's spread and its length.
_PRIOR_CENTRE = np.log([200.0, 0.015, 20.0, 0.4, 60.0])
_PRIOR_SD = np.array([0.8, 1.4, 0.7, 0.6, 0.5])
_DRIFT_SD = 0.6
# Of the slow speed error and its time constant, where the speed visibly is not what the positions do.
_PRIOR_SD_DISAGREEING = (0.4, 0.4)


@dataclass(frozen=True, eq=False)
class NoiseEstimate:
    """
    Plausible noise levels, the most central first, each with its weight.

    Attributes
    ----------
    levels : tuple of NoiseLevels
    weight : ndarray
        Summing to one.
    sources : tuple of str
        What the estimate rests on.
    log_sd : dict
        Standard deviation of the logarithm of each slow level: 0.5 means 'within a factor of 1.6'.
    direction, cross_var : ndarray or None
        Direction of travel, where it had to be estimated.
    """

    levels: tuple[NoiseLevels, ...]
    weight: Floats
    sources: tuple[str, ...]
    log_sd: dict[str, float]
    direction: Floats | None
    cross_var: Floats | None


def prior_drift_m(m: Measurements, white_m: float) -> float:
    """Centre of the prior of the drift: its class by the white noise or the receiver's word."""
    if m.stated_sd_m is not None:
        # Receivers tend to be optimistic about themselves (common practice, no source).
        return 1.3 * m.stated_sd_m
    return float(np.sqrt(1.0 * 3.0 * white_m))


def estimate_noise(m: Measurements, repeats: Repeats | None = None, most: int = 5) -> NoiseEstimate:
    """
    Estimate the noise levels of a session.

    Parameters
    ----------
    m : Measurements
    repeats : Repeats, optional
        Places passed more than once.
    most : int
        How many sets of levels to return at most.

    Returns
    -------
    NoiseEstimate
    """
    local = local_levels(m)
    sources = ["short stretches of fixes", "published accuracy of receivers"]
    if m.stated_sd_m is not None:
        sources.append("the receiver's own accuracy column")
    centre = np.concatenate([[np.log(prior_drift_m(m, local.white_m))], _PRIOR_CENTRE])
    prior_sd = np.concatenate([[_DRIFT_SD], _PRIOR_SD])
    odd = disagreement(m, local.white_m)
    if odd is not None:
        centre[[2, 3]] = np.log([odd.sd_mps, max(odd.tau_s, 0.5)])
        prior_sd[[2, 3]] = _PRIOR_SD_DISAGREEING
        sources.append("speed against displacement over a second")
    direction = cross_var = None
    if m.kind == "speed":
        direction, cross_var = direction_of_travel(m, local)
    by_velocity = by_repeats = None
    if m.kind != "none":
        by_velocity = velocity_likelihood(m, local, direction, cross_var)
        sources.append("position against integrated speed")
    if repeats is not None and m.kind != "vector" and len(repeats.time_s) > 20:
        by_repeats = repeat_likelihood(repeats, local.white_m)
        sources.append("laps compared with each other")

    def log_likelihood(points: Floats) -> Floats:
        out = np.zeros(len(points))
        if by_velocity is not None:
            out += by_velocity(points[:, :4])
        if by_repeats is not None:
            out += by_repeats(points[:, [0, 1, 4, 5]])
        return out

    if by_velocity is None and by_repeats is None:
        points, weight = sample(lambda p: np.zeros(len(p)), centre, prior_sd, (96, 32))
    else:
        points, weight = sample(log_likelihood, centre, prior_sd, (192, 160))
    spread = np.sqrt(weight @ (points - weight @ points) ** 2)
    names = ("drift_m", "drift_tau_s", "slow_speed_mps", "slow_speed_tau_s")
    log_sd = dict(zip(names, spread[:4].tolist(), strict=True))
    levels, level_weight = _representatives(m, local, points, weight, most)
    return NoiseEstimate(levels, level_weight, tuple(sources), log_sd, direction, cross_var)


def lap_sd_m(noise: NoiseLevels, lap_s: float, fix_s: float) -> float:
    """
    About how well a position difference over a lap is known, for ordering levels by consequence.

    Parameters
    ----------
    noise : NoiseLevels
    lap_s, fix_s : float
        Duration, and time between fixes.

    Returns
    -------
    float
        From the closed forms for drift alone and for integrated velocity alone, put together. [m]
    """
    by_position = 2.0 * noise.drift_m**2 * -np.expm1(-lap_s / noise.drift_tau_s)
    if not noise.has_velocity:
        return float(np.sqrt(by_position))
    tau = noise.slow_speed_tau_s
    slow = 2.0 * noise.slow_speed_mps**2 * tau * (lap_s + tau * np.expm1(-lap_s / tau))
    by_velocity = slow + noise.speed_mps**2 * fix_s * lap_s
    return float(np.sqrt(1.0 / (1.0 / by_position + 1.0 / by_velocity)))


def _representatives(
    m: Measurements, local: NoiseLevels, points: Floats, weight: Floats, most: int
) -> tuple[tuple[NoiseLevels, ...], Floats]:
    """A few sets of levels that stand for all: equal shares of weight, ordered by consequence."""
    fix_s = float(np.median(np.diff(m.time_s)))
    keep = weight > 1e-4 * weight.max()
    points, weight = points[keep], weight[keep] / weight[keep].sum()
    levels = [_levels(local, p) for p in points]
    order = np.argsort([lap_sd_m(lv, 80.0, fix_s) for lv in levels], kind="stable")
    points, weight = points[order], weight[order]
    share = np.minimum((np.cumsum(weight) - 0.5 * weight) * most, most - 1e-9).astype(np.intp)
    chosen, weights = [], []
    for k in range(most):
        mine = share == k
        if mine.any():
            total = float(weight[mine].sum())
            chosen.append(_levels(local, weight[mine] @ points[mine] / total))
            weights.append(total)
    # The middle one first: it gives the trajectory.
    middle = int(np.searchsorted(np.cumsum(weights), 0.5))
    sequence = [middle, *[k for k in range(len(chosen)) if k != middle]]
    return tuple(chosen[k] for k in sequence), np.array([weights[k] for k in sequence])


def _levels(local: NoiseLevels, point: Floats) -> NoiseLevels:
    drift, tau, slow_speed, slow_tau = np.exp(point[:4]).tolist()
    return replace(
        local, drift_m=drift, drift_tau_s=tau, slow_speed_mps=slow_speed, slow_speed_tau_s=slow_tau
    )
