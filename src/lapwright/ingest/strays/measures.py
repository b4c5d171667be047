"""Measures of a fix that no receiver can have meant: taken as blank, and said."""

import numpy as np
import pandas as pd

from lapwright.ingest.invariants import MAX_NUMBER, RANGES
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import Floats, Ints

_UNITS = {
    "speed_mps": ("speeds", " m/s"),
    "height_m": ("heights", " m"),
    "position_sd_m": ("accuracies of the position", " m"),
    "speed_sd_mps": ("accuracies of the speed", " m/s"),
    "hdop": ("values of HDOP", ""),
    "satellites": ("numbers of satellites", ""),
}


def without_infinite(recording: Recording, notes: list[Finding]) -> None:
    """
    Blank what is infinite, or nearly, in the speed, the measures and the channels.

    Parameters
    ----------
    recording : Recording
        Its columns are replaced where they hold such numbers.
    notes : list of Finding
        One is added for each such column.
    """
    if recording.speed is not None:
        recording.speed = _finite("speed", recording.speed, recording.line, notes)
    for name, value in recording.measures.items():
        recording.measures[name] = _finite(name, value, recording.line, notes)
    for name, series in recording.channels.items():
        if series.dtype.kind == "f":
            value = series.to_numpy()
            finite = _finite(name, value, recording.line, notes)
            if finite is not value:
                recording.channels[name] = pd.Series(finite)


def _finite(name: str, value: Floats, line: Ints, notes: list[Finding]) -> Floats:
    """Blank what is infinite in one column."""
    infinite = np.abs(value) > MAX_NUMBER
    if not infinite.any():
        return value
    text = f'impossibly large values of "{name}" (above {MAX_NUMBER:g}); taken as blank'
    notes.append(finding("unreadable_value", text, line[infinite]))
    return np.where(infinite, np.nan, value)


def in_range(name: str, value: Floats, line: Ints, notes: list[Finding]) -> Floats:
    """
    Blank what is beyond the range of a measure.

    Parameters
    ----------
    name : str
        One of `RANGES`.
    value : ndarray, shape (n,)
        In its own unit.
    line : ndarray, shape (n,)
    notes : list of Finding
        One is added where there are any.

    Returns
    -------
    value : ndarray, shape (n,)
    """
    if name == "course_deg":
        # -1e-17 % 360.0 is 360.0.
        value = np.where(value == 360.0, 0.0, value) if (value == 360.0).any() else value
    low, high = RANGES[name]
    with np.errstate(invalid="ignore"):
        beyond = (value < low) | (value > high)
    if not beyond.any():
        return value
    if name == "course_deg":
        return np.where(beyond, value % 360.0 % 360.0, value)
    what, unit = _UNITS[name]
    code = "impossible_speed" if name == "speed_mps" else "impossible_value"
    text = f"logged {what} below {low:g} or above {high:g}{unit}; taken as blank"
    notes.append(finding(code, text, line[beyond]))
    return np.where(beyond, np.nan, value)
