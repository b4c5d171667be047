"""Where on the circuit a moment was: lap, station, nearest corner."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Corner
from lapwright.laps.track_mapping import TrackMapping

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_MOVING_MPS = 5.0


@dataclass(frozen=True, eq=False)
class Places:
    """
    A session's laps and corners, to look moments up in.

    Attributes
    ----------
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    mapped : TrackMapping
    corners : sequence of Corner
    length_m : float
    """

    laps: pd.DataFrame
    mapped: TrackMapping
    corners: Sequence[Corner]
    length_m: float

    def station_m(self, time_s: npt.ArrayLike) -> Floats:
        """Stations after the start line at some times, shape (k,)."""
        return np.asarray(self.mapped.station_at(time_s) % self.length_m)

    def corner(self, station_m: npt.ArrayLike) -> Ints:
        """Nearest corners to some stations, shape (k,); 0 where the track has none."""
        station = np.atleast_1d(np.asarray(station_m, dtype=np.float64))
        if not self.corners:
            return np.zeros(len(station), dtype=np.int64)
        entry = np.array([c.entry_m for c in self.corners])
        long_m = np.array([c.exit_m for c in self.corners]) - entry
        since = (station[:, None] - entry) % self.length_m
        away = np.where(since <= long_m, 0.0, np.minimum(since - long_m, self.length_m - since))
        order = np.array([c.order for c in self.corners], dtype=np.int64)
        return np.asarray(order[np.argmin(away, axis=1)])

    def lap(self, time_s: float) -> int | None:
        """Lap that a moment belongs to; None outside all."""
        inside = (self.laps["start_s"] <= time_s) & (time_s < self.laps["end_s"])
        return int(self.laps.loc[inside, "lap"].iloc[0]) if inside.any() else None

    @property
    def whole(self) -> pd.DataFrame:
        """Timed laps from line to line."""
        laps = self.laps
        return laps[(laps["kind"] == "timed") & laps["time_s"].notna()]

    def moving_s(self, time_s: npt.ArrayLike) -> Floats:
        """For how long the car had moved until some times, shape (k,). [s]."""
        step = np.append(0.0, np.diff(self.mapped.time_s))
        moved = np.cumsum(np.where(self.mapped.speed_mps > _MOVING_MPS, step, 0.0))
        return np.asarray(np.interp(np.asarray(time_s), self.mapped.time_s, moved))
