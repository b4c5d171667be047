"""A smooth drive in closed form, and what a receiver of the kind the model knows makes of it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from lapwright.motion.measurements import Measurements

Floats = npt.NDArray[np.float64]
Kind = Literal["vector", "speed", "none"]


@dataclass(frozen=True)
class Drive:
    """
    Laps of 60 s round a closed curve, braking and accelerating, every lap the same.

    Place is ``r (cos, sin)`` with radius and angle periodic in time: derivatives are exact.
    Speeds from 18 to 46 m/s, accelerations up to 1 g.
    """

    lap_s: float = 60.0

    def _polar(self, time_s: Floats) -> tuple[Floats, ...]:
        w = 2.0 * np.pi / self.lap_s
        t = w * time_s
        radius = 290.0 + 45.0 * np.cos(2.0 * t + 1.0) + 9.0 * np.cos(5.0 * t)
        rate = w * (-90.0 * np.sin(2.0 * t + 1.0) - 45.0 * np.sin(5.0 * t))
        angle = t + 0.10 * np.sin(3.0 * t)
        turn = w * (1.0 + 0.30 * np.cos(3.0 * t))
        return radius, rate, angle, turn

    def position(self, time_s: Floats) -> Floats:
        """East and north, shape (k, 2). [m]"""
        radius, _, angle, _ = self._polar(time_s)
        return radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)

    def velocity(self, time_s: Floats) -> Floats:
        """East and north, shape (k, 2). [m/s]"""
        radius, rate, angle, turn = self._polar(time_s)
        along = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        across = np.stack([-np.sin(angle), np.cos(angle)], axis=-1)
        return rate[:, None] * along + (radius * turn)[:, None] * across


def wander(rng: np.random.Generator, time_s: Floats, sd: float, tau_s: float) -> Floats:
    """First-order Gauss-Markov errors of two axes, shape (n, 2)."""
    out = np.empty((len(time_s), 2))
    out[0] = sd * rng.standard_normal(2)
    kept = np.exp(-np.diff(time_s) / tau_s)
    new = sd * np.sqrt(1.0 - kept**2)[:, None] * rng.standard_normal((len(time_s) - 1, 2))
    for i in range(len(time_s) - 1):
        out[i + 1] = kept[i] * out[i] + new[i]
    return out


def lapped(
    seed: int, rate_hz: float, kind: Kind, *, seconds: float = 610.0, white: float = 0.3,
    drift: float = 1.0, drift_tau_s: float = 200.0, speed_noise: float = 0.05,
    slow: float = 0.02, slow_tau_s: float = 20.0, velocity_late_s: float = 0.0,
    gaps: tuple[tuple[float, float], ...] = (), drive: Drive | None = None,
) -> tuple[Measurements, Drive]:  # fmt: skip
    """Draw one session; ``speed_noise`` 0 leaves the velocity exact."""
    rng = np.random.default_rng([seed, 77])
    drive = drive or Drive()
    time = np.arange(0.0, seconds, 1.0 / rate_hz)
    for begin, end in gaps:
        time = time[(time < begin) | (time >= end)]
    n = len(time)
    position = drive.position(time) + wander(rng, time, drift, drift_tau_s)
    position += white * rng.standard_normal((n, 2))
    velocity = drive.velocity(time - velocity_late_s)
    if speed_noise:
        velocity += speed_noise * rng.standard_normal((n, 2))
        velocity += wander(rng, time, slow, slow_tau_s)
    speed = np.hypot(velocity[:, 0], velocity[:, 1])
    factor = np.full(n, np.inf) if kind == "none" else np.ones(n)
    m = Measurements(
        time, position, np.ones(n), kind, velocity if kind == "vector" else np.zeros((n, 2)),
        speed if kind != "none" else np.zeros(n), factor, None,
    )  # fmt: skip
    return m, drive
