"""From a log to its motion: screening, delay, noise parameters, smoothing, reweighting."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from lapwright.ingest.log import Log
from lapwright.kept import Keep, not_kept
from lapwright.motion.clock_rate import rate_sd
from lapwright.motion.hypothesis import Hypothesis
from lapwright.motion.kalman.smoothing import Smoothing
from lapwright.motion.kalman.state_space import smooth_under_each
from lapwright.motion.latency import delayed, estimate_latency, is_significant
from lapwright.motion.measurements import Measurements, measurements
from lapwright.motion.motion import Motion
from lapwright.motion.noise.estimate import NoiseEstimate, estimate_noise
from lapwright.motion.noise.restricted_likelihood import RepeatedMeasures
from lapwright.motion.outliers import residual_factors, screen
from lapwright.plane import Plane

Floats = npt.NDArray[np.float64]

# Sets of noise parameters carried along: five, but fewer for long records, which know their noise
# better and cost more.
_MAX_BY_FIXES = ((20_000, 5), (45_000, 3))


def estimate_motion(
    log: Log,
    plane: Plane,
    repeats: RepeatedMeasures | Callable[[], RepeatedMeasures | None] | None = None,
    keep: Keep = not_kept,
) -> Motion:
    """
    Estimate how the car moved.

    Parameters
    ----------
    log : Log
    plane : Plane
    repeats : RepeatedMeasures, or a function that finds them, optional
        Places passed more than once, which show the receiver's drift.
    keep : Keep, optional
        Where the noise parameters are kept, for the same log and the same repeats.

    Returns
    -------
    Motion
    """
    m = measurements(log, plane)
    motion = motion_from(m, plane, repeats, keep)
    return replace(motion, clock_rate_sd=rate_sd(log))


def motion_from(
    m: Measurements,
    plane: Plane,
    repeats: RepeatedMeasures | Callable[[], RepeatedMeasures | None] | None = None,
    keep: Keep = not_kept,
) -> Motion:
    """Estimate the motion from measurements on a plane; see `estimate_motion`."""
    m = screen(m)
    latency, latency_sd = keep("latency", lambda: estimate_latency(m))
    if not is_significant(latency, latency_sd):
        latency = latency_sd = 0.0
    m = timely = delayed(m, latency)
    most = next((k for n, k in _MAX_BY_FIXES if len(m) <= n), 1)

    def find() -> NoiseEstimate:
        return estimate_noise(timely, repeats() if callable(repeats) else repeats, most)

    noise = keep("noise parameters", find)
    smoothings = _reweighted(m, noise)
    hypotheses = tuple(
        Hypothesis(float(w), s) for w, s in zip(noise.weight, smoothings, strict=True)
    )
    return Motion(plane, hypotheses, noise.sources, latency, latency_sd)


def _reweighted(m: Measurements, noise: NoiseEstimate) -> list[Smoothing]:
    """Smooth under all parameters, until no residual of the central ones asks for other weights."""

    def smoothed(weighted: Measurements, which: slice) -> list[Smoothing]:
        return smooth_under_each(
            weighted, noise.parameters[which], noise.direction, noise.cross_var
        )

    # Mostly the weights of the screening stand: then this was all.
    first, *others = smoothed(m, slice(None))
    used = m
    for _ in range(2):
        position, velocity = residual_factors(first, m)
        again = m.weighted(position, velocity)
        # A few mild ones move nothing; a wild one does.
        if not _differs(again.position_factor, used.position_factor) and not _differs(
            again.velocity_factor, used.velocity_factor
        ):
            break
        used = again
        (first,) = smoothed(used, slice(1))
    return [first, *(others if used is m else smoothed(used, slice(1, None)))]


def _differs(new: Floats, old: Floats) -> bool:
    finite = np.isfinite(new) & np.isfinite(old)
    ratio = new[finite] / old[finite]
    return bool(np.any((ratio > 16.0) | (ratio < 1.0 / 16.0)))
