"""What the driver did, from logged channels: when the brake went on and the throttle came back."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.log import Log
from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]

# Shares of a channel's own range: on is above a tenth, fully on above nine tenths.  Sensors sit at
# odd zeros and never quite reach their ends, so the range is the log's own.
ON, FULL = 0.10, 0.90
# Percentiles that stand for a channel's ends: single odd values are beyond them.
_RANGE = (2.0, 99.0)
# What the driver and the engine do, in the order in which it is drawn.
ROLES = ("throttle", "brake", "steering", "rpm")
# A hole in a channel: longer than its usual step by more than this, and than a moment.
_HOLE_STEPS, _HOLE_S = 3.0, 0.3
# Standard deviation of what is even over a step of one.
_EVEN_SD = 12.0**-0.5
# Noise is looked for where the channel is not at one of its ends, which hide it.
_AWAY = 0.02
_MIN_MOVING = 50
# The slope of a pedal is taken so far to either side, and no moment is more doubtful than this.
_ABOUT_S, _MOST_S = 0.1, 1.0


@dataclass(frozen=True, eq=False)
class Channel:
    """
    One driver input, scaled to its own range.

    Attributes
    ----------
    name : str
    time_s : ndarray, shape (n,)
    value : ndarray, shape (n,)
        0 released, 1 as far as it went in this log.
    zero, span : float
        ``zero + span * value`` is the channel as logged.
    unit : str
        As the log states it; may be empty.
    """

    name: str
    time_s: Floats
    value: Floats
    zero: float = 0.0
    span: float = 1.0
    unit: str = ""

    @cached_property
    def raw(self) -> Floats:
        """The channel as logged, in its own unit."""
        return self.zero + self.span * self.value

    @cached_property
    def noise(self) -> float:
        """
        Noise of one value, on the scaled range: by second differences, at least its rounding.

        A quick pedal bends within three samples too, so this is rather too large than too small.
        """
        second = np.abs(np.diff(self.value, 2)) / 6.0**0.5
        away = (self.value > _AWAY) & (self.value < 1.0 - _AWAY)
        inner = away[2:] & away[1:-1] & away[:-2]
        steps = np.abs(np.diff(self.value))
        steps = steps[steps > 1e-9]
        rounding = _EVEN_SD * float(steps.min()) if len(steps) else 0.0
        found = robust_sd(second[inner], 0.0) if inner.sum() >= _MIN_MOVING else 0.0
        return max(found, rounding)

    @cached_property
    def longest_step_s(self) -> float:
        """What is longer between two values is a hole in the channel. [s]."""
        if len(self.time_s) < 2:
            return _HOLE_S
        return max(_HOLE_STEPS * float(np.median(np.diff(self.time_s))), _HOLE_S)

    def at(self, time_s: npt.ArrayLike) -> Floats:
        """The channel in its own unit at some times; NaN outside it and in its holes."""
        t = np.asarray(time_s, dtype=np.float64)
        i = np.clip(np.searchsorted(self.time_s, t), 1, len(self.time_s) - 1)
        inside = (t >= self.time_s[0]) & (t <= self.time_s[-1])
        inside &= self.time_s[i] - self.time_s[i - 1] <= self.longest_step_s
        return np.where(inside, np.interp(t, self.time_s, self.raw), np.nan)

    def moment_sd_s(self, time_s: float) -> float:
        """
        Error bar of a moment at which the channel passes a level. [s].

        The crossing is somewhere between two samples, and the noise moves it along the slope.
        """
        i = int(np.clip(np.searchsorted(self.time_s, time_s), 1, len(self.time_s) - 1))
        step = float(self.time_s[i] - self.time_s[i - 1])
        # Of some samples about it: on a pedal that creeps, noise passes the level early or late.
        about = max(2.0 * step, _ABOUT_S)
        before, after = np.interp([time_s - about, time_s + about], self.time_s, self.value)
        slope_per_s = max(abs(float(after - before)) / (2.0 * about), self.noise / _MOST_S)
        blurred = self.noise / slope_per_s if slope_per_s > 0.0 else 0.0
        return float(np.hypot(_EVEN_SD * step, blurred))

    def part(self, start_s: float, end_s: float) -> slice:
        """Samples between two times."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        return slice(int(first), int(last))

    def whole(self, start_s: float, end_s: float) -> bool:
        """Whether there is no hole between two times."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        t = self.time_s[max(first - 1, 0) : last + 1]
        if len(t) < 2 or t[0] > start_s or t[-1] < end_s:
            return False
        return bool(np.diff(t).max() <= self.longest_step_s)

    def rises(self, start_s: float, end_s: float, level: float = ON) -> float | None:
        """First moment between two times at which the value goes above a level, or None."""
        return self._crossing(start_s, end_s, level, up=True)

    def falls(self, start_s: float, end_s: float, level: float = FULL) -> float | None:
        """Last moment between two times at which the value drops below a level, or None."""
        return self._crossing(start_s, end_s, level, up=False)

    def _crossing(self, start_s: float, end_s: float, level: float, *, up: bool) -> float | None:
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        t, v = self.time_s[first:last], self.value[first:last]
        if len(t) < 2:
            return None
        above = v > level
        change = above[1:] & ~above[:-1] if up else ~above[1:] & above[:-1]
        at = np.flatnonzero(change)
        if len(at) == 0:
            return None
        k = int(at[0] if up else at[-1])
        share = (level - v[k]) / (v[k + 1] - v[k])
        return float(t[k] + share * (t[k + 1] - t[k]))


def driver_channel(log: Log, role: str) -> Channel | None:
    """
    Read a driver input from a log's channels.

    Parameters
    ----------
    log : Log
    role : {"throttle", "brake", "steering", "rpm"}

    Returns
    -------
    Channel or None
        None where the log has no such channel or it never moves.
    """
    name = log.roles.get(role)
    if name is None or name not in log.channels:
        return None
    raw = log.channels[name]
    if not pd.api.types.is_numeric_dtype(raw):
        return None
    value = raw.to_numpy(dtype=np.float64)
    good = np.isfinite(value)
    if good.sum() < 20:
        return None
    time, value = log.channels["time_s"].to_numpy(dtype=np.float64)[good], value[good]
    low, high = np.percentile(value, _RANGE)
    if not high > low:
        return None
    unit = log.channel_units.get(name) or ""
    return Channel(name, time, (value - low) / (high - low), float(low), float(high - low), unit)


def driver_channels(log: Log) -> dict[str, Channel]:
    """Return every driver input there is in a log, by role, in the order of `ROLES`."""
    found = {role: driver_channel(log, role) for role in ROLES}
    return {role: channel for role, channel in found.items() if channel is not None}
