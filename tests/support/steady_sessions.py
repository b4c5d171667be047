"""
Sessions driven at a steady speed with so much time lost in a corner as a test says.

The circuit is 3000 m round and has three corners far apart.  Nothing is estimated: times, places
and their errors are known, so that what coaching makes of them can be worked out by hand.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
from straight_motion import HEADING_RAD, Straight

from lapwright.geometry import Corner, Track
from lapwright.kept import Shelf
from lapwright.laps.lap_trace import LapTrace
from lapwright.laps.session_offset import SessionOffset
from lapwright.motion import Motion
from lapwright.notes.weekend_notes import LogNotes

LENGTH_M, SPEED_MPS = 3000.0, 20.0
LAP_S = LENGTH_M / SPEED_MPS
CORNERS = tuple(
    Corner(k, str(k), "left", entry, entry + 50.0, entry + 100.0, 50.0)
    for k, entry in ((1, 500.0), (2, 1400.0), (3, 2200.0))
)
_MARGIN_M = 600.0

Edit = Callable[[int, LapTrace], LapTrace]


def _as_it_is(lap: int, trace: LapTrace) -> LapTrace:
    return trace


@dataclass(frozen=True)
class Steady:
    """
    A session of laps at 20 m/s.

    ``lost_s`` is the time lost within a corner, evenly from entry to exit, by lap and corner;
    ``pace`` makes everything take so much longer; ``values`` are columns of the passes by corner,
    a number for each lap.
    """

    count: int
    lost_s: Mapping[tuple[int, int], float] = field(default_factory=dict)
    pace: float = 1.0
    values: Mapping[tuple[int, str], "np.ndarray | list[float]"] = field(default_factory=dict)
    placing_cov_m2: np.ndarray = field(default_factory=lambda: np.zeros((2, 2)))
    clock_rate_sd: float = 0.0
    not_clean: tuple[int, ...] = ()
    not_timed: tuple[int, ...] = ()
    edit: Edit = _as_it_is
    corners: tuple[Corner, ...] = CORNERS
    notes: LogNotes = field(default_factory=LogNotes)

    @property
    def shelf(self) -> Shelf:
        return Shelf(None)

    @property
    def track(self) -> Track:
        path = SimpleNamespace(
            at=lambda s: SimpleNamespace(heading_rad=np.full(np.shape(s), HEADING_RAD))
        )
        return cast("Track", SimpleNamespace(corners=self.corners, path=path, length_m=LENGTH_M))

    @property
    def motion(self) -> Motion:
        ends = np.array([-1e4, 1e4])
        return Straight(
            ends, np.full(2, SPEED_MPS), np.zeros(2), clock_rate_sd=self.clock_rate_sd,
            start_s=-1e4, end_s=1e4,
        ).motion()  # fmt: skip

    @property
    def laps(self) -> pd.DataFrame:
        number = np.arange(1, self.count + 1)
        return pd.DataFrame(
            {
                "lap": number, "representative": ~np.isin(number, self.not_clean),
                "kind": np.where(np.isin(number, self.not_timed), "in", "timed"),
            }
        )  # fmt: skip

    @property
    def bare_passes(self) -> pd.DataFrame:
        rows = [
            {
                "lap": lap, "corner": c.order, "brake_station_m": c.entry_m - 60.0,
                "min_speed_station_m": c.apex_m, "min_speed_mps": 15.0, "time_s": 5.0,
                "throttle_station_m": c.apex_m + 10.0, "apex_offset_m": 0.0, "exit_offset_m": 0.0,
            }
            | {name: v[lap - 1] for (order, name), v in self.values.items() if order == c.order}
            for lap in range(1, self.count + 1)
            for c in self.corners
        ]  # fmt: skip
        return pd.DataFrame(rows)

    @property
    def placing(self) -> SessionOffset:
        return SessionOffset(np.zeros(2), self.placing_cov_m2)

    def trace(self, lap: int) -> LapTrace:
        station = np.arange(-_MARGIN_M, LENGTH_M + _MARGIN_M + 2.0, 2.0)
        own = station / SPEED_MPS
        for c in self.corners:
            ends = [c.entry_m, c.exit_m]
            own = own + np.interp(station, ends, [0.0, self.lost_s.get((lap, c.order), 0.0)])
        time = 2.0 * LAP_S * lap + self.pace * own
        still = np.zeros(len(time))
        trace = LapTrace(
            lap, 2.0 * LAP_S * lap, float(np.interp(LENGTH_M, station, time)), LENGTH_M, time,
            station, still, station, still, still + SPEED_MPS, still, still + 5.0, still,
        )  # fmt: skip
        return self.edit(lap, trace)

    @property
    def traces(self) -> dict[int, LapTrace]:
        """Of all laps."""
        return {lap: self.trace(lap) for lap in range(1, self.count + 1)}

    def with_placing(self, cov_m2: np.ndarray) -> "Steady":
        """The same, placed on the track no better than so."""
        return replace(self, placing_cov_m2=cov_m2)
