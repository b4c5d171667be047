"""
Grip use: how much of what the driver reaches elsewhere was used in each corner.

The yardstick is the driver's own envelope, the acceleration they reach in each direction at each
speed, not what the tyres could do.  Acceleration is that of the car over ground: on a banked or
crested piece of road the tyres carry more or less than it shows, so a corner with camber can look
better or worse used than it was.  Straight ahead the envelope is the engine's, not the tyres'.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import records
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]

# Directions from braking straight (-90 degrees) over pure cornering (0) to driving straight (90).
_SECTOR_DEG = 15.0
# Bands of speed, each with as many samples: wings and drag change the limit with speed.
_BANDS = 4
# The envelope is what is reached now and then, not the one highest value, which is noise.
REACHED = 0.95
# Of fewer, the twentieth part that is above is one sample or none.
_MIN_COUNT = 30
# A car asking less than this of its tyres is not near any envelope. [m/s2]
_QUIET_MPS2 = 1.0
# The middle of a corner: so far on either side of the slowest point.
_MIDDLE_M = 15.0


@dataclass(frozen=True, eq=False)
class Envelope:
    """
    The accelerations a driver reaches.

    Attributes
    ----------
    direction_deg : ndarray, shape (d,)
        Middles of the sectors: -90 braking straight, 0 cornering, 90 driving straight; left and
        right are taken together.
    speed_mps : ndarray, shape (s,)
        Middles of the speed bands. [m/s]
    reached_mps2 : ndarray, shape (s, d)
    """

    direction_deg: Floats
    speed_mps: Floats
    reached_mps2: Floats

    def at(self, accel_long_mps2: Floats, accel_lat_mps2: Floats, speed_mps: Floats) -> Floats:
        """Acceleration reached in the directions and at the speeds given, shape (k,). [m/s2]."""
        direction = _direction_deg(accel_long_mps2, accel_lat_mps2)
        x = np.clip(
            (direction - self.direction_deg[0]) / _SECTOR_DEG, 0.0, len(self.direction_deg) - 1.0
        )
        y = np.interp(speed_mps, self.speed_mps, np.arange(len(self.speed_mps), dtype=np.float64))
        i, j = np.floor(y).astype(int), np.floor(x).astype(int)
        i, j = (
            np.minimum(i, max(len(self.speed_mps) - 2, 0)),
            np.minimum(j, len(self.direction_deg) - 2),
        )
        up = np.minimum(i + 1, len(self.speed_mps) - 1)
        fy, fx = y - i, x - j
        r = self.reached_mps2
        low = r[i, j] * (1.0 - fx) + r[i, j + 1] * fx
        high = r[up, j] * (1.0 - fx) + r[up, j + 1] * fx
        return np.asarray(low * (1.0 - fy) + high * fy)


@dataclass(frozen=True, eq=False)
class GripUse:
    """
    Grip used in a session.

    Attributes
    ----------
    envelope : Envelope
    passes : DataFrame
        ``lap``, ``corner``, ``grip_braking``, ``grip_middle``, ``grip_exit``: share of the
        envelope used on average from the braking point to 15 m before the slowest point, within
        15 m of it, and from there to the corner's end; NaN where there is no such phase.
    corners : DataFrame
        ``corner`` and the medians of the three.
    """

    envelope: Envelope
    passes: pd.DataFrame
    corners: pd.DataFrame


def _direction_deg(along: Floats, across: Floats) -> Floats:
    return np.asarray(np.degrees(np.arctan2(along, np.abs(across))))


def find_envelope(accel_long_mps2: Floats, accel_lat_mps2: Floats, speed_mps: Floats) -> Envelope:
    """
    Find the envelope of a driver's accelerations.

    Parameters
    ----------
    accel_long_mps2, accel_lat_mps2, speed_mps : ndarray, shape (n,)
        Of clean laps, evenly in time.

    Returns
    -------
    Envelope
        Where too few moments lie, the value of the nearest sector or band that has enough.
    """
    asked = np.hypot(accel_long_mps2, accel_lat_mps2)
    direction = _direction_deg(accel_long_mps2, accel_lat_mps2)
    middles = np.arange(-90.0, 90.0 + 0.5 * _SECTOR_DEG, _SECTOR_DEG)
    edges = np.quantile(speed_mps, np.linspace(0.0, 1.0, _BANDS + 1))
    bands = 0.5 * (edges[1:] + edges[:-1])
    reached = np.full((_BANDS, len(middles)), np.nan)
    for j, middle in enumerate(middles):
        # Sectors overlap by half, or a value near an edge would be judged by another envelope.
        sector = np.abs(direction - middle) <= _SECTOR_DEG
        for i in range(_BANDS):
            cell = asked[sector & (speed_mps >= edges[i]) & (speed_mps <= edges[i + 1])]
            if len(cell) >= _MIN_COUNT:
                reached[i, j] = np.quantile(cell, REACHED)
        whole = asked[sector]
        if not np.isfinite(reached[:, j]).any() and len(whole) >= _MIN_COUNT:
            reached[:, j] = np.quantile(whole, REACHED)
    return Envelope(middles, bands, _filled(reached))


def _filled(reached: Floats) -> Floats:
    """Empty cells from the nearest speed band of the same direction, then the nearest direction."""
    out = reached.copy()
    for axis in (0, 1):
        lines = out if axis == 1 else out.T
        for line in lines:
            there = np.flatnonzero(np.isfinite(line))
            if len(there):
                every = np.arange(len(line))
                nearest = there[np.argmin(np.abs(every[:, None] - there[None, :]), axis=1)]
                line[:] = line[nearest]
    return np.nan_to_num(out, nan=_QUIET_MPS2)


def grip_use(traces: Sequence[LapTrace], passes: pd.DataFrame, corners: pd.DataFrame) -> GripUse:
    """
    Measure grip use.

    Parameters
    ----------
    traces : sequence of LapTrace
        Of clean laps; the envelope is theirs.
    passes : DataFrame
        See `lapwright.corners.pass_table`.
    corners : DataFrame
        ``corner``, ``exit_m``.

    Returns
    -------
    GripUse
    """
    names = ["grip_braking", "grip_middle", "grip_exit"]
    if not traces:
        nothing = Envelope(np.array([-90.0, 90.0]), np.zeros(1), np.ones((1, 2)))
        empty = pd.DataFrame(columns=["lap", "corner", *names], dtype=np.float64)
        empty = empty.astype({"lap": np.int64, "corner": np.int64})
        return GripUse(nothing, empty, empty[["corner", *names]])
    parts = [
        np.stack([t.accel_long_mps2, t.accel_lat_mps2, t.speed_mps])[:, t.inside] for t in traces
    ]
    envelope = find_envelope(*np.concatenate(parts, axis=1))
    exits = corners.set_index("corner")["exit_m"]
    by_lap = {t.lap: t for t in traces}
    rows = []
    for row in records(passes[passes["lap"].isin(list(by_lap))]):
        trace, slow = by_lap[int(row["lap"])], float(row["min_speed_station_m"])
        ends = (
            (float(row["brake_station_m"]), slow - _MIDDLE_M),
            (slow - _MIDDLE_M, slow + _MIDDLE_M),
            (slow + _MIDDLE_M, float(exits[row["corner"]])),
        )
        used = [_used(trace, envelope, a, b) for a, b in ends]
        rows.append((row["lap"], row["corner"], *used))
    table = pd.DataFrame(rows, columns=["lap", "corner", *names])
    medians = table.groupby("corner")[names].median().reset_index()
    return GripUse(envelope, table, medians)


def _used(trace: LapTrace, envelope: Envelope, start_m: float, end_m: float) -> float:
    """Mean share of the envelope used between two stations; NaN where nothing lies between."""
    if not end_m > start_m:
        return float("nan")
    part = trace.within(start_m, end_m)
    if part.stop - part.start < 2:
        return float("nan")
    along, across = trace.accel_long_mps2[part], trace.accel_lat_mps2[part]
    reached = envelope.at(along, across, trace.speed_mps[part])
    return float(np.mean(np.hypot(along, across) / np.maximum(reached, _QUIET_MPS2)))
