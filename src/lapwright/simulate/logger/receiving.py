"""
Receive a run: what becomes of the truth on its way into a log.

`receive` draws one set of errors for a run; the run itself is used again and
again, which is what makes tests over hundreds of sessions cheap.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.log import Log
from lapwright.simulate.logger import noise
from lapwright.simulate.logger.car_sensors import CarSensors, car_channels
from lapwright.simulate.logger.channels import engine_channels
from lapwright.simulate.logger.receiver import ORDINARY, Receiver
from lapwright.simulate.truth import TrueRun

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

_UNITS = {"bar": "bar", "c": "°C", "v": "V", "kmh": "km/h"}
_ROLES = ("rpm", "throttle", "brake", "steering")


@dataclass(frozen=True, eq=False)
class Recording:
    """
    One log of a run, as received.

    Attributes
    ----------
    fixes : DataFrame
        In order of time, one row a fix: ``true_time_s`` (when it was taken, on the run's
        axis), ``stamp_s`` (as logged, on the same axis), ``lat_deg``, ``lon_deg``,
        ``height_m``, ``frozen``, ``spike``, and where logged ``speed_mps``, ``course_deg``,
        ``position_sd_m``, and the engine's channels.
    """

    run: TrueRun
    receiver: Receiver
    seed: int
    fixes: pd.DataFrame
    channel_names: tuple[str, ...] = ()

    @property
    def zero_s(self) -> float:
        """The first fix on the run's axis: run time = log time + this [s]."""
        return float(self.fixes["stamp_s"].iloc[0])

    def log(self) -> Log:
        """
        Make the log that a reader would make of it, without a file in between.

        Of fixes with one and the same stamp the first is kept.
        """
        rows = self.fixes
        stamp = rows["stamp_s"].to_numpy()
        keep = np.r_[True, np.diff(stamp) > 0]
        rows = rows[keep].reset_index(drop=True)
        names = ["lat_deg", "lon_deg", "frozen", "height_m"]
        names += [n for n in ("speed_mps", "course_deg", "position_sd_m") if n in rows]
        fixes = rows[names].copy()
        fixes.insert(0, "line", np.flatnonzero(keep) + 2)
        fixes.insert(1, "time_s", stamp[keep] - stamp[0])
        order = ["line", "time_s", "lat_deg", "lon_deg", "frozen"]
        fixes = fixes[order + [n for n in fixes.columns if n not in order]]
        channels = pd.concat([fixes[["line", "time_s"]], rows[list(self.channel_names)]], axis=1)
        roles = {n.split("_")[0]: n for n in self.channel_names if n.split("_")[0] in _ROLES}
        sensors = [n for n in self.channel_names if n not in roles.values()]
        units: dict[str, str | None] = {n: _UNITS.get(n.split("_")[-1]) for n in sensors}
        return Log(
            path=Path("simulated.csv"),
            reader="simulated",
            fixes=fixes,
            channels=channels,
            time_scale="relative",
            first_fix_s=self.zero_s,
            start_utc=None,
            rate_hz=float(self.receiver.rate_hz),
            own_clock=self.receiver.clock_ppm != 0.0,
            channel_units=units,
            roles=roles,
        )


def receive(
    run: TrueRun, receiver: Receiver = ORDINARY, seed: int = 0, *, engine: bool = False,
    sensors: CarSensors | None = None,
) -> Recording:  # fmt: skip
    """
    Draw one log of a run.

    Parameters
    ----------
    run : TrueRun
    receiver : Receiver
    seed : int
        The same seed gives the same errors.
    engine : bool
        Whether the logger records ``rpm``, ``throttle_pct``, ``brake_bar`` and
        ``steering_deg``.
    sensors : CarSensors, optional
        Whether it also records the car's sensors, which needs `engine`.

    Returns
    -------
    recording : Recording
    """
    rng = np.random.default_rng([7404, seed])
    step = 1.0 / receiver.rate_hz
    time_s = _instants(run, receiver, rng)
    place = np.asarray(run.position(time_s)) + _position_error(len(time_s), step, receiver, rng)
    if receiver.filter_s > 0:
        place = noise.tracked(place, step, receiver.filter_s)
    spike = np.zeros(len(time_s), dtype=bool)
    if receiver.spikes:
        spike[rng.choice(len(time_s), receiver.spikes, replace=False)] = True
        angle, size = rng.uniform(0, 2 * np.pi, len(time_s)), rng.uniform(20, 80, len(time_s))
        place[spike] += (np.column_stack([np.cos(angle), np.sin(angle)]) * size[:, None])[spike]
    frozen = _stretches(time_s, receiver.frozen, rng)
    source = np.maximum.accumulate(np.where(frozen, 0, np.arange(len(time_s))))
    degrees = run.circuit.to_degrees(place)[source]
    if receiver.degree_decimals is not None:
        degrees = np.round(degrees, receiver.degree_decimals)
    stamp = time_s + rng.normal(0, 1, len(time_s)) * receiver.stamp_error_s
    stamp = np.maximum.accumulate(stamp) * (1.0 + 1e-6 * _clock_ppm(receiver, seed))
    if receiver.stamp_step_s > 0:
        stamp = np.round(stamp / receiver.stamp_step_s) * receiver.stamp_step_s
    columns: dict[str, Floats | Bools] = {
        "true_time_s": time_s,
        "stamp_s": stamp,
        "lat_deg": degrees[:, 0],
        "lon_deg": degrees[:, 1],
        "height_m": run.circuit.height_m + noise.gauss_markov(rng, len(time_s), step, 2.0, 120.0),
        "frozen": frozen,
        "spike": spike,
    }
    columns |= _velocity_columns(run, receiver, time_s, place, rng)
    if receiver.accuracy_scale is not None:
        sd = np.hypot(receiver.white_m, np.mean(receiver.drift_m)) * receiver.accuracy_scale
        columns["position_sd_m"] = sd * np.exp(
            noise.gauss_markov(rng, len(time_s), step, 0.1, 60.0)
        )
    names: tuple[str, ...] = ()
    if engine:
        extra = engine_channels(run, time_s, rng)
        names = tuple(str(n) for n in extra.columns)
        columns |= {n: extra[n].to_numpy() for n in names}
        if sensors is not None:
            own = np.random.default_rng([7406, seed])
            more = car_channels(run, time_s, extra["rpm"].to_numpy(float), sensors, own)
            names += tuple(str(n) for n in more.columns)
            columns |= {str(n): more[n].to_numpy() for n in more}
    keep = rng.random(len(time_s)) >= receiver.missing
    keep &= ~_stretches(time_s, receiver.dropouts, rng)
    for begin, length in receiver.gaps:
        keep &= (time_s < begin) | (time_s > begin + length)
    fixes = pd.DataFrame(columns)[keep].reset_index(drop=True)
    return Recording(run, receiver, seed, fixes, names)


def _instants(run: TrueRun, receiver: Receiver, rng: np.random.Generator) -> Floats:
    """When the fixes are taken, on the run's axis."""
    step = 1.0 / receiver.rate_hz
    # On a whole millisecond, as loggers write their stamps.
    first = np.ceil(1e3 * (receiver.no_fix_s + rng.uniform(0.0, step))) / 1e3
    time_s = np.arange(first, run.duration_s, step)
    shake = np.clip(rng.normal(0, 1, len(time_s)) * receiver.jitter_s, -0.45 * step, 0.45 * step)
    return np.clip(time_s + shake, 0.0, run.duration_s)


def _clock_ppm(receiver: Receiver, seed: int) -> float:
    """By how much the logger's clock is fast; drawn apart, so that other errors stay the same."""
    if not isinstance(receiver.clock_ppm, tuple):
        return receiver.clock_ppm
    rng = np.random.default_rng([7405, seed])
    return float(rng.uniform(*receiver.clock_ppm) * rng.choice([-1.0, 1.0]))


def _pair(value: float | tuple[float, float]) -> tuple[float, float]:
    return value if isinstance(value, tuple) else (value, value)


def _position_error(
    count: int, step_s: float, receiver: Receiver, rng: np.random.Generator
) -> Floats:
    """White error and drift, shape (count, 2) [m]."""
    error = np.empty((count, 2))
    sds, taus = _pair(receiver.drift_m), _pair(receiver.drift_tau_s)
    begins = rng.uniform(0, count * step_s, receiver.drift_steps)
    clock = np.arange(count) * step_s
    for axis in (0, 1):
        if receiver.white_kind == "student":
            white = noise.student(rng, count, receiver.white_m, receiver.white_freedom)
        elif receiver.white_kind == "coloured":
            white = noise.coloured(rng, count, receiver.white_m, receiver.white_share)
        else:
            white = rng.normal(0, 1, count) * receiver.white_m
        error[:, axis] = white + noise.gauss_markov(rng, count, step_s, sds[axis], taus[axis])
        if receiver.coloured_m > 0:
            sd, tau = receiver.coloured_m, receiver.coloured_tau_s
            error[:, axis] += noise.gauss_markov(rng, count, step_s, sd, tau)
        for begin in begins:
            since = clock - begin
            size = rng.normal(0, 1) * receiver.drift_step_m
            error[:, axis] += np.where(since >= 0, size * np.exp(-np.abs(since) / taus[axis]), 0.0)
    return error


def _velocity_columns(
    run: TrueRun, receiver: Receiver, time_s: Floats, place_m: Floats, rng: np.random.Generator
) -> dict[str, Floats | Bools]:
    """Speed and course as logged; `place_m` are the positions as received, shape (n, 2)."""
    step_s = 1.0 / receiver.rate_hz
    velocity = _true_velocity(run, receiver, time_s)
    for axis in (0, 1):
        slow = noise.gauss_markov(rng, len(time_s), step_s, receiver.slow_mps, receiver.slow_tau_s)
        velocity[:, axis] += rng.normal(0, 1, len(time_s)) * receiver.doppler_mps + slow
    if receiver.velocity_source == "positions":
        velocity = _differenced(time_s, place_m, step_s, receiver.speed_filter_s)
    columns: dict[str, Floats | Bools] = {}
    if receiver.velocity != "none":
        columns["speed_mps"] = np.hypot(velocity[:, 0], velocity[:, 1])
    if receiver.velocity == "both":
        # Clockwise from true north; the plane's north is true north to 1e-4 of a degree here.
        course = np.degrees(np.arctan2(velocity[:, 0], velocity[:, 1]))
        columns["course_deg"] = np.mod(course, 360.0)
    return columns


def _true_velocity(run: TrueRun, receiver: Receiver, time_s: Floats) -> Floats:
    """The car's velocity as late and as smooth as the logger has it, shape (n, 2)."""
    at = np.clip(time_s - receiver.latency_s, 0.0, run.duration_s)
    if receiver.speed_filter_s <= 0:
        return np.asarray(run.velocity(at))
    fine = np.arange(0.0, run.duration_s, 0.05)
    smooth = noise.low_passed(run.velocity(fine), 0.05, receiver.speed_filter_s)
    return np.stack([np.interp(at, fine, smooth[:, i]) for i in (0, 1)], axis=-1)


def _differenced(time_s: Floats, place_m: Floats, step_s: float, filter_s: float) -> Floats:
    """Velocity from each position and the one before, through a low-pass; shape (n, 2)."""
    since = np.maximum(np.diff(time_s), 0.2 * step_s)
    moved = np.diff(place_m, axis=0) / since[:, None]
    velocity = np.concatenate([moved[:1], moved])
    return noise.low_passed(velocity, step_s, filter_s) if filter_s > 0 else velocity


def _stretches(time_s: Floats, wanted: tuple[int, float, float], rng: np.random.Generator) -> Bools:
    """True within so many stretches at random places, of lengths between two bounds."""
    inside = np.zeros(len(time_s), dtype=bool)
    count, shortest, longest = wanted
    for _ in range(count):
        begin = rng.uniform(time_s[0] + 5.0, time_s[-1] - longest)
        inside |= (time_s >= begin) & (time_s < begin + rng.uniform(shortest, longest))
    inside[0] = False
    return inside
