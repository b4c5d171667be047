"""
Which columns of a log tell of the car, what each of them measures, and how exactly.

By general words of the trade and by units; a column that is not understood and has a unit or a word
of the engine is watched under its own name.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.csv.header_words import plain
from lapwright.ingest.log import Log
from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]

# Words in the names of channels worth an eye on: temperatures, pressures, revs, volts.
_ENGINE_WORDS = (
    "rpm", "rev", "temp", "coolant", "water", "oil", "pressure", "volt", "battery", "fuel", "boost",
    "exhaust", "egt", "lambda", "intake",
)  # fmt: skip
_NOT_ENGINE = ("brake", "throttle", "steer", "tyre", "tire")
_ENGINE_UNITS = frozenset({"rpm", "1/min", "degc", "°c", "c", "degf", "°f", "f", "k", "bar", "kpa",
                           "psi", "v"})  # fmt: skip
TEMPERATURE_UNITS = frozenset({"°c", "c", "degc", "celsius", "°f", "f", "degf", "fahrenheit", "k"})
PRESSURE_UNITS = frozenset({"bar", "kpa", "psi", "mbar", "hpa", "pa"})
_OIL = frozenset({"oil", "ol", "oel", "huile", "olio", "aceite", "oleo", "olie"})
_WATER = frozenset({"water", "coolant", "wasser", "kuhlwasser", "eau", "acqua", "agua", "ect"})
_FUEL = frozenset({"fuel", "kraftstoff", "benzin", "essence", "carburante", "combustible"})
_VOLTS = frozenset({"battery", "batt", "batterie", "batteria", "bateria", "bordspannung", "vbat"})
_WHEEL = frozenset({"wheel", "rad", "roue", "ruota", "rueda", "roda", "wiel"})
_PRESSURE = frozenset({"pressure", "press", "druck", "pression", "pressione", "presion", "p"})
_TEMPERATURE = frozenset({"temp", "temperature", "temperatur", "temperatura", "t"})
_ENDS = frozenset({"fl", "fr", "rl", "rr", "vl", "vr", "hl", "hr", "speed"})
# Kinds that say nothing of where on the car it is.
_ANY = frozenset({"temperature", "pressure", "other"})
_SPEEDS = frozenset({"km/h", "m/s", "mph"})
# Standard deviation of what is even over a step of one.
_EVEN_SD = 12.0**-0.5
_FEWEST = 20
# A hole in a channel: longer than its usual step by more than this, and than a moment.
_HOLE_STEPS, _HOLE_S = 3.0, 0.3


@dataclass(frozen=True, eq=False)
class Watched:
    """
    One column that tells of the car, without its blanks.

    Attributes
    ----------
    name : str
        In the log.
    kind : str
        One of `lapwright.notes.limits.KINDS`, ``"temperature"``, ``"pressure"`` or ``"other"``.
    unit : str
        As the log says it; may be empty.
    time_s, value : ndarray, shape (n,)
    """

    name: str
    kind: str
    unit: str
    time_s: Floats
    value: Floats

    @cached_property
    def noise(self) -> float:
        """Noise of one value: by second differences, at least its rounding."""
        steps = np.abs(np.diff(self.value))
        steps = steps[steps > 1e-9]
        rounding = _EVEN_SD * float(steps.min()) if len(steps) else 0.0
        return float(max(robust_sd(np.diff(self.value, 2), 0.0) / 6.0**0.5, rounding))

    @cached_property
    def step_s(self) -> float:
        """Usual time from one value to the next. [s]."""
        return float(np.median(np.diff(self.time_s)))

    @cached_property
    def held_s(self) -> Floats:
        """For how long each value stands: until the next one, but not over a hole, shape (n,)."""
        steps = np.append(np.diff(self.time_s), self.step_s)
        return np.asarray(np.minimum(steps, self.hole_s))

    @cached_property
    def hole_s(self) -> float:
        """What is longer between two values is a hole. [s]."""
        return max(_HOLE_STEPS * self.step_s, _HOLE_S)

    @property
    def is_temperature(self) -> bool:
        """Whether it is one."""
        return self.kind.endswith("temperature")

    def at(self, time_s: Floats) -> Floats:
        """Value at some times; NaN outside it and in its holes."""
        i = np.clip(np.searchsorted(self.time_s, time_s), 1, len(self.time_s) - 1)
        inside = (time_s >= self.time_s[0]) & (time_s <= self.time_s[-1])
        inside &= self.time_s[i] - self.time_s[i - 1] <= self.hole_s
        return np.where(inside, np.interp(time_s, self.time_s, self.value), np.nan)


def engine_channels(log: Log) -> list[str]:
    """Names of the channels that tell of the engine, by their names and units."""
    names = []
    for name in log.channels.columns:
        if name in ("line", "time_s") or not pd.api.types.is_numeric_dtype(log.channels[name]):
            continue
        said, unit = str(name).casefold(), (log.channel_units.get(str(name)) or "").casefold()
        if any(word in said for word in _NOT_ENGINE):
            continue
        if name == log.roles.get("rpm") or unit in _ENGINE_UNITS or any(
            word in said for word in _ENGINE_WORDS
        ):  # fmt: skip
            names.append(str(name))
    return names


def watched(log: Log) -> tuple[Watched, ...]:
    """
    Find the columns that tell of the car.

    Parameters
    ----------
    log : Log

    Returns
    -------
    tuple of Watched
        In the order of the file.
    """
    engine = set(engine_channels(log))
    taken = set(log.roles.values()) - {log.roles.get("rpm")}
    found = []
    for name in map(str, log.channels.columns):
        if name in taken or not pd.api.types.is_numeric_dtype(log.channels[name]):
            continue
        unit = log.channel_units.get(name) or ""
        kind = "rpm" if name == log.roles.get("rpm") else kind_of(name, unit)
        if name not in engine and (kind in _ANY or any(w in name.casefold() for w in _NOT_ENGINE)):
            continue
        value = log.channels[name].to_numpy(dtype=np.float64)
        good = np.isfinite(value)
        if good.sum() >= _FEWEST:
            time_s = log.channels["time_s"].to_numpy(dtype=np.float64)[good]
            found.append(Watched(name, kind, unit, time_s, value[good]))
    return tuple(found)


def kind_of(name: str, unit: str) -> str:
    """
    Say what a column measures, by its name and unit.

    Parameters
    ----------
    name, unit : str

    Returns
    -------
    str
        See `Watched`.

    Examples
    --------
    >>> kind_of("Öldruck", "bar"), kind_of("Oil T", "°C"), kind_of("wheel speed fl", "km/h")
    ('oil_pressure', 'oil_temperature', 'wheel_speed')
    """
    words = _words(name)
    low = unit.casefold()
    hot = low in TEMPERATURE_UNITS or (not unit and bool(words & _TEMPERATURE))
    pressed = low in PRESSURE_UNITS or (not unit and bool(words & _PRESSURE))
    for said, kind, is_it in (
        (_OIL, "oil_pressure", pressed), (_OIL, "oil_temperature", hot),
        (_WATER, "water_temperature", hot), (_FUEL, "fuel_pressure", pressed),
        (_VOLTS, "battery", low in ("v", "")),
        (_WHEEL, "wheel_speed", bool(words & _ENDS) and low in (*_SPEEDS, "")),
    ):  # fmt: skip
        if is_it and words & said:
            return kind
    if low == "v" and {"volt", "volts", "voltage"} & words:
        return "battery"
    return "temperature" if hot else "pressure" if pressed else "other"


def _words(name: str) -> set[str]:
    """Words of a name; of a word made of two, as `Öldruck`, both."""
    words = set(plain(name).split())
    for word in tuple(words):
        for end in (*_PRESSURE, *_TEMPERATURE):
            if len(end) > 1 and word.endswith(end) and len(word) > len(end):
                words |= {word.removesuffix(end), end}
    return words
