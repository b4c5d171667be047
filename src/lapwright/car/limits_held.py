"""What each channel did on each lap, and for how long it was beyond the racer's limits."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.car.places import Places
from lapwright.car.watched import Watched
from lapwright.columns import empty, names
from lapwright.columns.car import CAR
from lapwright.notes.limits import Limit
from lapwright.numerics.normal import distribution
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_EVEN_SD = 12.0**-0.5


@dataclass(frozen=True, eq=False)
class Held:
    """
    A limit held against a channel.

    Attributes
    ----------
    channel : Watched
    limit : Limit
    side : {"below", "above"}
    beyond : ndarray of bool, shape (n,)
        Values beyond it.
    spread_s2 : ndarray, shape (n,)
        Variance that each value's noise gives to the time beyond. [s²]
    """

    channel: Watched
    limit: Limit
    side: str
    beyond: Flags
    spread_s2: Floats

    @property
    def level(self) -> float:
        """The limit on this side."""
        found = self.limit.low if self.side == "below" else self.limit.high
        assert found is not None
        return found

    def time_beyond(self, part: slice) -> tuple[float, float]:
        """Time beyond within some samples, and its sd: when it began and ended, and noise. [s]."""
        held, beyond = self.channel.held_s[part], self.beyond[part]
        edges = int(np.count_nonzero(np.diff(beyond)))
        variance = float(self.spread_s2[part].sum())
        variance += edges * (_EVEN_SD * self.channel.step_s) ** 2
        return float(held[beyond].sum()), float(np.sqrt(variance))

    def longest(self, part: slice) -> tuple[int, int] | None:
        """First and last sample of the longest stretch beyond; None where there is none."""
        runs = flag_runs(self.beyond[part])
        if not runs:
            return None
        first = part.start or 0
        long = max(runs, key=lambda run: run[1] - run[0])
        return long[0] + first, long[1] + first


def hold(
    channels: Sequence[Watched], limits: Sequence[Limit]
) -> tuple[tuple[Held, ...], tuple[str, ...]]:
    """
    Hold limits against channels.

    Parameters
    ----------
    channels : sequence of Watched
    limits : sequence of Limit

    Returns
    -------
    held : tuple of Held
    not_held : tuple of str
        What limits were not held against anything and why, a sentence each without its stop.
    """
    rpm = next((c for c in channels if c.kind == "rpm"), None)
    held: list[Held] = []
    said: list[str] = []
    for limit in limits:
        meant = [c for c in channels if limit.channel in (c.kind, c.name)]
        if not meant:
            there = ", ".join(c.name for c in channels) or "none"
            said.append(
                f"no column for {limit.channel!r} in this log (columns of the car: {there})"
            )
        for channel in meant:
            if limit.unit and limit.unit.casefold() != channel.unit.casefold():
                said.append(
                    f"the limit for {limit.channel!r} is in {limit.unit}, the column "
                    f"{channel.name!r} in {channel.unit or 'an unknown unit'}"
                )
            elif limit.above_rpm is not None and rpm is None:
                said.append(
                    f"the limit for {limit.channel!r} needs engine speed, which is not logged"
                )
            else:
                held += _both_sides(channel, limit, rpm)
    return tuple(held), tuple(said)


def _both_sides(channel: Watched, limit: Limit, rpm: Watched | None) -> list[Held]:
    counts = np.ones(len(channel.value), dtype=np.bool_)
    if limit.above_rpm is not None and rpm is not None:
        counts = rpm.at(channel.time_s) >= limit.above_rpm
    out = []
    for side, level, sign in (("below", limit.low, 1.0), ("above", limit.high, -1.0)):
        if level is None:
            continue
        margin = sign * (level - channel.value)
        chance = distribution(margin / max(channel.noise, 1e-12))
        spread = np.where(counts, chance * (1.0 - chance) * channel.held_s**2, 0.0)
        out.append(Held(channel, limit, side, counts & (margin > 0.0), spread))
    return out


def car_table(channels: Sequence[Watched], held: Sequence[Held], places: Places) -> pd.DataFrame:
    """
    What each channel did on each lap.

    Parameters
    ----------
    channels : sequence of Watched
    held : sequence of Held
    places : Places

    Returns
    -------
    DataFrame
        See `lapwright.columns.car.CAR`; out and in laps too.
    """
    laps = places.laps
    rows = []
    for channel in channels:
        edges = np.searchsorted(channel.time_s, laps[["start_s", "end_s"]].to_numpy(float))
        mine = [one for one in held if one.channel is channel]
        for lap, (first, last) in zip(laps["lap"], edges, strict=True):
            if last > first:
                part = slice(int(first), int(last))
                rows.append(_row(int(lap), channel, part, mine, places))
    return pd.DataFrame(rows, columns=names(CAR)) if rows else empty(CAR)


def _row(
    lap: int, channel: Watched, part: slice, held: Sequence[Held], places: Places
) -> dict[str, object]:
    value, time_s = channel.value[part], channel.time_s[part]
    at = [int(np.argmin(value)), int(np.argmax(value))]
    station = places.station_m(time_s[at])
    corner = places.corner(station)
    row: dict[str, object] = {
        "lap": lap, "channel": channel.name, "kind": channel.kind, "unit": channel.unit,
        "mean": float(np.average(value, weights=channel.held_s[part])),
    }  # fmt: skip
    for k, name in enumerate(("lowest", "highest")):
        row |= {
            name: float(value[at[k]]), f"{name}_sd": channel.noise,
            f"{name}_station_m": float(station[k]), f"{name}_corner": int(corner[k]),
        }  # fmt: skip
    return row | _beyond(held, part, places)


def _beyond(held: Sequence[Held], part: slice, places: Places) -> dict[str, object]:
    if not held:
        return {"beyond_s": np.nan, "beyond_sd_s": np.nan, "beyond_station_m": np.nan,
                "beyond_corner": 0}  # fmt: skip
    times = [one.time_beyond(part) for one in held]
    longest = [run for one in held if (run := one.longest(part))]
    station, corner = np.nan, 0
    if longest:
        first, _ = max(longest, key=lambda run: run[1] - run[0])
        station = float(places.station_m([held[0].channel.time_s[first]])[0])
        corner = int(places.corner(station)[0])
    return {
        "beyond_s": sum(t for t, _ in times),
        "beyond_sd_s": float(np.sqrt(sum(sd**2 for _, sd in times))),
        "beyond_station_m": station, "beyond_corner": corner,
    }  # fmt: skip
