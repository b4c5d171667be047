"""
The units of speed and course, held against the positions.

A speed whose unit is not named is compared with the distance between fixes; a unit that
is named and contradicts the positions is reported.
"""

import numpy as np
import pandas as pd

from lapwright.ingest.csv.header_words import SPEED_UNITS
from lapwright.ingest.log import Finding
from lapwright.ingest.oddities import rough_metres
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import NANO, NO_TIME, Floats, Ints

_CANDIDATES = ("m/s", "km/h", "mph", "knots", "cm/s", "mm/s")
_WINDOW_S = 2.0
_NEAR, _FAR = 0.07, 0.12
_FEW, _MIN_COUNT = 5, 50


def speed_in_mps(
    recording: Recording, row: Ints, time_s: Floats, place_m: Floats, notes: list[Finding]
) -> Floats | None:
    """
    Speed of the fixes in m/s; None where there is none that can be used.

    Parameters
    ----------
    recording : Recording
    row : ndarray, shape (n,)
        Its rows that are fixes.
    time_s : ndarray, shape (n,)
        [s]
    place_m : ndarray, shape (n, 2)
        Rough east and north. [m]
    """
    if recording.speed is None:
        return None
    speed = recording.speed[row]
    if not np.isfinite(speed).any():
        return None
    ratio, count = metres_per_unit(speed, time_s, place_m)
    unit = recording.speed_unit
    measured = _nearest(ratio) if count >= _FEW else None
    if unit is None:
        unit = _decide(measured, ratio, count, notes)
        _name_unit(recording, unit)
        if unit is None:
            _keep_as_channel(recording, "speed", recording.speed, None)
            return None
    elif count >= _MIN_COUNT and abs(np.log(ratio / SPEED_UNITS[unit])) > np.log1p(_FAR):
        off = ratio / SPEED_UNITS[unit]
        if measured is not None and abs(np.log(ratio / SPEED_UNITS[measured])) < np.log1p(0.03):
            text = f"the speed is labelled {unit}, but the positions say it is in {measured}"
            notes.append(finding("speed_unit_contradicted", text))
            unit = measured
            _name_unit(recording, unit)
        else:
            text = (
                f"the positions move {off:.2f} times as fast as the speed in {unit} says; "
                "the speed is not used"
            )
            notes.append(finding("speed_disagrees", text))
            _keep_as_channel(recording, "speed", recording.speed, unit)
            return None
    return speed * SPEED_UNITS[unit]


def _keep_as_channel(recording: Recording, name: str, value: Floats, unit: str | None) -> None:
    """Keep as a channel what is not used as a measure, unless one is called that."""
    if name not in recording.channels:
        recording.channels[name] = pd.Series(value)
        recording.channel_units[name] = unit


def _name_unit(recording: Recording, unit: str | None) -> None:
    """Write the unit found into the list of columns."""
    for index, column in enumerate(recording.columns):
        if column.read_as == "speed":
            recording.columns[index] = type(column)(column.name, "speed", unit, column.filled)


def _decide(measured: str | None, ratio: float, count: int, notes: list[Finding]) -> str | None:
    """Settle a speed without a unit."""
    if measured is not None:
        text = f"the speed has no unit; the positions say {measured}"
        notes.append(finding("speed_unit_inferred", text))
    elif count < _FEW:
        measured = "m/s"
        text = "the speed has no unit and the car hardly moves; read as m/s"
        notes.append(finding("speed_unit_assumed", text))
    else:
        text = (
            f"the speed has no unit, and according to the positions 1 in the file is {ratio:.3g} "
            "m/s, which is no known unit; not used (name the unit in a column map)"
        )
        notes.append(finding("speed_unit_unknown", text))
    return measured


def _nearest(ratio: float) -> str | None:
    """Find the unit of speed that is close to a length in m/s."""
    best = min(_CANDIDATES, key=lambda unit: abs(np.log(ratio / SPEED_UNITS[unit])))
    return best if abs(np.log(ratio / SPEED_UNITS[best])) < np.log1p(_NEAR) else None


def _window(time_s: Floats) -> int:
    """Fixes that make up about two seconds."""
    step_s = float(np.median(np.diff(time_s)))
    return max(1, min(round(_WINDOW_S / max(step_s, 1e-3)), len(time_s) - 1))


def metres_per_unit(speed: Floats, time_s: Floats, place_m: Floats) -> tuple[float, int]:
    """Metres a second by the positions for one unit of logged speed: median, and of how many."""
    gone_m, _, logged = stretches(speed, time_s, place_m)
    if not len(gone_m):
        return np.nan, 0
    # The faster half: there the position noise counts least.
    chosen = gone_m >= np.median(gone_m)
    return float(np.median(gone_m[chosen] / logged[chosen])), len(gone_m)


def stretches(speed: Floats, time_s: Floats, place_m: Floats) -> tuple[Floats, Floats, Floats]:
    """
    Cut a drive into overlapping stretches of about two seconds in which the car moves.

    Parameters
    ----------
    speed, time_s : ndarray, shape (n,)
    place_m : ndarray, shape (n, 2)
        [m]

    Returns
    -------
    gone_m, took_s, logged : ndarray, shape (k,)
        The way by the positions, the time, and the integral of the logged speed.
        [m, s, units times s]
    """
    k = _window(time_s)
    gone_m = np.hypot(*(place_m[k:] - place_m[:-k]).T)
    took_s = time_s[k:] - time_s[:-k]
    mean = (speed[1:] + speed[:-1]) / 2 * np.diff(time_s)
    total = np.append(0.0, np.cumsum(np.where(np.isfinite(mean), mean, 0.0)))
    blank = np.append(0, np.cumsum(~np.isfinite(mean)))
    logged = total[k:] - total[:-k]
    whole = (blank[k:] == blank[:-k]) & (took_s < 1.5 * np.median(took_s)) & (logged > 0)
    fast = whole & (gone_m > np.maximum(3.0, 2.0 * took_s))
    return gone_m[fast], took_s[fast], logged[fast]


def in_a_turn(angle_deg: Floats) -> Floats:
    """Return angles from 0 to below 360 degrees; an infinite one is none."""
    with np.errstate(invalid="ignore"):
        return angle_deg % 360.0


def course_in_degrees(
    recording: Recording, row: Ints, time_s: Floats, place_m: Floats, notes: list[Finding]
) -> Floats | None:
    """
    Course of the fixes, clockwise from north; None where it is no course over ground.

    Parameters
    ----------
    recording, row, time_s, place_m
        As for `speed_in_mps`.
    """
    if "course_deg" not in recording.measures:
        return None
    course = recording.measures["course_deg"][row]
    if not np.isfinite(course).any():
        return None
    gone = place_m[2:] - place_m[:-2]
    took_s = time_s[2:] - time_s[:-2]
    length_m = np.hypot(*gone.T)
    fast = (length_m > 1.0) & (length_m > 5.0 * took_s) & np.isfinite(course[1:-1])
    if fast.sum() < _MIN_COUNT:
        return course
    gone, logged = gone[fast], course[1:-1][fast]
    driven = np.degrees(np.arctan2(gone[:, 0], gone[:, 1]))
    if _typical_error(logged, driven) < 20.0:
        return course
    if np.nanmax(course) < 6.3 and _typical_error(np.degrees(logged), driven) < 20.0:
        text = "the positions say the course is in radians; turned into degrees"
        notes.append(finding("course_unit_inferred", text))
        return np.degrees(course) % 360.0
    text = "the course does not point where the positions go; it is not used"
    notes.append(finding("course_disagrees", text))
    _keep_as_channel(recording, "course", recording.measures["course_deg"], None)
    return None


def _typical_error(course_deg: Floats, driven_deg: Floats) -> float:
    """Median angle between two courses."""
    return float(np.median(np.abs((course_deg - driven_deg + 180.0) % 360.0 - 180.0)))


def angle_of_whole_numbers(
    lat: Floats, lon: Floats, speed: Floats | None, unit: str | None, time_ns: Ints
) -> float:
    """
    Tell whether whole positions count 1e-7 or 1e-6 degrees, by the logged speed.

    Parameters
    ----------
    lat, lon : ndarray, shape (n,)
        As they stand.
    speed : ndarray, shape (n,), optional
    unit : str, optional
        Of the speed; without one each of the usual units may fit.
    time_ns : ndarray, shape (n,)
        [ns]

    Returns
    -------
    angle_deg : float
        1e-7, the usual one, unless the speed only fits 1e-6. [degrees]
    """
    used = np.isfinite(lat) & np.isfinite(lon) & (time_ns != NO_TIME) & ((lat != 0) | (lon != 0))
    if speed is None or used.sum() < _MIN_COUNT:
        return 1e-7
    lat, lon, speed = lat[used], lon[used], speed[used]
    if max(float(np.median(np.abs(lat))) / 90, float(np.median(np.abs(lon))) / 180) > 1e6:
        return 1e-7
    time_s = (time_ns[used] - time_ns[used][0]) / NANO
    units = (unit,) if unit in SPEED_UNITS else _CANDIDATES[:4]
    for angle_deg in (1e-7, 1e-6):
        place_m = rough_metres(lat * angle_deg, lon * angle_deg)
        ratio, count = metres_per_unit(speed, time_s, place_m)
        if count >= _FEW and any(
            abs(np.log(ratio / SPEED_UNITS[name])) < np.log1p(_FAR) for name in units
        ):
            return angle_deg
    return 1e-7
