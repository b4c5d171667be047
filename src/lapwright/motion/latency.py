"""
How late a logged velocity is against the logged position.

Receivers filter their velocity, loggers stamp messages as they come: a tenth of a second is common
and moves a braking point by metres.  Speed differenced from positions is rough but has no delay of
its own; regressing its difference to the logged velocity on the acceleration gives the delay.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.measurements import Measurements

Floats = npt.NDArray[np.float64]

# A delay is removed when it is at least this long and this many standard deviations from none.
_MIN_S, _MIN_SDS = 0.01, 4.0
# No receiver filters for longer (common practice, no source): more is another mistake.
_LONGEST_S = 1.5
# Longer than the errors that last seconds, short enough for many blocks in a session.
_BLOCK_S = 8.0


def estimate_latency(m: Measurements) -> tuple[float, float]:
    """
    Delay of the velocity and its standard deviation.

    Parameters
    ----------
    m : Measurements

    Returns
    -------
    latency_s, sd_s : float
        Positive when the velocity is late.  (0, inf) where it cannot be told.
    """
    if m.kind == "none" or len(m) < 200:
        return 0.0, np.inf
    latency = sd = 0.0
    for _ in range(4):
        step, sd = _one_step(delayed(m, latency))
        latency = float(np.clip(latency + step, -_LONGEST_S, _LONGEST_S))
        if not np.isfinite(sd) or abs(step) < 0.2 * sd:
            break
    return (latency, sd) if np.isfinite(sd) else (0.0, np.inf)


def is_significant(latency_s: float, sd_s: float) -> bool:
    """Whether a delay is worth removing."""
    return abs(latency_s) > _MIN_S and abs(latency_s) > _MIN_SDS * sd_s


def _one_step(m: Measurements) -> tuple[float, float]:
    t = m.time_s
    usual = float(np.median(np.diff(t)))
    wide = t[4:] - t[:-4]
    span = t[3:-1] - t[1:-3]
    differenced = (m.position_m[3:-1] - m.position_m[1:-3]) / span[:, None]
    if m.kind == "vector":
        velocity = m.velocity_mps
    else:
        differenced = np.linalg.norm(differenced, axis=1, keepdims=True)
        velocity = m.speed_mps[:, None]
    accel = (velocity[4:] - velocity[:-4]) / wide[:, None]
    # Simpson's rule for the mean velocity between the same two fixes.
    residual = differenced - (velocity[1:-3] + 4.0 * velocity[2:-2] + velocity[3:-1]) / 6.0
    seen = np.isfinite(m.position_factor) & np.isfinite(m.velocity_factor)
    window = seen[4:] & seen[3:-1] & seen[2:-2] & seen[1:-3] & seen[:-4]
    good = window & (wide < 6.0 * usual) & (m.speed_mps[2:-2] > 5.0)
    if good.sum() < 100:
        return 0.0, np.inf
    a, r = accel[good], residual[good]
    size = np.linalg.norm(r, axis=1)
    keep = size < 6.0 * np.median(size)
    a, r, at = a[keep], r[keep], t[2:-2][good][keep]
    power = float((a**2).sum())
    if power <= 0.0:
        return 0.0, np.inf
    step = float((a * r).sum()) / power
    left = r - step * a
    # Neighbouring differences share fixes, slow errors last seconds: residuals are not independent
    # of each other, but sums over blocks of some seconds are.
    block = np.floor((at - at[0]) / _BLOCK_S).astype(np.intp)
    score = np.bincount(block, (a * left).sum(axis=1))
    return step, float(np.sqrt((score**2).sum())) / power


def delayed(m: Measurements, latency_s: float) -> Measurements:
    """
    Return the measurements with the velocity brought forward by a delay.

    Parameters
    ----------
    m : Measurements
    latency_s : float
        Positive when the velocity is late.

    Returns
    -------
    Measurements
        Velocities interpolated by local cubics; none across a gap.
    """
    if latency_s == 0.0:
        return m
    t, target = m.time_s, m.time_s + latency_s
    i = np.clip(np.searchsorted(t, target) - 1, 1, len(t) - 3)
    nodes = np.stack([t[i - 1], t[i], t[i + 1], t[i + 2]])
    weights = _lagrange(nodes, target)
    index = np.stack([i - 1, i, i + 1, i + 2])
    velocity = np.einsum("kn,knj->nj", weights, m.velocity_mps[index])
    speed = np.einsum("kn,kn->n", weights, m.speed_mps[index])
    factor = m.velocity_factor[index].max(axis=0)
    usual = float(np.median(np.diff(t)))
    beyond = (target < t[0]) | (target > t[-1]) | (nodes[3] - nodes[0] > 6.0 * usual)
    return replace(
        m,
        velocity_mps=velocity,
        speed_mps=np.maximum(speed, 0.0),
        velocity_factor=np.where(beyond, np.inf, factor),
    )


def _lagrange(nodes: Floats, target: Floats) -> Floats:
    """Weights of cubic interpolation at four nodes each, shape (4, n)."""
    out = np.ones_like(nodes)
    for j in range(4):
        for k in range(4):
            if k != j:
                out[j] *= (target - nodes[k]) / (nodes[j] - nodes[k])
    return out
