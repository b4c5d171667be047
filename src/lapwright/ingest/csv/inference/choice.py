"""Which of several ways to read the columns stands: evidence against evidence, never a guess."""

import numpy as np

from lapwright.ingest.csv.header_words import SPEED_UNITS, hinted_angle
from lapwright.ingest.csv.inference.drive_evidence import (
    LOGGED_UNITS,
    MAX_TOP_MPS,
    NEAR_UNIT,
    comes_round,
)
from lapwright.ingest.csv.inference.readings import ANGLES, Reading
from lapwright.ingest.time.scales import NANO, NO_TIME

# Of two readings, the one that fits the logged speed clearly better stands: by this factor.
_CLEARLY = 0.7
# Fixes a second that receivers and loggers are set to, other than one (common practice, no source).
_RATES_HZ = (2.0, 4.0, 5.0, 8.0, 10.0, 12.5, 16.0, 18.0, 20.0, 25.0, 50.0, 100.0)


def best(found: list[Reading], wanted: list[str]) -> list[Reading]:
    """Drop the readings that another one plainly beats, and those without enough evidence."""
    if not found:
        return []
    most = max(reading.hints for reading in found)
    found = [reading for reading in found if reading.hints == most]
    closest = min(reading.spread for reading in found)
    if np.isfinite(closest):
        found = [reading for reading in found if reading.spread * _CLEARLY <= closest]
    if set(ANGLES) & set(wanted):
        found = [reading for reading in found if _is_borne_out(reading)]
    if not all(reading.counter for reading in found):
        found = [reading for reading in found if not reading.counter]
    return _one_clock_each(found)


def _is_borne_out(reading: Reading) -> bool:
    """Ask more of positions than smooth motion: the speed, names, letters, or a second lap."""
    named = all(
        hinted_angle(column.header) == role or column.kind == "text"
        for role, column in reading.roles.items()
        if role in ANGLES
    )
    return reading.speed is not None or named or comes_round(reading.motion)


def _one_clock_each(found: list[Reading]) -> list[Reading]:
    """Of columns that tell the same time keep the one with the date, else the finest."""
    order = sorted(
        found,
        key=lambda one: (one.clock.has_date, len(np.unique(one.clock.time_ns)), one.hints),
        reverse=True,
    )
    out: list[Reading] = []
    for reading in order:
        same = [one for one in out if _same_places(one, reading) and _same_time(one, reading)]
        if not same:
            out.append(reading)
        elif "time" in reading.roles:
            same[0].spare_times.append(reading.roles["time"])
    return out


def _same_places(one: Reading, other: Reading) -> bool:
    """Tell whether two readings have the same columns for the positions."""
    places = [
        tuple(
            (r.roles[role].index, r.roles[role].header.unit) for role in ANGLES if role in r.roles
        )
        for r in (one, other)
    ]
    return places[0] == places[1]


def _same_time(one: Reading, other: Reading) -> bool:
    """Tell whether two clocks go alike, to the second of a coarse one."""
    first, second = one.clock.time_ns, other.clock.time_ns
    both = (first != NO_TIME) & (second != NO_TIME)
    if not both.any():
        return False
    ahead = first[both] - second[both]
    if one.clock.has_date and other.clock.has_date and abs(np.median(ahead)) > NANO:
        return False
    return bool(np.ptp(ahead) <= NANO)


def counts_seconds(reading: Reading) -> bool:
    """Tell whether a column that rises by one a line can be nothing but seconds."""
    if reading.speed is None:
        # At any other rate the car would have to be faster than any is; but only positions that
        # are known to be some say that much.
        return (
            not set(ANGLES) & set(reading.roles)
            and reading.motion.top_mps * min(_RATES_HZ) > MAX_TOP_MPS
        )
    column, fit = reading.speed
    if column.header.unit in SPEED_UNITS:
        return True
    return not any(
        abs(np.log(fit.ratio * rate_hz / SPEED_UNITS[unit])) < np.log1p(NEAR_UNIT)
        for rate_hz in _RATES_HZ
        for unit in LOGGED_UNITS
    )
