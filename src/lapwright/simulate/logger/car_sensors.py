"""
Sensors on the car that fit the motion: oil, water, fuel, battery, wheel speeds; and their faults.

They come from random numbers of their own, so that a log with them has the same fixes and the
same pedals as one without.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.simulate.logger import noise
from lapwright.simulate.truth import TrueRun

Floats = npt.NDArray[np.float64]

AMBIENT_C, OIL_C, WATER_C = 20.0, 102.0, 86.0
# How long oil and water take to warm up. [s]
OIL_TAU_S, WATER_TAU_S = 150.0, 100.0
RELIEF_BAR, IDLE_BAR, BAR_PER_1000RPM = 4.6, 0.7, 0.62
# A gauge at the end of a pipe follows the pump with a delay. [s]
GAUGE_S = 0.3
FAULTS = ("held", "blank", "wild")


@dataclass(frozen=True, slots=True)
class CarSensors:
    """
    What is wrong with a car and its sensors; as it comes, nothing.

    Attributes
    ----------
    surge_bar : float
        What the oil pressure loses where the pick-up runs dry. [bar]
    surge_side : {"left", "right"}
        In turns to which side.
    surge_mps2, surge_after_s : float
        After how long of how much lateral acceleration. [m/s², s]
    oil_rising_c_per_s : float
        What the oil goes on gaining for ever. [K/s]
    dead : tuple of (str, float, str)
        Sensors that die: name, when on the run's clock [s], and how: "held" at the last value,
        "blank", or "wild", at the end of its range.
    """

    surge_bar: float = 0.0
    surge_side: str = "right"
    surge_mps2: float = 6.0
    surge_after_s: float = 1.0
    oil_rising_c_per_s: float = 0.0
    dead: tuple[tuple[str, float, str], ...] = ()

    def __post_init__(self) -> None:
        for name, _, how in self.dead:
            if how not in FAULTS:
                msg = f"{name}: a sensor dies in one of {FAULTS}, not {how!r}"
                raise ValueError(msg)


def car_channels(
    run: TrueRun, time_s: Floats, rpm: Floats, sensors: CarSensors, rng: np.random.Generator
) -> pd.DataFrame:
    """
    Readings at given times.

    Parameters
    ----------
    run : TrueRun
    time_s : ndarray, shape (n,)
        Evenly spaced. [s]
    rpm : ndarray, shape (n,)
    sensors : CarSensors
    rng : Generator

    Returns
    -------
    DataFrame
        ``oil_pressure_bar``, ``oil_temp_c``, ``water_temp_c``, ``fuel_pressure_bar``,
        ``battery_v``, ``wheel_fl_kmh``, ``wheel_fr_kmh``.
    """
    count, step_s = len(time_s), float(np.median(np.diff(time_s)))
    oil_c = OIL_C + (AMBIENT_C - OIL_C) * np.exp(-time_s / OIL_TAU_S)
    oil_c = oil_c + sensors.oil_rising_c_per_s * time_s
    water_c = WATER_C + (AMBIENT_C - WATER_C) * np.exp(-time_s / WATER_TAU_S)
    pump_bar = np.minimum(RELIEF_BAR, IDLE_BAR + BAR_PER_1000RPM * rpm / 1000.0)
    pump_bar *= 1.0 - 0.004 * (oil_c - OIL_C)
    pump_bar -= sensors.surge_bar * dry(run, time_s, sensors)
    gauge_bar = noise.low_passed(pump_bar[:, None], step_s, GAUGE_S)[:, 0]
    slow = noise.gauss_markov(rng, count, step_s, 0.04, 15.0)
    speed_kmh = 3.6 * run.speed(time_s)
    columns: dict[str, Floats] = {
        "oil_pressure_bar": np.round(gauge_bar + slow + rng.normal(0, 0.03, count), 2),
        "oil_temp_c": np.round(oil_c + rng.normal(0, 0.1, count), 1),
        "water_temp_c": np.round(water_c + rng.normal(0, 0.2, count), 1),
        "fuel_pressure_bar": np.round(3.5 + rng.normal(0, 0.03, count), 2),
        "battery_v": np.round(13.9 - 0.5 * (rpm < 1500.0) + rng.normal(0, 0.03, count), 2),
        "wheel_fl_kmh": _wheel(speed_kmh, rng),
        "wheel_fr_kmh": _wheel(speed_kmh, rng),
    }
    for name, from_s, how in sensors.dead:
        columns[name] = _died(columns[name], time_s >= from_s, how)
    return pd.DataFrame(columns)


def _wheel(speed_kmh: Floats, rng: np.random.Generator) -> Floats:
    turned = np.abs(speed_kmh + rng.normal(0, 0.2, len(speed_kmh)))
    return np.asarray(np.round(turned, 1), dtype=np.float64)


def dry(run: TrueRun, time_s: Floats, sensors: CarSensors) -> Floats:
    """Where the pick-up runs dry, shape (n,): 1 there, 0 elsewhere."""
    across = run.along_across(time_s)[1] * (1.0 if sensors.surge_side == "left" else -1.0)
    loaded = across > sensors.surge_mps2
    begins = loaded & ~np.r_[False, loaded[:-1]]
    since = time_s - np.maximum.accumulate(np.where(begins, time_s, -np.inf))
    return np.asarray(loaded & (since >= sensors.surge_after_s), dtype=np.float64)


def _died(values: Floats, after: npt.NDArray[np.bool_], how: str) -> Floats:
    if not after.any():
        return values
    first = int(np.argmax(after))
    end = {"held": values[max(first - 1, 0)], "blank": np.nan, "wild": 999.0}[how]
    return np.where(after, end, values)
