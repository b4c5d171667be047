"""The truth about every pass through every corner: slowest point, braking, throttle."""

from itertools import pairwise
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.interpolate import CubicSpline

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout

Floats = npt.NDArray[np.float64]

# The truth's own braking and throttle point: the simulation shares nothing with the estimation,
# whose throttle point (`lapwright.corners.pass_points`) asks for 1 m/s2.
BRAKE_MPS2 = -1.0
THROTTLE_MPS2 = 0.5
# A pass that slows and gains less is a kink: where it is slowest means little.
CLEAR_MPS = 1.5


class _Run(Protocol):
    """What is needed of a `TrueRun`."""

    @property
    def circuit(self) -> Circuit: ...
    @property
    def layout(self) -> Layout: ...
    @property
    def planted(self) -> pd.DataFrame: ...
    @property
    def time_s(self) -> Floats: ...
    @property
    def progress(self) -> CubicSpline: ...
    @property
    def laps(self) -> pd.DataFrame: ...
    @property
    def grid_speed_mps(self) -> Floats: ...
    @property
    def grid_along_mps2(self) -> Floats: ...
    def speed(self, time_s: Floats) -> Floats: ...
    def time_at(self, progress_m: Floats) -> Floats: ...


def corner_passes(run: _Run) -> pd.DataFrame:
    """Table of passes, see `TrueRun.passes`."""
    length, bends = run.circuit.length_m, run.circuit.bends
    apex = np.array([b.apex_m for b in bends])
    speed, along, clock = run.grid_speed_mps, run.grid_along_mps2, run.time_s
    starts = run.laps["start_s"].to_numpy()
    turn_of_lap = {
        round(float(run.progress(t)) / length): lap
        for lap, t in enumerate(starts)
        if np.isfinite(t)
    }
    acting = run.planted.groupby(["turn", "corner"])["habit"].agg(tuple).to_dict()
    rows = []
    for order, turn in enumerate(run.layout.timed):
        around = turn * length + np.r_[apex[-1:] - length, apex, apex[:1] + length]
        edges = run.time_at((around[1:] + around[:-1]) / 2)
        cut = np.clip(
            np.searchsorted(clock, np.nan_to_num(edges, nan=clock[-1])), 0, len(clock) - 1
        )
        slow = [a + int(np.argmin(speed[a:b])) if b > a else a for a, b in pairwise(cut)]
        for c in range(len(bends)):
            before = slow[c - 1] if c else max(0, cut[0] - round(0.5 * (slow[0] - cut[0]) + 100))
            after = slow[c + 1] if c + 1 < len(bends) else cut[-1]
            rows.append(
                {
                    "lap": turn_of_lap.get(turn, -1),
                    "timed_lap": order + 1,
                    "corner": c + 1,
                    **_pass(run, speed, along, before, slow[c], after, turn * length),
                    "habits": acting.get((turn, c + 1), ()),
                }
            )
    return pd.DataFrame(rows)


def _pass(
    run: _Run, speed: Floats, along: Floats, before: int, at: int, after: int, base_m: float
) -> dict[str, float | bool]:
    """One pass, from the slowest point before it to the slowest after it."""
    top = before + int(np.argmax(speed[before : at + 1]))
    step = float(run.time_s[1] - run.time_s[0])
    # The lowest point may be sharp, so it is looked for on a grid 40 times as fine.
    near = run.time_s[at] + np.linspace(-step, step, 81)
    fine = run.speed(np.clip(near, 0.0, run.time_s[-1]))
    min_time, least = float(near[int(np.argmin(fine))]), float(fine.min())
    brake = _first(run.time_s, along - BRAKE_MPS2 < 0, along - BRAKE_MPS2, top, at)
    throttle = _first(run.time_s, along - THROTTLE_MPS2 > 0, along - THROTTLE_MPS2, at, after)
    station = np.asarray(run.progress(np.array([min_time, brake, throttle]))) - base_m
    rise = float(speed[at : max(after, at + 1)].max())
    return {
        "min_time_s": min_time,
        "min_speed_mps": least,
        "min_station_m": float(station[0]),
        "clear": bool(speed[top] - least >= CLEAR_MPS and rise - least >= CLEAR_MPS),
        "brake_time_s": brake,
        "brake_station_m": float(station[1]),
        "throttle_time_s": throttle,
        "throttle_station_m": float(station[2]),
    }


def _first(clock: Floats, met: npt.NDArray[np.bool_], value: Floats, a: int, b: int) -> float:
    """First time in [a, b) at which a condition on a value is met, by linear interpolation."""
    found = np.flatnonzero(met[a:b])
    if len(found) == 0:
        return float("nan")
    k = a + int(found[0])
    if k == a or met[k - 1]:
        return float(clock[k])
    share = value[k - 1] / (value[k - 1] - value[k])
    return float(clock[k - 1] + share * (clock[k] - clock[k - 1]))
