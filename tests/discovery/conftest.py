"""Invented circuits, and drives round them with a receiver's noise and drift."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from lapwright.geometry import ReferencePath

Floats = NDArray[np.float64]


@dataclass
class Trace:
    """What a logger would have written, in metres, and the true station of every fix."""

    time_s: Floats
    east_m: Floats
    north_m: Floats
    true_station_m: Floats

    def __iter__(self):
        return iter((self.time_s, self.east_m, self.north_m))


def _drifting(rng: np.random.Generator, time_s: Floats, sd_m: float, tau_s: float) -> Floats:
    """A Gauss-Markov error, exact for any steps."""
    out = np.empty(len(time_s))
    out[0] = rng.normal(0.0, sd_m)
    keep = np.exp(-np.diff(time_s) / tau_s)
    kick = rng.normal(0.0, sd_m, len(keep)) * np.sqrt(1.0 - keep**2)
    for k in range(len(keep)):
        out[k + 1] = keep[k] * out[k] + kick[k]
    return out


def closed(points: list[tuple[float, float]]) -> ReferencePath:
    """A smooth path through a few points."""
    east, north = np.array(points, dtype=float).T
    return ReferencePath(east, north).resampled(2.0)


@pytest.fixture
def circuits() -> dict[str, ReferencePath]:
    """Circuits that exist nowhere."""
    return {
        # About 1.9 km, clockwise: a long straight, a hairpin, an S.
        "lark_down": closed(
            [
                (0, 0),
                (0, 250),
                (0, 500),
                (60, 580),
                (160, 560),
                (190, 460),
                (260, 400),
                (360, 420),
                (420, 340),
                (380, 260),
                (280, 240),
                (260, 160),
                (320, 80),
                (280, 0),
                (150, -60),
                (40, -70),
            ]
        ),
        # A figure of eight: crosses over itself.
        "eight": closed(
            [
                (0, 0),
                (120, 120),
                (240, 200),
                (360, 120),
                (360, -120),
                (240, -200),
                (120, -120),
                (0, 0.5),
                (-120, 120),
                (-240, 200),
                (-360, 120),
                (-360, -120),
                (-240, -200),
                (-120, -120),
            ]
        ),
    }


@pytest.fixture
def drive() -> Callable[..., Trace]:
    """Laps of a path at a speed that suits its bends, as a receiver sees them."""

    def laps(
        path: ReferencePath,
        from_laps: float = -0.4,
        to_laps: float = 6.6,
        rate_hz: float = 5.0,
        white_m: float = 0.4,
        drift_m: float = 1.0,
        tau_s: float = 200.0,
        wander_m: float = 0.3,
        fast_mps: float = 45.0,
        seed: int = 1,
    ) -> Trace:
        rng = np.random.default_rng(seed)
        step_m = 1.0
        s = np.arange(from_laps * path.length_m, to_laps * path.length_m, step_m)
        bend = np.abs(path.at(s).curvature_per_m)
        limit = np.minimum(fast_mps, np.sqrt(9.0 / np.maximum(bend, 1e-4)))
        # A car needs some way to slow down and to speed up again.
        kernel = np.hanning(81)
        speed = np.convolve(np.pad(limit, 40, mode="edge"), kernel / kernel.sum(), mode="valid")
        speed = np.minimum(speed, 1.15 * limit)
        clock = np.r_[0.0, np.cumsum(step_m / (0.5 * (speed[1:] + speed[:-1])))]
        t = np.arange(0.0, clock[-1], 1.0 / rate_hz)
        station = np.interp(t, clock, s)
        # The driver's line, different every lap, over some 60 m.
        wander = np.convolve(rng.normal(size=len(s) + 60), np.hanning(61), mode="valid")
        wander = wander_m * wander / wander.std()
        east, north = path.beside(station, np.interp(station, s, wander[: len(s)]))
        noise = [
            rng.normal(0.0, white_m, len(t)) + _drifting(rng, t, drift_m, tau_s) for _ in range(2)
        ]
        return Trace(t, east + noise[0], north + noise[1], station)

    return laps
