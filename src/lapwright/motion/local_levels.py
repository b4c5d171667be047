"""
Noise and agility that show within seconds: white errors of position and speed, acceleration.

They are read off short stretches of consecutive fixes by their likelihood under the model itself,
all stretches and all trial levels advancing through one filter together.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.measurements import Measurements
from lapwright.motion.model import NoiseLevels, axis_start_cov, axis_step, car_process_cov
from lapwright.motion.scan import innovation_weights, log_det, symmetric, transpose
from lapwright.motion.search import climb

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_STRETCH_FIXES = 48
_STRETCHES = 32
# Slow errors hardly matter within seconds; these stand in for them there.
_NOMINAL = NoiseLevels(
    white_m=0.5, drift_m=1.0, drift_tau_s=200.0, speed_mps=0.08, slow_speed_mps=0.03,
    slow_speed_tau_s=20.0, accel_mps2=5.0, accel_tau_s=2.0,
)  # fmt: skip
# Priors on the logarithms, each within a factor of about e^sd: consumer receivers from their data
# sheets (position some decimetres of white noise, speed 0.05 m/s), cars of 0.3 to 2 g.
_PRIOR_SD = {"white_m": 1.5, "speed_mps": 1.0, "accel_mps2": 0.7}


@dataclass(frozen=True, eq=False)
class _Stretches:
    """Stretches of equal length side by side, time first."""

    dt_s: Floats  # (length, count), 0 for the first fix
    value: Floats  # (length, count, m, c)
    factor: Floats  # (length, count, m)


def local_levels(m: Measurements) -> NoiseLevels:
    """
    Estimate the white noise and the agility of a session.

    Parameters
    ----------
    m : Measurements

    Returns
    -------
    NoiseLevels
        With nominal slow errors, which seconds cannot show.
    """
    starts = _starts(m)
    if len(starts) == 0:
        levels = _NOMINAL
        return replace(levels, speed_mps=np.inf) if m.kind == "none" else levels
    if m.kind == "vector":
        values = np.stack([m.position_m, m.velocity_mps], axis=1)
        factors = np.stack([m.position_factor, m.velocity_factor], axis=1)
        return _fit(_cut(m, starts, values, factors), ("white_m", "speed_mps", "accel_mps2"))
    positions = _cut(m, starts, m.position_m[:, None], m.position_factor[:, None])
    levels = _fit(positions, ("white_m", "accel_mps2"))
    if m.kind == "none":
        return replace(levels, speed_mps=np.inf)
    speed = _cut(m, starts, m.speed_mps[:, None, None], m.velocity_factor[:, None])
    return replace(levels, speed_mps=_fit_speed(speed))


def _starts(m: Measurements) -> Ints:
    """First fixes of stretches without a gap, spread over the moving part of the session."""
    n, length = len(m), _STRETCH_FIXES
    if n < length + 1:
        return np.zeros(0, dtype=np.intp)
    step = np.diff(m.time_s)
    whole = np.concatenate([[0], np.cumsum(step > 5.0 * np.median(step))])
    candidates = np.arange(0, n - length, max(1, length // 2))
    unbroken = whole[candidates + length - 1] == whole[candidates]
    leap = np.linalg.norm(m.position_m[candidates + length - 1] - m.position_m[candidates], axis=1)
    seconds = m.time_s[candidates + length - 1] - m.time_s[candidates]
    moving = leap > 3.0 * seconds
    chosen = candidates[unbroken & moving]
    if len(chosen) < 4:
        chosen = candidates[unbroken]
    pick = np.unique(np.linspace(0, len(chosen) - 1, _STRETCHES).astype(np.intp))
    return np.asarray(chosen[pick]) if len(chosen) else np.zeros(0, dtype=np.intp)


def _cut(m: Measurements, starts: Ints, value: Floats, factor: Floats) -> _Stretches:
    index = np.arange(_STRETCH_FIXES)[:, None] + starts
    dt = np.diff(m.time_s[index], axis=0, prepend=m.time_s[index[:1]])
    local = value[index]
    if len(m.position_m[0]) == value.shape[-1]:
        # Positions about each stretch's first fix, so that its start is near zero.
        local = local.copy()
        local[:, :, 0] -= local[:1, :, 0]
    return _Stretches(dt, local, factor[index])


def _fit(cut: _Stretches, names: tuple[str, ...]) -> NoiseLevels:
    has_velocity = "speed_mps" in names
    nominal = _NOMINAL if has_velocity else replace(_NOMINAL, speed_mps=np.inf)
    centre = np.log([getattr(nominal, name) for name in names])
    prior_sd = np.array([_PRIOR_SD[name] for name in names])

    def levels(point: Floats) -> NoiseLevels:
        return replace(nominal, **dict(zip(names, np.exp(point).tolist(), strict=True)))

    def log_density(points: Floats) -> Floats:
        prior = -0.5 * (((points - centre) / prior_sd) ** 2).sum(axis=1)
        return np.asarray(prior + _log_likelihood(cut, [levels(p) for p in points]))

    mode, _ = climb(log_density, centre)
    return levels(mode)


def _log_likelihood(cut: _Stretches, trials: list[NoiseLevels]) -> Floats:
    """Of all stretches, for each trial, shape (t,)."""
    length, count = cut.dt_s.shape
    f, _ = axis_step(cut.dt_s.ravel(), trials[0])
    k = f.shape[-1]
    f = f.reshape(length, count, k, k)
    # The trials differ in the car's agility only, which scales one block of the process noise.
    _, q_slow = axis_step(cut.dt_s.ravel(), trials[0])
    unit = car_process_cov(cut.dt_s.ravel(), trials[0].accel_tau_s, 1.0)
    q_slow, unit = q_slow.reshape(f.shape), unit.reshape(length, count, 3, 3)
    h = np.zeros((cut.value.shape[2], k))
    h[0, [0, 3]] = 1.0
    if len(h) == 2:
        h[1, [1, 4]] = 1.0
    white = np.array([[t.white_m, t.speed_mps][: len(h)] for t in trials]) ** 2
    agility = np.array([t.accel_mps2 for t in trials]) ** 2
    start = np.stack([axis_start_cov(t) for t in trials])
    t = len(trials)

    def step(j: int) -> tuple[Floats, Floats]:
        q = np.broadcast_to(q_slow[j], (t, count, k, k)).copy()
        q[..., :3, :3] = agility[:, None, None, None] * unit[j]
        return np.broadcast_to(f[j], q.shape), q

    cov = np.broadcast_to(start[:, None], (t, count, k, k))
    return _run(cut, step, h, white, cov)


def _run(
    cut: _Stretches,
    step: Callable[[int], tuple[Floats, Floats]],
    h: Floats,
    white_var: Floats,
    start_cov: Floats,
) -> Floats:
    """Filter all stretches under all trials at once; log likelihood of each trial."""
    t, count, k, _ = start_cov.shape
    c = cut.value.shape[-1]
    mean, cov = np.zeros((t * count, k, c)), start_cov.reshape(t * count, k, k)
    rows = np.broadcast_to(h, (t * count, *h.shape))
    out = np.zeros(t)
    for j in range(len(cut.dt_s)):
        f, q = (a.reshape(t * count, k, k) for a in step(j))
        cov = f @ cov @ transpose(f) + q
        mean = f @ mean
        seen = np.isfinite(cut.factor[j])
        seen_all = np.broadcast_to(seen, (t, *seen.shape)).reshape(t * count, -1)
        here = np.where(seen_all[..., None], rows, 0.0)
        factor = np.where(seen, cut.factor[j], 1.0)
        r = (white_var[:, None, :] * factor).reshape(t * count, -1)
        r = np.where(seen_all, r, 1.0)
        value = np.where(seen[..., None], cut.value[j], 0.0)
        value = np.broadcast_to(value, (t, *value.shape)).reshape(t * count, -1, c)
        precision, gain = innovation_weights(cov, here, r)
        innovation = value - here @ mean
        fit = np.sum(innovation * (precision @ innovation), axis=(1, 2)) - c * log_det(precision)
        out -= 0.5 * fit.reshape(t, count).sum(axis=1)
        mean = mean + gain @ innovation
        cov = symmetric(cov - gain @ (here @ cov))
    return out


def _fit_speed(cut: _Stretches) -> float:
    """White noise of a speed along the way: the speed itself as velocity and acceleration."""
    centre = np.log([_NOMINAL.speed_mps, 3.0])
    prior_sd = np.array([_PRIOR_SD["speed_mps"], _PRIOR_SD["accel_mps2"]])
    length, count = cut.dt_s.shape
    base = replace(_NOMINAL, speed_mps=np.inf)
    f = axis_step(cut.dt_s.ravel(), base)[0][:, 1:3, 1:3].reshape(length, count, 2, 2)
    unit = car_process_cov(cut.dt_s.ravel(), base.accel_tau_s, 1.0)[:, 1:, 1:]
    unit = unit.reshape(length, count, 2, 2)
    h = np.array([[1.0, 0.0]])

    def log_density(points: Floats) -> Floats:
        noise, agility = np.exp(2.0 * points.T)
        prior = -0.5 * (((points - centre) / prior_sd) ** 2).sum(axis=1)

        def step(j: int) -> tuple[Floats, Floats]:
            q = agility[:, None, None, None] * unit[j]
            return np.broadcast_to(f[j], q.shape), q

        start = np.zeros((len(points), count, 2, 2))
        start[..., 0, 0] = 60.0**2
        start[..., 1, 1] = agility[:, None]
        return np.asarray(prior + _run(cut, step, h, noise[:, None], start))

    mode, _ = climb(log_density, centre)
    return float(np.exp(mode[0]))
