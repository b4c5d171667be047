"""
The words of column headers: what each means, in the languages of the word list, and its unit.

Only general words of the trade.  A header is cut into words without accents,
brackets or units; the words then decide.  What is not understood stays a channel
under its own name and can be named in a column map.
"""

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path


def _table(name: str) -> dict[str, str]:
    """Read lines of a role and its words into a dictionary from word to role."""
    out = {}
    text = (Path(__file__).parent / name).read_text(encoding="utf-8")
    for line in text.splitlines():
        if line and not line.startswith("#"):
            role, *words = line.split(", ")
            out.update(dict.fromkeys(words, role))
    return out


_WHOLE = _table("header_words.csv")
_MORE = _table("header_words_more.csv")

# Words that say that a header with "speed" or "time" in it means something else.
_VETO = frozenset([
    "wheel", "wheels", "rad", "rader", "roue", "roues", "ruota", "ruote", "rueda", "ruedas",
    "roda", "rodas", "wiel", "wielen", "wind", "engine", "motor", "moteur", "motore",
    "vertical", "climb", "lap", "laps", "runde", "rundenzeit", "sector", "sektor", "max",
    "min", "maximum", "minimum", "avg", "average", "mean", "lead", "shaft", "turbine", "fan",
    "pump", "delta", "diff", "target", "limit", "accuracy", "acc", "error", "sd", "std",
    "sigma", "best", "fl", "fr", "rl", "rr", "front", "rear", "x", "y", "z", "north", "east",
    "down", "up", "n", "e", "d", "ned", "enu", "calc", "filtered", "pit", "lane", "gear",
    "ratio", "slip", "yaw", "roll", "pitch", "rate", "angular", "rotation", "acceleration",
    "accel", "predicted", "reference", "magnetic", "variation", "geoid", "separation",
    "dilution", "age", "count", "zone", "air", "oil", "water", "fuel",
])  # fmt: skip
_TOKEN = {
    "latitude": "latitude", "latitud": "latitude", "latitudine": "latitude", "lat": "latitude",
    "breitengrad": "latitude", "breedtegraad": "latitude", "breite": "latitude",
    "longitude": "longitude", "longitud": "longitude", "longitudine": "longitude",
    "lon": "longitude", "lng": "longitude", "laengengrad": "longitude", "langengrad": "longitude",
    "lengtegraad": "longitude", "lange": "longitude", "laenge": "longitude",
    "timestamp": "time", "zeitstempel": "time", "horodatage": "time", "uhrzeit": "time",
    "time": "time", "zeit": "time", "heure": "time", "orario": "time", "hora": "time",
    "tijd": "time",
    "speed": "speed", "geschwindigkeit": "speed", "vitesse": "speed", "velocita": "speed",
    "velocidad": "speed", "velocidade": "speed", "snelheid": "speed", "velocity": "speed",
    "course": "course", "heading": "course", "bearing": "course", "kurs": "course",
    "koers": "course", "cog": "course",
    "altitude": "height", "elevation": "height", "hohe": "height", "hoehe": "height",
    "hdop": "hdop", "satellites": "satellites", "satelliten": "satellites",
}  # fmt: skip

SPEED_UNITS = {
    "m/s": 1.0,
    "km/h": 1 / 3.6,
    "mph": 0.44704,
    "knots": 1852 / 3600,
    "cm/s": 0.01,
    "mm/s": 0.001,
    "ft/s": 0.3048,
}
"""Metres a second in one of each unit (NIST SP 811; exact)."""

_ALONE = frozenset(["m/s", "km/h", "mph", "knots"])

TIME_UNITS = {"s": 1_000_000_000, "ms": 1_000_000, "us": 1000, "ns": 1, "min": 60_000_000_000}
"""Nanoseconds in one of each unit."""

# Written out where a header has no room for signs.
_PERCENT = frozenset(["pct", "percent", "prozent", "pourcent", "procent", "percento", "porcento"])
_TEMPERATURE = {"c": "\N{DEGREE SIGN}C", "f": "\N{DEGREE SIGN}F"}
_TEMPERATURE_WORDS = frozenset([
    "temp", "temperature", "temperatur", "temperatura", "temperatuur", "coolant", "water", "oil",
])  # fmt: skip
_UNITS: dict[str, str] = {
    "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "km h": "km/h", "kmph": "km/h", "kmt": "km/h",
    "km/u": "km/h", "kmu": "km/h", "km/t": "km/h", "km/tim": "km/h", "km/godz": "km/h",
    "km/hod": "km/h", "km/sa": "km/h", "km/std": "km/h", "mph": "mph", "mi/h": "mph", "mi h": "mph",
    "m/s": "m/s", "mps": "m/s", "m s": "m/s", "ms-1": "m/s", "m/sec": "m/s", "m.s-1": "m/s",
    "m*s-1": "m/s", "cm/s": "cm/s", "mm/s": "mm/s", "ft/s": "ft/s", "fps": "ft/s",
    "kn": "knots", "kt": "knots", "kts": "knots", "knot": "knots", "knots": "knots",
    "knoten": "knots", "noeuds": "knots", "nodi": "knots", "nudos": "knots", "nos": "knots",
    "knopen": "knots", "knop": "knots", "solmua": "knots", "wezly": "knots", "uzly": "knots",
    "csomo": "knots",
    "s": "s", "sec": "s", "secs": "s", "sek": "s", "seg": "s", "second": "s", "seconds": "s",
    "sekunden": "s", "ms": "ms", "msec": "ms", "millis": "ms", "milliseconds": "ms",
    "us": "us", "µs": "us", "μs": "us", "usec": "us", "microseconds": "us",
    "ns": "ns", "nsec": "ns", "nanoseconds": "ns", "min": "min",
    "deg": "deg", "degree": "deg", "degrees": "deg", "°": "deg", "grad": "deg", "degre": "deg",
    "gradi": "deg", "grados": "deg", "graus": "deg", "graden": "deg", "dd": "deg",
    "decimal degrees": "deg", "rad": "rad", "radians": "rad",
    "1e-7 deg": "1e-7 deg", "deg*1e7": "1e-7 deg", "1e-7": "1e-7 deg", "deg e7": "1e-7 deg",
    "dege7": "1e-7 deg", "e7": "1e-7 deg", "10^-7 deg": "1e-7 deg", "deg*1e-7": "1e-7 deg",
    "1e7": "1e-7 deg", "deg e-7": "1e-7 deg", "1e-7deg": "1e-7 deg",
    "m": "m", "meter": "m", "metre": "m", "meters": "m", "metres": "m", "mt": "m", "mm": "mm",
    "cm": "cm", "km": "km", "ft": "ft", "feet": "ft", "yd": "yd",
    "ddmm.mmmm": "ddmm.mmmm", "hh:mm:ss": "hh:mm:ss", "hhmmss": "hhmmss", "hhmmss.ss": "hhmmss",
    "utc": "utc", "gmt": "utc", "local": "local", "iso": "iso", "unix": "s", "epoch": "s",
    "%": "%", **dict.fromkeys(_PERCENT, "%"),
}  # fmt: skip
_LENGTHS_M = {"m": 1.0, "mm": 0.001, "cm": 0.01, "ft": 0.3048, "km": 1000.0, "yd": 0.9144}
_CHANNEL_UNITS = frozenset([
    "%", "bar", "kpa", "psi", "mbar", "hpa", "pa", "°c", "c", "f", "°f", "degc", "degf", "k",
    "v", "mv", "a", "ma", "w", "kw", "hp", "ps", "nm", "n", "kn", "g", "m/s²", "m/s2", "1/min",
    "rpm", "u/min", "tr/min", "min-1", "hz", "deg/s", "rad/s", "°/s", "rad", "mm", "cm", "l",
    "l/h", "kg", "lambda", "afr", "celsius", "fahrenheit", "bool", "-", "#", "count",
])  # fmt: skip


@dataclass(frozen=True, slots=True)
class Header:
    """
    A header as understood.

    Attributes
    ----------
    name : str
        As read.
    role : str or None
        Its meaning.
    unit : str or None
        Ours, or as written.
    words : tuple of str
    sure : bool
        Whether the meaning stands against another column's of the same.
    """

    name: str
    role: str | None
    unit: str | None
    words: tuple[str, ...]
    sure: bool = True


def length_factor(unit: str | None) -> float:
    """Metres in one unit of length; 1 where it is not named."""
    return _LENGTHS_M.get(unit or "m", 1.0)


# Names of channels with their unit and the like are far below it. [letters]
_LONGEST_NAME = 200
# Letters that are no other letter with an accent.
_LETTERS = str.maketrans(
    {"ß": "ss", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "æ": "ae", "Æ": "Ae", "đ": "d", "Đ": "D",
     "ı": "i"}
)  # fmt: skip


def plain(text: str) -> str:
    """
    Lower case, no accents, one blank between the words.

    >>> plain("GPS_Länge")
    'gps lange'
    """
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    text = unicodedata.normalize("NFKD", text.translate(_LETTERS))
    text = "".join(char for char in text if not unicodedata.combining(char)).lower()
    return re.sub(r"[^a-z0-9]+", " ", text).strip()


def unit_of(text: str) -> str | None:
    """
    Name a unit in our notation, or as it stands; None where the text is no unit.

    >>> unit_of("[KPH]"), unit_of("°C"), unit_of("Friday")
    ('km/h', '°C', None)
    """
    bare = text.strip().strip("[](){}<>").strip()
    low = " ".join(bare.lower().replace("_", " ").split())
    if low in _UNITS:
        return _UNITS[low]
    return bare if low in _CHANNEL_UNITS else None


@lru_cache(maxsize=32_768)
def read_header(name: str) -> Header:
    """
    Understand one header.

    >>> head = read_header("Geschw. (km/h)")
    >>> head.role, head.unit
    ('speed', 'km/h')
    """
    if len(name) > _LONGEST_NAME:
        # No header: binary noise, or a whole line in quotes. Patterns would take minutes with it.
        name = f"{name[: _LONGEST_NAME - 1]}…"
        return Header(name, None, None, (), False)
    rest, unit = name.strip().lstrip("#").strip(), None
    bracket = re.search(r"[\[({<]([^\])}>]*)[\])}>]\s*$", rest)
    if bracket:
        inner = bracket[1]
        unit = unit_of(inner) or (inner.strip() or None)
        rest = rest[: bracket.start()]
    else:
        split = re.match(
            r"^(.*?)[\s_]+(?:in[\s_]+)?([^\s_]+|m[\s_]s|km[\s_]h|deg[\s_]e?-?\d+)$", rest
        )
        found = unit_of(split[2]) if split else None
        known = (
            (plain(rest) in _WHOLE or plain(rest) in _MORE)
            and split is not None
            and split[2].lower() not in _UNITS
        )
        if split and found not in (None, "utc", "local") and split[2].lower() != "n" and not known:
            rest, unit = split[1], found
    words = plain(rest)
    last = plain(name).split()[-1:]
    if unit is None and last and last[0] in _PERCENT:  # "ThrottlePct": no blank before the unit
        words, unit = words.removesuffix(last[0]).strip(), "%"
    if _TEMPERATURE_WORDS & set(words.split()):
        # "brake_f" is the front one: a letter alone is a temperature only beside a word for it.
        unit = _TEMPERATURE.get((unit or "").lower(), unit)
    role = _WHOLE.get(words) or _WHOLE.get(words.replace(" ", ""))
    # Shares of a pedal give way to a column that is called after the pedal alone.
    sure = role is not None and not (unit == "%" and last and last[0] in _PERCENT)
    if role is None:
        role = _MORE.get(words) or _MORE.get(words.replace(" ", ""))
    if role is None:
        role, sure = _by_token(words.split()), True
    if role is None and unit_of(name) in _ALONE and words not in ("kn", "k n"):
        # A column called by its unit alone; but kN may be a force.
        role, unit = "speed", unit_of(name)
    if role == "tempo":
        role = "speed" if unit in SPEED_UNITS else "time"
    if role == "rpm" and unit is None and (words in ("u min", "tr min") or "rpm" in words.split()):
        unit = "1/min"
    return with_unit(Header(name, role, None, tuple(plain(name).split()), sure), unit)


def with_unit(header: Header, unit: str | None) -> Header:
    """Return the header with a unit, which has a say in what it means."""
    if header.role == "speed" and unit == "ms":
        unit = "m/s"
    # Latitude and longitude are called breadth and length in places; in metres they are that.
    angle = header.role in ("latitude", "longitude")
    # "lat_g" and "long_g" are accelerations, lateral and longitudinal.
    other = (unit in _LENGTHS_M and not header.sure) or (unit or "").lower() == "g"
    return replace(header, unit=unit, role=None if angle and other else header.role)


def _by_token(words: list[str]) -> str | None:
    """Let single words decide, unless another word says it is something else."""
    if not words or len(words) > 4 or any(word in _VETO for word in words):
        return None
    roles = {_TOKEN[word] for word in words if word in _TOKEN}
    return roles.pop() if len(roles) == 1 else None


# Beside one of these a word for an angle still says what the column is: "y_lat".
_AXES = frozenset(["x", "y", "n", "e", "north", "east", "d", "calc", "filtered"])


def hinted_angle(header: Header) -> str | None:
    """
    Say which angle a header hints at that is not understood; None where it does not.

    >>> hinted_angle(read_header("y_lat")), hinted_angle(read_header("lat_acc"))
    ('latitude', None)
    """
    if any(word in _VETO - _AXES or word == "g" for word in header.words):
        return None
    roles = {_TOKEN.get(word) for word in header.words} & {"latitude", "longitude"}
    return roles.pop() if len(roles) == 1 else None


def hinted_time(header: Header) -> bool:
    """Tell whether a header hints at the time: by a unit of it, or an unsure word for it."""
    return header.role == "time" or hinted_time_unit(header) is not None


def hinted_time_unit(header: Header) -> str | None:
    """
    Say which unit of time a header that is not understood names; None where it names none.

    >>> hinted_time_unit(read_header("ms")), hinted_time_unit(read_header("lap [s]"))
    ('ms', None)
    """
    unit = unit_of(header.name) or header.unit
    return unit if unit in ("s", "ms", "us", "ns") and not _VETO & set(header.words) else None
