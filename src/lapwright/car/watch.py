"""
What of the car deserves a look: limits passed, oil in corners, heat still rising, dead sensors.

It warns; it does not diagnose.  What is said is what a column shows, not why.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lapwright.car.dead_sensor import dead_sensor
from lapwright.car.limits_held import Held, hold
from lapwright.car.oil_in_corners import oil_in_corners
from lapwright.car.places import Places
from lapwright.car.still_rising import still_rising
from lapwright.car.watched import Watched
from lapwright.columns import empty, names
from lapwright.columns.car import CAR_WARNINGS
from lapwright.motion import Motion
from lapwright.notes.limits import Limit

# A single value may be a glitch of the wire: so many in a row are beyond a limit.
_IN_A_ROW = 2
_EVEN_SD = 12.0**-0.5


@dataclass(frozen=True, slots=True)
class CarWarning:
    """
    One thing to look at on the car, in numbers.

    Attributes
    ----------
    code : {"limit", "oil_in_corner", "still_rising", "sensor_died"}
    channel, kind, unit : str
        The column, what it measures, its unit as the log says it.
    how : str
        Of a limit ``"below"`` or ``"above"``; of a dead sensor ``"constant"``, ``"missing"`` or
        ``"impossible"``.
    value, value_sd : float
        The furthest value beyond a limit; the oil pressure of a corner less that of straights at
        the same engine speed; the rise per lap; what a dead sensor stands at.  In `unit`.
    low95, high95 : float
        Interval of a corner's difference or of a rise.
    level : float
        The limit; the usual oil pressure; the temperature of the last lap.
    above_rpm : float
        From which engine speed on the limit counts.
    beyond_s, beyond_sd_s : float
        Time beyond a limit.
    laps : tuple of int
    lap : int or None
    time_s, time_sd_s : float
        When the furthest value was, or when a sensor died.
    station_m : float
    corner : int
        Nearest corner; 0 where there is none.

    Numbers that a code has not got are NaN.

    Examples
    --------
    >>> import lapwright as lw
    >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
    >>> [(one.code, one.kind) for one in practice.car_warnings][:2]
    [('limit', 'oil_pressure'), ('oil_in_corner', 'oil_pressure')]
    """

    code: str
    channel: str
    kind: str
    unit: str
    how: str = ""
    value: float = np.nan
    value_sd: float = np.nan
    low95: float = np.nan
    high95: float = np.nan
    level: float = np.nan
    above_rpm: float = np.nan
    beyond_s: float = np.nan
    beyond_sd_s: float = np.nan
    laps: tuple[int, ...] = ()
    lap: int | None = None
    time_s: float = np.nan
    time_sd_s: float = np.nan
    station_m: float = np.nan
    corner: int = 0


def look_over(
    channels: Sequence[Watched], limits: Sequence[Limit], motion: Motion, places: Places
) -> tuple[CarWarning, ...]:
    """
    Look over all that a log tells of the car.

    Parameters
    ----------
    channels : sequence of Watched
    limits : sequence of Limit
    motion : Motion
    places : Places

    Returns
    -------
    tuple of CarWarning
        Limits first, then oil, temperatures, sensors.
    """
    died = {c.name: found for c in channels if (found := dead_sensor(c, places)) is not None}
    # What a dead sensor says is neither beyond a limit nor rising.
    alive = [_until(c, died[c.name].from_s) if c.name in died else c for c in channels]
    alive = [c for c in alive if len(c.value) > 1]
    held, _ = hold(alive, limits)
    out = [w for one in held if (w := _beyond(one, places)) is not None]
    out += _oil(alive, motion, places)
    for channel in alive:
        rising = still_rising(channel, places) if channel.is_temperature else None
        if rising is not None and channel.name not in died:
            out.append(CarWarning(
                "still_rising", channel.name, channel.kind, channel.unit, "", rising.per_lap,
                rising.sd, rising.low95, rising.high95, rising.last, laps=rising.laps,
            ))  # fmt: skip
    for channel in channels:
        found = died.get(channel.name)
        if found is not None:
            out.append(CarWarning(
                "sensor_died", channel.name, channel.kind, channel.unit, found.how, found.value,
                0.0 if found.how == "constant" else channel.noise, lap=places.lap(found.from_s),
                time_s=found.from_s, time_sd_s=found.from_sd_s,
            ))  # fmt: skip
    return tuple(out)


def _until(channel: Watched, end_s: float) -> Watched:
    known = channel.time_s < end_s
    return Watched(
        channel.name, channel.kind, channel.unit, channel.time_s[known], channel.value[known]
    )


def _beyond(held: Held, places: Places) -> CarWarning | None:
    """Add a limit up over the laps; None where it held."""
    channel, laps = held.channel, places.laps
    sign = 1.0 if held.side == "below" else -1.0
    total, variance, numbers, worst = 0.0, 0.0, [], None
    edges = np.searchsorted(channel.time_s, laps[["start_s", "end_s"]].to_numpy(float))
    for lap, (first, last) in zip(laps["lap"], edges, strict=True):
        part = slice(int(first), int(last))
        longest = held.longest(part)
        if longest is None or longest[1] - longest[0] + 1 < _IN_A_ROW:
            continue
        time, sd = held.time_beyond(part)
        total, variance = total + time, variance + sd**2
        numbers.append(int(lap))
        at = part.start + int(
            np.argmin(np.where(held.beyond[part], sign * channel.value[part], np.inf))
        )
        if worst is None or sign * channel.value[at] < sign * channel.value[worst]:
            worst = at
    if worst is None:
        return None
    station = float(places.station_m([channel.time_s[worst]])[0])
    rpm = held.limit.above_rpm
    return CarWarning(
        "limit", channel.name, channel.kind, channel.unit, held.side, float(channel.value[worst]),
        channel.noise, level=held.level, above_rpm=np.nan if rpm is None else rpm, beyond_s=total,
        beyond_sd_s=float(np.sqrt(variance)), laps=tuple(numbers),
        lap=places.lap(float(channel.time_s[worst])), time_s=float(channel.time_s[worst]),
        time_sd_s=_EVEN_SD * channel.step_s, station_m=station,
        corner=int(places.corner(station)[0]),
    )  # fmt: skip


def _oil(channels: Sequence[Watched], motion: Motion, places: Places) -> list[CarWarning]:
    rpm = next((c for c in channels if c.kind == "rpm"), None)
    if rpm is None:
        return []
    return [
        CarWarning(
            "oil_in_corner", c.name, c.kind, c.unit, "", found.difference, found.sd, found.low95,
            found.high95, found.usual, laps=found.laps, station_m=found.station_m,
            corner=found.corner,
        )
        for c in channels if c.kind == "oil_pressure"
        for found in oil_in_corners(c, rpm, motion, places) if found.is_low
    ]  # fmt: skip


def warning_table(warnings: Sequence[CarWarning]) -> pd.DataFrame:
    """
    Lay warnings out as a table.

    Parameters
    ----------
    warnings : sequence of CarWarning

    Returns
    -------
    DataFrame
        See `lapwright.columns.car.CAR_WARNINGS`.
    """
    keys = names(CAR_WARNINGS)
    rows = [[getattr(one, key) for key in keys] for one in warnings]
    if not rows:
        return empty(CAR_WARNINGS)
    return pd.DataFrame(rows, columns=keys).astype({"lap": object, "corner": int})
