"""
What a report of a session should show, worked out from the session's tables.

Nothing in here goes through the report's own way from a table to a text: every number is looked
up by its lap and its corner.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from shown import True_
from shown_names import MINIMUM, NO_LIFT, Column

from lapwright.laps.comparison import Comparison
from lapwright.laps.gap_to_best import gaps_to_best
from lapwright.laps.lap_trace import LapTrace
from lapwright.session import Session

# Standard gravity: 3rd CGPM, 1901. Mile and foot: international yard, 1959.
G_MPS2 = 9.80665
SPEED = {"km/h": 3.6, "mph": 3600.0 / 1609.344, "m/s": 1.0}
DISTANCE = {"m": 1.0, "ft": 1.0 / 0.3048}
# A difference below so many sd is no difference: the docs' promise.
EQUAL_SD = 2.0


def split_units(units: str) -> tuple[str, str]:
    """Return unit of speed and unit of distance."""
    speed, _, far = units.partition(",")
    return speed, far or "m"


def factor(kind: str, units: str) -> float:
    """From SI to the unit shown."""
    speed, far = split_units(units)
    return {"s": 1.0, "g": 1.0 / G_MPS2, "speed": SPEED[speed], "far": DISTANCE[far]}[kind]


def keyed(table: pd.DataFrame, name: str) -> pd.DataFrame:
    """Rows of a table by a column that names each row once."""
    assert table[name].is_unique
    return table.set_index(name)


def by_run(table: pd.DataFrame) -> dict[tuple[int, int], dict[str, Any]]:
    """Rows of a table of runs through corners, by lap and corner."""
    return {
        (int(row["lap"]), int(row["corner"])): {str(k): v for k, v in row.items()}
        for row in table.to_dict("records")
    }


def ledger_sum(c: Comparison, corner: int, stretch: str | None = None) -> tuple[float, float]:
    """Time lost in a corner, or on one stretch of it, and its sd; NaN where none is."""
    picked = [
        row["corner"] == corner and stretch in (None, row["stretch"])
        for row in c.ledger.to_dict("records")
    ]
    rows = c.ledger[picked]
    if not float((rows["end_m"] - rows["start_m"]).sum()) > 0.0:
        return math.nan, math.nan
    at = np.flatnonzero(picked)
    variance = float(c.ledger_cov_s2[np.ix_(at, at)].sum())
    return float(rows["difference_s"].sum()), math.sqrt(max(variance, 0.0))


@dataclass(frozen=True, eq=False)
class Truth:
    """A session's numbers by lap, corner and stretch."""

    session: Session

    @cached_property
    def laps(self) -> pd.DataFrame:
        """The lap table by lap."""
        return keyed(self.session.laps, "lap")

    @cached_property
    def timed(self) -> list[int]:
        """Laps from line to line."""
        known = (self.laps["kind"] == "timed") & self.laps["time_s"].notna()
        return [int(n) for n in self.laps.index[known]]

    @cached_property
    def clean(self) -> list[int]:
        """Laps that count."""
        return [int(n) for n in self.laps.index[self.laps["representative"]]]

    @property
    def best(self) -> int | None:
        """The best lap."""
        return self.session.best_lap

    @cached_property
    def usual(self) -> int | None:
        """The clean lap, not the best, nearest to the median of those; not just after a start."""
        cold = {
            n + 1 for n, row in self.laps.iterrows()
            if row["kind"] == "out" or "standing_start" in row["flags"]
        }  # fmt: skip
        others = [n for n in self.clean if n != self.best]
        warm = [n for n in others if n not in cold] or others
        rest = self.laps.loc[warm, "time_s"]
        return None if rest.empty else int((rest - rest.median()).abs().idxmin())

    @cached_property
    def gaps(self) -> pd.DataFrame:
        """Distance to the best lap, by lap."""
        session = self.session
        found = gaps_to_best(session.laps, session.cuts, self.best)
        return found.set_axis(session.laps["lap"].to_numpy(), axis=0)

    @cached_property
    def comparison(self) -> Comparison | None:
        """The usual lap against the best."""
        if self.usual is None or self.best is None:
            return None
        return self.session.compare(self.usual, self.best)

    def trace(self, lap: int) -> LapTrace:
        """One lap along the path."""
        return self.session.trace(lap)

    @cached_property
    def corners(self) -> pd.DataFrame:
        """The corners by number."""
        return keyed(self.session.corners, "corner")

    @cached_property
    def labels(self) -> dict[str, str]:
        """What corners are called, and the word that stands for each when read back."""
        out = {}
        for corner, name in self.corners["name"].items():
            label = f"corner {corner}" if name in ("", str(corner)) else f"{corner} {name}"
            # As a head, and as a sentence has it.
            out[label] = out[f"{name} ({corner})"] = f"corner:{corner}"
        if out:
            out["the start line and corner 1"] = "corner:0"
        return out

    def label(self, corner: int) -> str:
        """What a corner is called; 0 is what lies before the first."""
        if corner == 0:
            return "start to corner 1" if self.labels else "the lap"
        return next(k for k, v in self.labels.items() if v == f"corner:{corner}")

    @cached_property
    def passes(self) -> dict[tuple[int, int], dict[str, Any]]:
        """Runs through corners by lap and corner, with what is derived from them."""
        session = self.session
        table = session.passes
        rows = by_run(table)
        assert len(rows) == len(table)
        for (lap, corner), row in rows.items():
            place = self.corners.loc[corner]
            for point, station in (
                ("turn_in", row["turn_in_station_m"]),
                ("apex", place["apex_m"]),
                ("exit", place["exit_m"]),
            ):
                row[f"{point}_aside_m"] = self._aside(lap, corner, float(station))
            row["throttle_m"] = row["throttle_station_m"] - float(place["apex_m"])
            row["slowest_m"] = row["min_speed_station_m"] - float(place["apex_m"])
        return rows

    def _aside(self, lap: int, corner: int, station_m: float) -> float:
        """To the left of the median of the clean laps."""
        there = self.session.passes
        own = there[(there["corner"] == corner) & there["lap"].isin(self.clean)]
        if not math.isfinite(station_m) or len(own) < 2:
            return math.nan
        clean = [float(self.trace(n).at_station("offset_m", station_m)) for n in self.clean]
        mine = float(self.trace(lap).at_station("offset_m", station_m))
        return mine - float(np.median(clean))

    def laps_through(self, corner: int) -> list[int]:
        """Laps with a run through a corner, in order."""
        here = self.session.passes
        return sorted(int(n) for n in here.loc[here["corner"] == corner, "lap"])

    def cell(self, lap: int, corner: int, column: Column, units: str) -> "True_ | str":
        """One number of a corner's table; a word where the car did not slow for the corner."""
        row, scale = self.passes[lap, corner], factor(column.kind, units)
        if column.name == MINIMUM and row["flat"]:
            return NO_LIFT
        sd = float(row[column.sd]) * scale if column.own else math.nan
        return True_(float(row[column.name]) * scale, sd, column.most, bar=column.own)

    def values(self, corner: int, laps: list[int], name: str) -> "np.ndarray":
        """The known numbers of a column on some laps."""
        there = [self.passes[n, corner] for n in laps if (n, corner) in self.passes]
        found = np.array([float(row[name]) for row in there])
        return found[np.isfinite(found)]

    def no_lift(self, corner: int, laps: list[int], name: str) -> bool:
        """Whether most of some laps have no minimum speed, because the car did not slow."""
        flat = [self.passes[n, corner]["flat"] for n in laps if (n, corner) in self.passes]
        return name == MINIMUM and 2 * sum(flat) > len(flat)

    def quickest(self, corner: int) -> list[int]:
        """The quickest third of the clean runs, none where that is a single one."""
        spans = self.session.evidence.passes
        mine = spans[(spans["corner"] == corner) & spans["lap"].isin(self.clean)]
        count = len(mine) // 3
        return [int(n) for n in mine.sort_values("span_s")["lap"][:count]] if count > 1 else []

    def ledger_sum(self, corner: int, stretch: str | None = None) -> tuple[float, float]:
        """Time lost in a corner, or on one stretch of it, and its sd; NaN where none is."""
        assert self.comparison is not None
        return ledger_sum(self.comparison, corner, stretch)
