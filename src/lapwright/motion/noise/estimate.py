"""
Noise parameters of a session: which ones the data and what is known beforehand leave plausible.

The priors, normal on the logarithms, are in `lapwright.motion.noise.priors` with their sources.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.kalman.state_space import direction_of_travel
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.coloured_noise import spread_of_laps, with_lasting
from lapwright.motion.noise.gauss_markov import velocity_likelihood
from lapwright.motion.noise.priors import PRIORS, drift_centre_m
from lapwright.motion.noise.restricted_likelihood import RepeatedMeasures, restricted_likelihood
from lapwright.motion.noise.speed_consistency import disagreement
from lapwright.motion.noise.white_noise import short_term_noise
from lapwright.numerics.importance_sampling import LogDensity, sample

Floats = npt.NDArray[np.float64]

# In the order of the likelihoods.
_SLOW = {
    name: PRIORS[name].log for name in ("drift_m", "drift_tau_s", "slow_speed_mps",
                                        "slow_speed_tau_s")
}  # fmt: skip
_DRIVER = {"spread_m": PRIORS["driver_m"].log, "length_m": PRIORS["driver_length_m"].log}
# How much of the laps' spread is an error that lasts seconds, and how much the driver's, is up to
# `lasting_var`.
_COLOURED = {name: PRIORS[name].log for name in ("coloured_m", "coloured_tau_s")}
_SPEED, _WHITE, _LASTING = (PRIORS[n] for n in ("speed_mps", "white_m", "lasting_ratio"))
# How sure a short stretch is of white noise, in the logarithm, where the car's own motion between
# two fixes does not hide it: of a speed, of a position.
_SPEED_SD_LOCAL, _WHITE_SD_LOCAL = 0.25, 0.05
# Of the slow speed error and its time constant, where the speed is not what the positions do.
_PRIOR_SD_DISAGREEING = (0.4, 0.4)


@dataclass(frozen=True, eq=False)
class NoiseEstimate:
    """
    Plausible sets of noise parameters, the most central first, each with its weight.

    Attributes
    ----------
    parameters : tuple of NoiseParameters
    weight : ndarray
        Summing to one.
    sources : tuple of str
        What the estimate rests on.
    log_sd : dict
        Standard deviation of the logarithm of each parameter: 0.5 means 'within a factor of 1.6'.
    direction, cross_var : ndarray or None
        Direction of travel, where it had to be estimated.
    """

    parameters: tuple[NoiseParameters, ...]
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
    return drift_centre_m(white_m)


def prior_speed(m: Measurements, local: NoiseParameters) -> tuple[float, float]:
    """
    Prior of the logarithm of the velocity's white noise: centre and standard deviation.

    At few fixes a second the car's own acceleration changes hide that noise, and a stretch's
    likelihood is then about how well the model of the car fits, not about the receiver.
    """
    dt = float(np.median(np.diff(m.time_s)))
    hidden = 2.0 * local.accel_mps2**2 / local.accel_tau_s * dt**3 / 3.0 / _SPEED.centre**2
    shares = np.array([_SPEED.log_sd**-2, (_SPEED_SD_LOCAL * (1.0 + hidden)) ** -2])
    centres = np.log([_SPEED.centre, local.speed_mps])
    return float(shares @ centres / shares.sum()), float(shares.sum() ** -0.5)


def with_white_prior(m: Measurements, local: NoiseParameters) -> NoiseParameters:
    """
    Put the prior of the positions' white noise in, where the car's own motion hides that noise.

    At one fix a second a car swerves by metres from fix to fix, and what a stretch says of the
    receiver's noise then depends on how well the model of the car fits.

    Parameters
    ----------
    m : Measurements
    local : NoiseParameters
        As short stretches have it.

    Returns
    -------
    NoiseParameters
        The same from five fixes a second on, where the motion hides nothing.
    """
    dt = float(np.median(np.diff(m.time_s)))
    hidden = 2.0 * local.accel_mps2**2 / local.accel_tau_s * dt**5 / 20.0 / _WHITE.centre**2
    shares = np.array([_WHITE.log_sd**-2, (_WHITE_SD_LOCAL * (1.0 + hidden)) ** -2])
    centres = np.log([_WHITE.centre, local.white_m])
    return replace(local, white_m=float(np.exp(shares @ centres / shares.sum())))


def estimate_noise(
    m: Measurements, repeats: RepeatedMeasures | None = None, most: int = 5
) -> NoiseEstimate:
    """
    Estimate the noise parameters of a session.

    Parameters
    ----------
    m : Measurements
    repeats : RepeatedMeasures, optional
        Places passed more than once.
    most : int
        How many sets of parameters to return at most.

    Returns
    -------
    NoiseEstimate
    """
    local = with_white_prior(m, short_term_noise(m))
    sources = ["short stretches of fixes", "published accuracy of receivers"]
    if m.stated_sd_m is not None:
        sources.append("the receiver's own accuracy column")
    prior = _SLOW | {"drift_m": (np.log(prior_drift_m(m, local.white_m)), _SLOW["drift_m"][1])}
    odd = disagreement(m, local.white_m)
    if odd is not None:
        prior["slow_speed_mps"] = (np.log(odd.sd_mps), _PRIOR_SD_DISAGREEING[0])
        prior["slow_speed_tau_s"] = (np.log(max(odd.tau_s, 0.5)), _PRIOR_SD_DISAGREEING[1])
        sources.append("speed against displacement over a second")
    direction = cross_var = None
    if m.kind == "speed":
        direction, cross_var = direction_of_travel(m, local)
    likelihoods: list[tuple[tuple[str, ...], LogDensity]] = []
    if m.kind != "none":
        prior |= {
            "speed_mps": prior_speed(m, local),
            "lasting_m": (np.log(_LASTING.centre * local.white_m), _LASTING.log_sd),
        }
        of_velocity = velocity_likelihood(m, local, direction, cross_var)
        likelihoods.append(((*_SLOW, "speed_mps", "lasting_m"), of_velocity))
        sources.append("position against integrated speed")
    compared = repeats if repeats is not None and len(repeats.time_s) > 20 else None
    if compared is not None:
        # With a velocity what lasts seconds is drift to that velocity, or not seen by it at all.
        prior |= _DRIVER | (_COLOURED if m.kind == "none" else {})
        of_repeats = restricted_likelihood(compared, local.white_m)
        used = tuple(n for n in ("drift_m", "drift_tau_s", *_DRIVER, *_COLOURED) if n in prior)
        likelihoods.append((used, of_repeats))
        sources.append("laps compared with each other")
    names = list(prior)
    centre, prior_sd = np.array(list(prior.values())).T
    counts = (96,) * 6 if likelihoods else (96, 32)
    points, weight = sample(_together(names, likelihoods), centre, prior_sd, counts)
    spread = np.sqrt(weight @ (points - weight @ points) ** 2)
    log_sd = dict(zip(names, spread.tolist(), strict=True))
    sampled = [name for name in names if name not in _DRIVER | _COLOURED]
    if compared is not None:
        of_laps = ("drift_m", "drift_tau_s", *_DRIVER, *_COLOURED)
        by_laps = (points[:, [names.index(n) for n in of_laps if n in names]], weight)
        if m.kind != "none":
            known = prior | _COLOURED
            by_laps = spread_of_laps(compared, local.white_m, {n: known[n] for n in of_laps})
        local = with_lasting(m, local, *by_laps, _DRIVER["spread_m"], direction)
    parameters, share = _representatives(m, local, sampled, points[:, : len(sampled)], weight, most)
    return NoiseEstimate(parameters, share, tuple(sources), log_sd, direction, cross_var)


def _together(
    names: list[str], likelihoods: list[tuple[tuple[str, ...], LogDensity]]
) -> LogDensity:
    """Sum of log likelihoods that each use some of the parameters."""
    columns = [[names.index(name) for name in used] for used, _ in likelihoods]

    def log_likelihood(points: Floats) -> Floats:
        out = np.zeros(len(points))
        for (_, part), column in zip(likelihoods, columns, strict=True):
            out += part(points[:, column])
        return out

    return log_likelihood


def lap_sd_m(noise: NoiseParameters, lap_s: float, fix_s: float) -> float:
    """
    About how well a position difference over a lap is known, to order parameters by consequence.

    Parameters
    ----------
    noise : NoiseParameters
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
    m: Measurements, local: NoiseParameters, names: list[str], points: Floats, weight: Floats,
    most: int,
) -> tuple[tuple[NoiseParameters, ...], Floats]:  # fmt: skip
    """A few sets that stand for all: equal shares of weight, ordered by consequence."""
    fix_s = float(np.median(np.diff(m.time_s)))
    keep = weight > 1e-4 * weight.max()
    points, weight = points[keep], weight[keep] / weight[keep].sum()
    trials = [_parameters(local, names, p) for p in points]
    order = np.argsort([lap_sd_m(one, 80.0, fix_s) for one in trials], kind="stable")
    points, weight = points[order], weight[order]
    share = np.minimum((np.cumsum(weight) - 0.5 * weight) * most, most - 1e-9).astype(np.intp)
    chosen, weights = [], []
    for k in range(most):
        mine = share == k
        if mine.any():
            chosen.append(_parameters(local, names, stand_in(names, points[mine], weight[mine])))
            weights.append(float(weight[mine].sum()))
    # The middle one first: it gives the trajectory.
    middle = int(np.searchsorted(np.cumsum(weights), 0.5))
    sequence = [middle, *[k for k in range(len(chosen)) if k != middle]]
    return tuple(chosen[k] for k in sequence), np.array([weights[k] for k in sequence])


def stand_in(names: list[str], points: Floats, weight: Floats) -> Floats:
    """
    One set of parameters that stands for many.

    Parameters
    ----------
    names : list of str
        Of the columns; those that end with ``_tau_s`` are time constants.
    points : ndarray, shape (n, d)
        Logarithms.
    weight : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (d,)
        Logarithms of the roots of the mean squares, because variances of a mixture add up; of
        time constants the mean logarithm: a lap wants them shorter, a session's mean longer.
    """
    share = weight / weight.sum()
    times = np.array([name.endswith("_tau_s") for name in names])
    return np.asarray(np.where(times, share @ points, 0.5 * np.log(share @ np.exp(2.0 * points))))


def _parameters(local: NoiseParameters, names: list[str], point: Floats) -> NoiseParameters:
    values = dict(zip(names, np.exp(point).tolist(), strict=True))
    white = float(np.hypot(local.white_m, values.pop("lasting_m", 0.0)))
    return replace(local, **values, white_m=white)
