"""What is known of the receiver's noise before, and while, the laps come in."""

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from lapwright.geometry.path import ReferencePath
from lapwright.laps.repeated_line import repeats_for_noise
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.latency import estimate_latency, is_significant
from lapwright.motion.measurements import Measurements
from lapwright.motion.motion import Motion
from lapwright.motion.noise.estimate import estimate_noise, stand_in
from lapwright.motion.noise.priors import PRIORS
from lapwright.motion.noise.white_noise import NOMINAL
from lapwright.motion.outliers import screen

Floats = npt.NDArray[np.float64]

# The fewest fixes that say more of a receiver than the table of priors does.
_MIN_FIXES = 120


@dataclass(frozen=True, slots=True)
class KnownNoise:
    """
    One set of noise parameters, how late the velocity is, and what both rest on.

    Attributes
    ----------
    noise : NoiseParameters
    latency_s : float
        [s]
    source : {"default", "carried over", "last time", "this session"}
    """

    noise: NoiseParameters
    latency_s: float
    source: str


def default_noise() -> KnownNoise:
    """
    Return what is taken for a receiver that nothing is known of: wide on purpose.

    Each size is the root mean square under its prior (`lapwright.motion.noise.priors`), so that a
    bar holds the receivers of the table as a whole; time constants are at their centres.
    """
    values = {}
    for name in ("white_m", "drift_m", "speed_mps", "slow_speed_mps"):
        prior = PRIORS[name]
        values[name] = prior.centre * float(np.exp(prior.log_sd**2))
    for name in ("drift_tau_s", "slow_speed_tau_s"):
        values[name] = PRIORS[name].centre
    return KnownNoise(replace(NOMINAL, **values), 0.0, "default")


def carried_over(motion: Motion) -> KnownNoise:
    """
    Return what an earlier session of the same receiver found out.

    Parameters
    ----------
    motion : Motion
        From the receiver alone.
    """
    sets = tuple(h.smoothing.noise for h in motion.hypotheses)
    weight = np.array([h.weight for h in motion.hypotheses])
    return KnownNoise(_one_for(sets, weight), motion.latency_s, "carried over")


def found_out(m: Measurements, path: ReferencePath, before: KnownNoise) -> KnownNoise:
    """
    Estimate the noise from the fixes so far, as for a whole log.

    Parameters
    ----------
    m : Measurements
    path : ReferencePath
    before : KnownNoise
        What is kept where the fixes are too few.
    """
    if len(m) < _MIN_FIXES:
        return before
    m = screen(m)
    latency_s, latency_sd_s = estimate_latency(m)
    if not is_significant(latency_s, latency_sd_s):
        latency_s = 0.0
    repeats = repeats_for_noise(path, m.time_s, m.position_m, m.speed_mps)
    found = estimate_noise(m, repeats)
    return KnownNoise(_one_for(found.parameters, found.weight), latency_s, "this session")


def _one_for(sets: tuple[NoiseParameters, ...], weight: Floats) -> NoiseParameters:
    """One set for several: variances of a mixture add up, see `stand_in`."""
    names = [f.name for f in fields(NoiseParameters)]
    values = np.array([[getattr(one, name) for name in names] for one in sets])
    # Where no velocity is sent its noise is never asked for, but it must be a number.
    speed = names.index("speed_mps")
    values[~np.isfinite(values[:, speed]), speed] = PRIORS["speed_mps"].centre
    point = np.exp(stand_in(names, np.log(np.maximum(values, 1e-9)), weight))
    one = dict(zip(names, point.tolist(), strict=True))
    if not values[:, names.index("coloured_m")].any():
        one["coloured_m"] = 0.0
    return NoiseParameters(**one)
