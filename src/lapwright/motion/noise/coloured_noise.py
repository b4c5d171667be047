"""
Errors of positions that last seconds: too slow to be white, too quick to be drift.

Phones smooth their positions, and multipath lasts: metres of error with a time constant of seconds.
Within a lap they look like a driver who never drives the same line twice, and a speed that was made
from the same positions repeats them, so that neither the laps alone nor the speed alone show them.
What tells is how far the laps lie apart, beyond what drivers do, less what the speed contradicts.
It cannot be taken out of the trajectory; it widens every bar that rests on a position.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.binned_displacements import bin_session
from lapwright.motion.noise.priors import COLOURED_IF_ANY
from lapwright.motion.noise.restricted_likelihood import RepeatedMeasures, restricted_likelihood
from lapwright.numerics.importance_sampling import sample
from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]

_SIZE = COLOURED_IF_ANY.log
# How likely it is beforehand that a receiver has them: a log of one fix a second is as likely a
# phone's as not, a quicker one hardly (common practice, no source).
_SLOW_HZ, _LIKELY, _UNLIKELY = 2.0, 0.5, 0.1
# Displacements by speed are compared with those of the positions over so long.
_SPAN_S = 8.0
# A robust spread of so many is good to a third.
_MIN_SPANS = 12
# Of what the laps show a velocity made of the positions sees less than the one share, one measured
# by itself more than the other; in between it is a matter of degree (common practice, no source).
_SEES_NONE, _SEES_ALL = 0.4, 0.9


def lasting_var(spread_m: Floats, driver: tuple[float, float], rate_hz: float) -> Floats:
    """
    Mean variance of lasting errors, given a spread of the laps that is theirs or the driver's.

    Parameters
    ----------
    spread_m : ndarray, shape (n,)
        Root of the sum of both variances. [m]
    driver : (float, float)
        Centre and sd of the logarithm of the driver's own spread.
    rate_hz : float
        Fixes a second.

    Returns
    -------
    ndarray, shape (n,)
        [m²]
    """
    share = np.linspace(0.0, 1.0, 402)[1:-1]
    total = spread_m[:, None] ** 2
    likely = _LIKELY if rate_hz <= _SLOW_HZ else _UNLIKELY
    # Densities of the spread by itself and, at each share of the variance, of both kinds together.
    alone = (1.0 - likely) * _log_normal(spread_m, *driver)
    errs, drives = np.sqrt(share * total), np.sqrt((1.0 - share) * total)
    both = _log_normal(errs, *_SIZE) * _log_normal(drives, *driver)
    # With variances a and b of errors and driver, da db = total d(share) d(total).
    both *= likely * spread_m[:, None] * total / (2.0 * errs * drives) * (share[1] - share[0])
    return np.asarray((both * share * total).sum(axis=1) / (alone + both.sum(axis=1)))


def _log_normal(x: Floats, centre: float, sd: float) -> Floats:
    z = (np.log(x) - centre) / sd
    return np.asarray(np.exp(-0.5 * z**2) / (x * sd * np.sqrt(2.0 * np.pi)))


def contradicted_var(m: Measurements, local: NoiseParameters, velocity_mps: Floats) -> float:
    """
    Variance of the positions' errors over seconds that a logged velocity shows at most.

    Parameters
    ----------
    m : Measurements
    local : NoiseParameters
        White noise and manoeuvre standard deviation.
    velocity_mps : ndarray, shape (n, 2)

    Returns
    -------
    float
        Of the positions' way less the way by the velocity, halved: a difference has two ends.
        Zero where too little can be compared.  [m²]
    """
    binned = bin_session(m, velocity_mps, local)
    length = np.linalg.norm(binned.moved_m, axis=1)
    unit = binned.moved_m / np.maximum(length, 1e-9)[:, None]
    short = np.einsum("bi,bi->b", unit, np.diff(binned.position_m, axis=0)) - length
    use = (binned.averaged[1:] > 0.0) & (binned.averaged[:-1] > 0.0) & binned.whole
    steps = max(1, round(_SPAN_S / float(np.median(binned.step_s))))
    total = np.concatenate([[0.0], np.cumsum(np.where(use, short, 0.0))])
    broken = np.concatenate([[0], np.cumsum(~use)])
    whole = broken[steps:] == broken[:-steps]
    spans = (total[steps:] - total[:-steps])[whole]
    if len(spans) < _MIN_SPANS * steps:
        return 0.0
    # A smoothed speed errs with the car's acceleration, lap after lap alike: that is no noise.
    middle = np.concatenate([[0.0], np.cumsum(binned.step_s)]) + m.time_s[0]
    speed = np.interp(middle, m.time_s, m.speed_mps)
    accel = np.gradient(speed, middle)
    shape = np.stack([speed, accel, np.gradient(accel, middle)], axis=-1)
    design = np.column_stack([(shape[steps:] - shape[:-steps])[whole], np.ones(len(spans))])
    spans = spans - design @ np.linalg.lstsq(design, spans, rcond=None)[0]
    return 0.5 * robust_sd(spans) ** 2


def share_not_seen(seen_m2: float, by_laps_m2: float) -> float:
    """
    How much of what the laps show a velocity does not know of, from 0 to 1.

    A velocity measured by itself sees all of it, one made of the same positions a part: the rest of
    these, their stamps, and what its smoothing does.  In between it is a matter of degree.
    """
    seen = seen_m2 / max(by_laps_m2, 1e-12)
    return float(np.clip((_SEES_ALL - seen) / (_SEES_ALL - _SEES_NONE), 0.0, 1.0))


def spread_of_laps(
    repeats: RepeatedMeasures, white_m: float, prior: dict[str, tuple[float, float]]
) -> tuple[Floats, Floats]:
    """
    How far laps lie apart from one place to the next, by the laps alone.

    Parameters
    ----------
    repeats : RepeatedMeasures
    white_m : float
        White noise of one fix. [m]
    prior : dict
        Centre and sd of the logarithms of what `restricted_likelihood` takes, all six in its order.

    Returns
    -------
    points : ndarray, shape (n, 6)
        Logarithms.
    weight : ndarray, shape (n,)
    """
    centre, sd = np.array(list(prior.values())).T
    return sample(restricted_likelihood(repeats, white_m), centre, sd, (64, 48, 48))


def with_lasting(
    m: Measurements, local: NoiseParameters, points: Floats, weight: Floats,
    driver: tuple[float, float], direction: Floats | None,
) -> NoiseParameters:  # fmt: skip
    """
    Put the error that lasts seconds in: by the laps alone, unless a velocity contradicts.

    Parameters
    ----------
    m : Measurements
    local : NoiseParameters
        White noise and manoeuvre standard deviation.
    points, weight : ndarray
        From `spread_of_laps`.
    driver : (float, float)
        Centre and sd of the logarithm of the driver's own spread.
    direction : ndarray, shape (n, 2), or None
        Along the way, for a speed without a course.

    Returns
    -------
    NoiseParameters
    """
    _, _, spread, _, coloured, _ = np.exp(points).T
    rate_hz = 1.0 / float(np.median(np.diff(m.time_s)))
    total = np.hypot(spread, coloured)
    # Increments from fix to fix of what lasts are taken for white noise; they are part of it.
    whole = lasting_var(total, driver, rate_hz) * (1.0 + (local.white_m / total) ** 2)
    var = float(weight @ whole)
    if m.kind != "none":
        along = m.velocity_mps if direction is None else m.speed_mps[:, None] * direction
        var *= share_not_seen(contradicted_var(m, local, along), var)
    tau_s = float(np.exp(weight @ points[:, 5]))
    return replace(local, coloured_m=float(np.sqrt(var)), coloured_tau_s=tau_s)
