"""
What shows within seconds: white errors of position and speed, and the manoeuvre standard deviation.

They are read off short stretches of consecutive fixes by their likelihood under the model itself,
all stretches and all trial parameters advancing through one filter together.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters, axis_start_cov, axis_step
from lapwright.motion.measurements import Measurements
from lapwright.numerics.batched_systems import (
    Entries,
    Row,
    apply,
    at_step,
    log_fit,
    predict,
    take_in,
)
from lapwright.numerics.importance_sampling import climb

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Together 1500 fixes: white noise to some 2 % at best, 1 / sqrt(2 n), in one pass of 48 steps.
_STRETCH_FIXES = 48
_STRETCHES = 32
# Slow errors hardly matter within seconds; these stand in for them there.
NOMINAL = NoiseParameters(
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
    value: Floats  # (length, m, c, count)
    factor: Floats  # (length, m, count)


def short_term_noise(m: Measurements) -> NoiseParameters:
    """
    Estimate the white noise and the manoeuvre standard deviation of a session.

    Parameters
    ----------
    m : Measurements

    Returns
    -------
    NoiseParameters
        With nominal slow errors, which seconds cannot show.
    """
    starts = _starts(m)
    if len(starts) == 0:
        return replace(NOMINAL, speed_mps=np.inf) if m.kind == "none" else NOMINAL
    if m.kind == "vector":
        values = np.stack([m.position_m, m.velocity_mps], axis=1)
        factors = np.stack([m.position_factor, m.velocity_factor], axis=1)
        return _fit(_cut(m, starts, values, factors), ("white_m", "speed_mps", "accel_mps2"))
    positions = _cut(m, starts, m.position_m[:, None], m.position_factor[:, None])
    found = _fit(positions, ("white_m", "accel_mps2"))
    if m.kind == "none":
        return replace(found, speed_mps=np.inf)
    speed = _cut(m, starts, m.speed_mps[:, None, None], m.velocity_factor[:, None])
    return replace(found, speed_mps=_fit_speed(speed))


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
    return _Stretches(dt, np.moveaxis(local, 1, -1), np.moveaxis(factor[index], 1, -1))


def _fit(cut: _Stretches, names: tuple[str, ...]) -> NoiseParameters:
    has_velocity = "speed_mps" in names
    nominal = NOMINAL if has_velocity else replace(NOMINAL, speed_mps=np.inf)
    centre = np.log([getattr(nominal, name) for name in names])
    prior_sd = np.array([_PRIOR_SD[name] for name in names])

    def parameters(point: Floats) -> NoiseParameters:
        return replace(nominal, **dict(zip(names, np.exp(point).tolist(), strict=True)))

    def log_density(points: Floats) -> Floats:
        prior = -0.5 * (((points - centre) / prior_sd) ** 2).sum(axis=1)
        return np.asarray(prior + _log_likelihood(cut, [parameters(p) for p in points]))

    mode, _ = climb(log_density, centre)
    return parameters(mode)


def _log_likelihood(cut: _Stretches, trials: list[NoiseParameters]) -> Floats:
    """Of all stretches, for each trial, shape (t,)."""
    f, q = axis_step(cut.dt_s.ravel(), trials[0])
    rows: tuple[Row, ...] = (((0, None), (3, None)), ((1, None), (4, None)))
    white = np.array([[t.white_m, t.speed_mps][: cut.value.shape[1]] for t in trials]) ** 2
    # The trials differ in the manoeuvre standard deviation only, which scales one block of Q.
    accel_var_ratio = np.array([t.accel_mps2 for t in trials]) ** 2 / trials[0].accel_mps2 ** 2
    scaled = {(i, j): accel_var_ratio if i < 3 else np.ones(len(trials)) for i, j in q.values}
    start = np.stack([axis_start_cov(t) for t in trials], axis=-1)
    return _run(cut, f, q, scaled, rows[: white.shape[1]], white, start)


def _run(
    cut: _Stretches, f: Entries, q: Entries, scale: dict[tuple[int, int], Floats],
    rows: tuple[Row, ...], white_var: Floats, start_cov: Floats,
) -> Floats:  # fmt: skip
    """
    Filter all stretches under all trials at once; log likelihood of each trial.

    ``scale``, shape (t,) each, multiplies entries of the process noise, which like the transition
    are given for every step of every stretch; ``start_cov`` has shape (k, k, t).
    """
    length, count = cut.dt_s.shape
    t, c = len(white_var), cut.value.shape[2]

    def lanes(values: Floats) -> Floats:
        """Shape (..., t or 1, count) to (..., t * count)."""
        shape = (*values.shape[:-2], t, count)
        return np.broadcast_to(values, shape).reshape(*shape[:-2], t * count)

    def entries(of: Entries, factor: dict[tuple[int, int], Floats] | None) -> tuple[Row, ...]:
        values = {}
        for place, value in of.values.items():
            stretched = value.reshape(length, 1, count)
            if factor is not None:
                stretched = stretched * factor[place][:, None]
            values[place] = lanes(stretched)
        return Entries(of.shape, values).rows()

    transition, process = entries(f, None), entries(q, scale)
    value = lanes(cut.value[:, :, :, None])
    var = lanes(cut.factor[:, :, None] * white_var.T[:, :, None])
    cov = lanes(start_cov[..., None])
    mean = np.zeros((len(cov), c, t * count))
    out = np.zeros(t * count)
    for j in range(length):
        step = at_step(transition, j)
        _, cov = predict(step, at_step(process, j), cov)
        mean = apply(step, mean)
        for i, row in enumerate(rows):
            precision, _, innovation = take_in(row, var[j, i], value[j, i], mean, cov)
            out += log_fit(precision, innovation)
    return np.asarray(out.reshape(t, count).sum(axis=1))


def _fit_speed(cut: _Stretches) -> float:
    """White noise of a speed along the way: the speed itself as velocity and acceleration."""
    centre = np.log([NOMINAL.speed_mps, 3.0])
    prior_sd = np.array([_PRIOR_SD["speed_mps"], _PRIOR_SD["accel_mps2"]])
    base = replace(NOMINAL, speed_mps=np.inf, accel_mps2=1.0)
    f, q = (_without_position(e) for e in axis_step(cut.dt_s.ravel(), base))

    def log_density(points: Floats) -> Floats:
        speed_var, accel_var = np.exp(2.0 * points.T)
        prior = -0.5 * (((points - centre) / prior_sd) ** 2).sum(axis=1)
        start = np.zeros((2, 2, len(points)))
        start[0, 0], start[1, 1] = 60.0**2, accel_var
        scale = dict.fromkeys(q.values, accel_var)
        rows: tuple[Row, ...] = (((0, None),),)
        return np.asarray(prior + _run(cut, f, q, scale, rows, speed_var[:, None], start))

    mode, _ = climb(log_density, centre)
    return float(np.exp(mode[0]))


def _without_position(entries: Entries) -> Entries:
    """The part of an axis that is velocity and acceleration."""
    kept = {(i - 1, j - 1): v for (i, j), v in entries.values.items() if {i, j} <= {1, 2}}
    return Entries((2, 2), kept)
