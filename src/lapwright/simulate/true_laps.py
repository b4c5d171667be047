"""Cut a true run into laps at any line: parts, kinds, sectors and what happened in each."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.interpolate import CubicSpline

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout
from lapwright.simulate.driving.plan import Plan

Floats = npt.NDArray[np.float64]


class _Run(Protocol):
    """What is needed of a run."""

    @property
    def circuit(self) -> Circuit: ...
    @property
    def plan(self) -> Plan: ...
    @property
    def layout(self) -> Layout: ...
    @property
    def progress(self) -> CubicSpline: ...
    @property
    def stop_times_s(self) -> tuple[tuple[float, float], ...]: ...
    @property
    def duration_s(self) -> float: ...
    @property
    def visit_times_s(self) -> tuple[tuple[float, float], ...]: ...
    @property
    def happenings(self) -> list[tuple[str, float, float]]: ...
    def crossings(self, gate_m: Floats) -> pd.DataFrame: ...


def cut_laps(run: _Run, gate_m: Floats, sector_gates_m: Sequence[Floats]) -> pd.DataFrame:
    """Cut a run into laps; see `TrueRun.laps_at`."""
    parts = _parts(run, gate_m)
    sectors = [_forward(run, g)["time_s"].to_numpy() for g in sector_gates_m]
    rows = []
    bounds = _bounds(run, parts)
    for lap, ((start, start_pit), (end, end_pit)) in enumerate(pairwise(bounds)):
        kind = "timed"
        if end_pit:
            kind = "in"
        elif start_pit:
            kind = "out"
        if lap == 0:
            kind = "out"
        begin, finish = np.nan_to_num(start, nan=0.0), np.nan_to_num(end, nan=run.duration_s)
        rows.append(
            {
                "lap": lap,
                "kind": kind,
                "complete": bool(np.isfinite(start) and np.isfinite(end)),
                "start_s": start,
                "end_s": end,
                "time_s": end - start,
                "sectors_s": _sector_times(start, end, begin, finish, sectors),
                "starts_in_pit_lane": bool(start_pit and np.isfinite(start)),
                "ends_in_pit_lane": bool(end_pit and np.isfinite(end)),
                "flags": _flags(run, begin, finish, kind, lap == len(bounds) - 2),
            }
        )
    return pd.DataFrame(rows)


def _forward(run: _Run, gate_m: Floats) -> pd.DataFrame:
    """Crossings in the driving direction, one a lap: not those after rolling back."""
    table = run.crossings(gate_m)
    table = table[table["forward"]]
    keep, last = [], -np.inf
    for time_s in table["time_s"].tolist():
        way = float(run.progress(time_s))
        keep.append(way - last > 0.3 * run.circuit.length_m)
        last = way if keep[-1] else last
    return table[np.array(keep, dtype=bool)].reset_index(drop=True)


def _bounds(run: _Run, parts: list[tuple[float, bool]]) -> list[tuple[float, bool]]:
    """Parts with an unknown begin and end, unless the log begins or ends in the pit lane."""
    bounds = list(parts)
    visits = run.visit_times_s
    parked = visits and visits[0][0] == 0.0
    if not (parts and parked and parts[0][0] <= visits[0][1]):
        bounds.insert(0, (np.nan, True))
    parked = visits and visits[-1][1] == run.duration_s
    if not (parts and parked and parts[-1][0] >= visits[-1][0]):
        bounds.append((np.nan, True))
    return bounds


def _parts(run: _Run, gate_m: Floats) -> list[tuple[float, bool]]:
    """Where the laps are parted: time and whether in the pit lane."""
    table = _forward(run, gate_m)
    parts = list(zip(table["time_s"].tolist(), table["in_pit_lane"].tolist(), strict=True))
    for (begin, end), stop in zip(run.stop_times_s, run.layout.stops, strict=True):
        if stop.why != "pit stop":
            continue
        a, b = next(v for v in run.visit_times_s if v[0] <= begin <= v[1])
        if not any(a <= t <= b for t, _ in parts):
            parts.append(((begin + end) / 2, True))
    return sorted(parts)


def _flags(run: _Run, begin_s: float, end_s: float, kind: str, last: bool) -> tuple[str, ...]:
    """What happened between two times."""
    flags = []
    for name, a, b in run.happenings:
        if a < end_s and b > begin_s and name not in flags:
            flags.append(name)
    for (a, b), stop in zip(run.stop_times_s, run.layout.stops, strict=True):
        if stop.why == "grid" and begin_s - 30.0 < b < begin_s and kind == "timed":
            flags.append("standing_start")
        if stop.why in ("grid", "spin") and a < end_s and b > begin_s and "stop" not in flags:
            flags.append("stop")
    if last and run.plan.end == "track":
        flags.append("log_ends")
    return tuple(flags)


def _sector_times(
    start_s: float, end_s: float, begin_s: float, finish_s: float, sectors_s: list[Floats]
) -> tuple[float, ...]:
    """Sector times of one lap; NaN beside a line that was not crossed."""
    marks = [start_s]
    for times in sectors_s:
        inside = times[(times > begin_s) & (times < finish_s)]
        marks.append(float(inside[0]) if len(inside) else np.nan)
    return tuple(float(d) for d in np.diff([*marks, end_s]))
