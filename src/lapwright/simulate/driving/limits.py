"""What car and driver allow at every metre of a session, habits and mishaps included."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.ndimage import gaussian_filter1d

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout
from lapwright.simulate.driving.cars import Car
from lapwright.simulate.driving.driver import BrakeEarly, Driver, LateThrottle, SlowMinimum
from lapwright.simulate.driving.line import window
from lapwright.simulate.driving.nominal import UNLIMITED_MPS, Nominal
from lapwright.simulate.driving.plan import HeldUp, Off, Plan, ShortCut, Traffic
from lapwright.simulate.driving.profile import Limits

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Outing:
    """All that is settled about a session before the speed along it."""

    circuit: Circuit
    car: Car
    driver: Driver
    plan: Plan
    layout: Layout
    nominal: tuple[Nominal, ...]
    planted: pd.DataFrame


def plant(
    circuit: Circuit,
    driver: Driver,
    layout: Layout,
    nominal: tuple[Nominal, ...],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """
    Draw in which laps each habit acts: exactly its share of the timed laps, in random order.

    Raises
    ------
    ValueError
        If a corner is not there, or is taken without what the habit changes.
    """
    rows = []
    for habit in driver.habits:
        if not isinstance(habit, BrakeEarly | SlowMinimum | LateThrottle):
            continue
        if not 1 <= habit.corner <= len(circuit.bends):
            msg = f"{habit}: {circuit.name} has corners 1 to {len(circuit.bends)}"
            raise ValueError(msg)
        corner = nominal[habit.corner - 1]
        needed = {BrakeEarly: corner.brake_m, LateThrottle: corner.throttle_m}
        if needed.get(type(habit), 0.0) is None:
            msg = f"{habit}: corner {habit.corner} is taken without braking or lifting"
            raise ValueError(msg)
        acting = rng.permutation(len(layout.timed)) < round(habit.share * len(layout.timed))
        size = habit.speed_mps if isinstance(habit, SlowMinimum) else habit.metres
        rows += [
            (order + 1, layout.timed[order], habit.corner, type(habit).__name__, size)
            for order in np.flatnonzero(acting).tolist()
        ]
    return pd.DataFrame(rows, columns=["timed_lap", "turn", "corner", "habit", "size"])


def limits(
    outing: Outing, progress_m: Floats, pit_share: Floats, rng: np.random.Generator
) -> Limits:
    """
    Limits at every node of a session.

    Parameters
    ----------
    outing : Outing
    progress_m, pit_share : ndarray, shape (n,)
        Progress of the nodes [m] and how far they lie in the pit lane, 0 to 1.
    rng : Generator
    """
    circuit, car, driver = outing.circuit, outing.car, outing.driver
    pace = _pace(outing, progress_m, rng)
    turns = sorted(outing.layout.kinds)
    shape = (len(turns), len(outing.nominal))
    corner_speed = np.exp(rng.normal(0, 1, shape) * driver.corner_spread)
    early = rng.normal(0, 1, shape) * driver.braking_sd_m
    late = np.maximum(0.0, driver.throttle_sd_m * (1 + rng.normal(0, 1, shape)))
    gently = {h.corner for h in driver.habits if isinstance(h, BrakeEarly) and h.gently}
    for _, turn, corner, habit, size in outing.planted.itertuples(index=False):
        cell = (turns.index(turn), corner - 1)
        early[cell] += size if habit == "BrakeEarly" and corner in gently else 0.0
        late[cell] += size if habit == "LateThrottle" else 0.0
    braking_share = np.ones_like(progress_m)
    if outing.nominal:
        at = np.array([t * circuit.length_m + c.min_m for t in turns for c in outing.nominal])
        pace = pace * np.interp(progress_m, at, corner_speed.ravel())
        gentle = _braking_share(outing, early).ravel()
        braking_share = np.append(gentle, 1.0)[np.searchsorted(at, progress_m)]
    pace = pace * _slow_minima(outing, progress_m)
    cap = np.full_like(progress_m, UNLIMITED_MPS)
    for _, turn, corner, habit, size in outing.planted.itertuples(index=False):
        if habit == "BrakeEarly" and corner not in gently:
            held = outing.nominal[corner - 1].rolling(progress_m - turn * circuit.length_m, size)
            cap = np.minimum(cap, held * pace / driver.pace)
    if circuit.pit is not None:
        cap[pit_share > 0.5] = circuit.pit.limit_mps
    for event in outing.plan.events:
        if isinstance(event, HeldUp):
            cap[_behind(outing, event, progress_m)] = event.speed_mps
    traction = _traction(outing, turns, progress_m, late)
    for stop in outing.layout.stops:
        node = int(np.argmin(np.abs(progress_m - stop.progress_m)))
        cap[node] = 0.0
        traction[node : node + 80] = car.traction_mps2  # or it would never get away
    return Limits(
        car.lateral_mps2 * pace**2,
        car.braking_mps2 * pace**2 * braking_share,
        traction,
        car.power_wpkg * np.minimum(pace / driver.pace, 1.0) ** 3,
        cap,
        car.drag_per_m,
    )


def _behind(outing: Outing, event: HeldUp, progress_m: Floats) -> npt.NDArray[np.bool_]:
    """Which nodes lie on the way behind another car."""
    length = outing.circuit.length_m
    begin_m = (outing.layout.timed[event.timed_lap - 1] + event.begins) * length
    return np.asarray((progress_m >= begin_m) & (progress_m <= begin_m + event.length_m))


def _pace(outing: Outing, progress_m: Floats, rng: np.random.Generator) -> Floats:
    """Share of the car's speed at every node: kinds of laps, warming up, traffic, mishaps."""
    circuit, driver, plan, layout = outing.circuit, outing.driver, outing.plan, outing.layout
    length = circuit.length_m
    whole = {"out": plan.out_pace, "in": plan.in_pace, "timed": 1.0}
    turn = np.floor(progress_m / length).astype(int)
    turn = np.clip(turn, min(layout.kinds), max(layout.kinds))
    pace = np.empty_like(progress_m)
    for number, kind in sorted(layout.kinds.items()):
        value = driver.pace * whole[kind] * np.exp(rng.normal(0, 1) * driver.lap_spread)
        if kind == "timed":
            value *= 1 - driver.settling * 0.5 ** layout.timed.index(number)
            value *= 1 - driver.fade_per_lap * _laps_into_stint(layout, number)
        pace[turn == number] = value
    for event in plan.events:
        base = layout.timed[event.timed_lap - 1] * length
        if isinstance(event, Traffic):
            a, b = base + event.begins * length, base + event.ends * length
            pace *= 1 - (1 - event.pace) * window(progress_m, a, b, 60.0)
        elif isinstance(event, Off):
            middle = base + circuit.bends[event.corner - 1].exit_m
            pace *= 1 - (1 - event.pace) * window(progress_m, middle, middle + 90.0, 40.0)
        elif isinstance(event, ShortCut):
            middle = base + circuit.bends[event.corner - 1].apex_m
            pace *= 1 - 0.15 * window(progress_m, middle - 30.0, middle + 60.0, 40.0)
    # Twelve metres, so that no step is left at the line.
    return np.asarray(gaussian_filter1d(pace, 12.0, mode="nearest"))


def _laps_into_stint(layout: Layout, turn: int) -> int:
    """How many timed laps of the same stint came before one."""
    count = 0
    while layout.kinds.get(turn - count - 1) == "timed":
        count += 1
    return count


def _slow_minima(outing: Outing, progress_m: Floats) -> Floats:
    """Share of the speed that is left where a driver is slow at the slowest point."""
    length = outing.circuit.length_m
    share = np.ones_like(progress_m)
    for _, turn, corner, habit, size in outing.planted.itertuples(index=False):
        if habit == "SlowMinimum":
            bend, usual = outing.circuit.bends[corner - 1], outing.nominal[corner - 1]
            middle = turn * length + usual.min_m
            reach = max(15.0, ((bend.exit_m - bend.entry_m) % length) / 2)
            inside = window(progress_m, middle - reach, middle + reach, 15.0)
            share *= 1 - size / usual.min_mps * inside
    return share


def _braking_share(outing: Outing, early_m: Floats) -> Floats:
    """How gently to brake so that braking begins `early_m` before the usual place."""
    share = np.ones_like(early_m)
    for c, corner in enumerate(outing.nominal):
        if corner.brake_m is not None:
            share[:, c] = corner.gentler(early_m[:, c])
    return share


def _traction(outing: Outing, turns: list[int], progress_m: Floats, late_m: Floats) -> Floats:
    """Traction at every node: none from the slowest point to where the throttle is applied."""
    traction = np.full_like(progress_m, outing.car.traction_mps2)
    for row, turn in enumerate(turns):
        base = turn * outing.circuit.length_m
        for c, corner in enumerate(outing.nominal):
            if corner.throttle_m is not None and late_m[row, c] > 0:
                until = base + corner.throttle_m + late_m[row, c]
                a, b = np.searchsorted(progress_m, [base + corner.min_m, until])
                traction[a:b] = 0.0
    return traction
