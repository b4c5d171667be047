"""What the driver did, from logged channels: when the brake went on and the throttle came back."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.log import Log

Floats = npt.NDArray[np.float64]

# Shares of a channel's own range: on is above a tenth, fully on above nine tenths.  Sensors sit at
# odd zeros and never quite reach their ends, so the range is the log's own.
_ON, _FULL = 0.10, 0.90
# Percentiles that stand for a channel's ends: single odd values are beyond them.
_RANGE = (2.0, 99.0)


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
    """

    name: str
    time_s: Floats
    value: Floats

    def rises(self, start_s: float, end_s: float, level: float = _ON) -> float | None:
        """First moment between two times at which the value goes above a level, or None."""
        return self._crossing(start_s, end_s, level, up=True)

    def falls(self, start_s: float, end_s: float, level: float = _FULL) -> float | None:
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
    role : {"throttle", "brake"}

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
    return Channel(name, time, (value - low) / (high - low))
