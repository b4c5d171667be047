"""
A sensor that died: from a moment on one and the same value, none, or none that can be.

Only from a moment on: a column that is constant or empty all along belongs to a sensor that the car
has not got.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.car.places import Places
from lapwright.car.watched import PRESSURE_UNITS, Watched

Floats = npt.NDArray[np.float64]

# For so long, while the car moves. [s]
_CONSTANT_S, _MISSING_S, _IMPOSSIBLE_S = 30.0, 20.0, 10.0
# It was alive before for so long. [s]
_ALIVE_S = 60.0
# So many changes would have come in the time that it stood still, at the rate of the minute before:
# a temperature that has settled stands still for minutes too.
_CHANGES = 30.0
# What no engine has (common practice, no source): in °C, in bar, in volts, in 1/min.
_TEMPERATURE_C, _PRESSURE_BAR = (-45.0, 200.0), (-1.1, 20.0)
_BATTERY_V, _RPM = (5.0, 32.0), (-1.0, 25_000.0)
# Any unit of temperature.
_ANY_TEMPERATURE = (-60.0, 480.0)
# NIST SP 811, exact but for psi, which is to five digits.
_PER_BAR = {"bar": 1.0, "kpa": 100.0, "psi": 14.504, "mbar": 1000.0, "hpa": 1000.0, "pa": 1e5}


@dataclass(frozen=True, slots=True)
class DeadSensor:
    """
    From when on a sensor was dead, and how that shows.

    Attributes
    ----------
    how : {"constant", "missing", "impossible"}
    from_s, from_sd_s : float
        The first value that was wrong, or should have come, and its sd. [s]
    value : float
        What it stood at; NaN where it is missing.
    """

    how: str
    from_s: float
    from_sd_s: float
    value: float


def dead_sensor(channel: Watched, places: Places) -> DeadSensor | None:
    """
    Look whether a sensor died.

    Parameters
    ----------
    channel : Watched
    places : Places

    Returns
    -------
    DeadSensor or None
    """
    moved = places.moving_s(channel.time_s)
    end = float(places.moving_s(places.mapped.time_s[-1]))
    sd = 12.0**-0.5 * channel.step_s
    if moved[-1] < _ALIVE_S:
        return None
    bad = _first_impossible(channel)
    if bad is not None and moved[bad] >= _ALIVE_S and end - moved[bad] >= _IMPOSSIBLE_S:
        value = float(np.median(channel.value[bad:]))
        return DeadSensor("impossible", float(channel.time_s[bad]), sd, value)
    if end - moved[-1] >= max(_MISSING_S, 50.0 * channel.step_s):
        return DeadSensor("missing", float(channel.time_s[-1]) + channel.step_s, sd, np.nan)
    return _constant(channel, moved, sd)


def _constant(channel: Watched, moved: Floats, sd_s: float) -> DeadSensor | None:
    changes = np.flatnonzero(np.diff(channel.value))
    if not len(changes):
        return None
    first = int(changes[-1]) + 1
    stood_s = float(moved[-1] - moved[first])
    if stood_s < _CONSTANT_S or moved[first] < _ALIVE_S:
        return None
    before = int(np.searchsorted(moved, moved[first] - _ALIVE_S))
    rate = np.count_nonzero((changes >= before) & (changes < first - 1)) / _ALIVE_S
    if rate * stood_s < _CHANGES:
        return None
    return DeadSensor("constant", float(channel.time_s[first]), sd_s, float(channel.value[first]))


def _first_impossible(channel: Watched) -> int | None:
    """First value from which on none is possible, or None."""
    low, high = _possible(channel)
    good = np.flatnonzero((channel.value >= low) & (channel.value <= high))
    if not len(good) or good[-1] == len(channel.value) - 1:
        return None
    return int(good[-1]) + 1


def _possible(channel: Watched) -> tuple[float, float]:
    unit = channel.unit.casefold()
    if channel.kind in ("oil_temperature", "water_temperature"):
        low, high = _TEMPERATURE_C
        if unit in ("°c", "c", "degc", "celsius"):
            return low, high
        if unit in ("°f", "f", "degf", "fahrenheit"):
            return 1.8 * low + 32.0, 1.8 * high + 32.0
        return _ANY_TEMPERATURE
    if channel.kind in ("oil_pressure", "fuel_pressure") and unit in PRESSURE_UNITS:
        # Some give it with the air's pressure, some without.
        return _PRESSURE_BAR[0] * _PER_BAR[unit], _PRESSURE_BAR[1] * _PER_BAR[unit]
    if channel.kind == "battery":
        return _BATTERY_V
    return _RPM if channel.kind == "rpm" else (-np.inf, np.inf)
