"""
Drive a circuit: from a car, a driver and a plan to a `TrueRun`.

The path is laid first, node by node along the road, then the speed along it by
the car's limits, then time.  Progress over time is convolved with a short bump, so
that acceleration has no steps: a pedal takes 0.3 s to go down.  The run itself is
the cubic spline through the result at 100 Hz: the truth is that spline, so it is
exact by definition, not by resolution.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.interpolate import CubicHermiteSpline, CubicSpline
from scipy.ndimage import gaussian_filter1d

from lapwright.simulate.cars import LIGHT_CAR, Car
from lapwright.simulate.circuits import Circuit
from lapwright.simulate.driver import BrakeEarly, Driver, LateThrottle, SlowMinimum
from lapwright.simulate.layout import Layout, lay_out, pit_share
from lapwright.simulate.line import driven_offset, window
from lapwright.simulate.plan import Off, Plan, ShortCut, Traffic
from lapwright.simulate.profile import Limits, node_times, speed_profile
from lapwright.simulate.truth import TrueRun

Floats = npt.NDArray[np.float64]

STEP_M = 1.0
GRID_HZ = 100
# Half of the time a pedal takes to go down or come up. [s]
PEDAL_S = 0.15
# No limit at all, for a driver who wants none. [m/s]
UNLIMITED_MPS = 150.0


@dataclass(frozen=True, slots=True)
class Nominal:
    """
    A corner as the driver takes it when nothing varies; stations in metres.

    `brake_m` and `throttle_m` are None where the corner is taken without.
    """

    min_m: float
    min_mps: float
    brake_m: float | None
    throttle_m: float | None


def drive(
    circuit: Circuit,
    car: Car = LIGHT_CAR,
    driver: Driver | None = None,
    plan: Plan | None = None,
    seed: int = 0,
    *,
    usual_line: bool = True,
) -> TrueRun:
    """
    Drive one session.

    Parameters
    ----------
    circuit : Circuit
    car : Car
    driver : Driver or None
        None is a driver without habits.
    plan : Plan or None
        None is twelve timed laps from the pits and back.
    seed : int
        The same seed gives the same run.
    usual_line : bool
        False keeps the car to the centre line (apart from the driver's variation).

    Returns
    -------
    run : TrueRun
    """
    driver, plan = driver or Driver(), plan or Plan()
    rng = np.random.default_rng([7403, seed])
    layout = lay_out(circuit, plan)
    count = max(8, round((layout.last_m - layout.first_m) / STEP_M))
    progress = np.linspace(layout.first_m, layout.last_m, count + 1)
    share = pit_share(circuit, layout.visits, progress)
    offset = driven_offset(circuit, driver, plan, layout, progress, rng, usual_line)
    if circuit.pit is not None:
        offset = offset * (1 - share) + circuit.pit.offset_m * share
    path = _Path(circuit, progress, offset)
    nominal = nominal_corners(circuit, car, driver.pace, usual_line)
    planted = _plant(circuit, driver, layout, nominal, rng)
    limits = _limits(circuit, car, driver, plan, layout, progress, share, nominal, planted, rng)
    speed = speed_profile(path.step_m, path.curvature_per_m, limits)
    time_s, travelled_m, stop_times = _over_time(layout, progress, path, speed, limits.cap_mps)
    station = path.progress_at(travelled_m)
    n = path.offset_at(station)
    return TrueRun(
        circuit=circuit,
        car=car,
        driver=driver,
        plan=plan,
        seed=seed,
        layout=layout,
        time_s=time_s,
        progress=CubicSpline(time_s, station),
        offset=CubicSpline(time_s, n),
        position=CubicSpline(time_s, circuit.place(station, n)),
        planted=planted,
        stop_times_s=stop_times,
    )


class _Path:
    """The path the car takes, as a curve over progress."""

    def __init__(self, circuit: Circuit, progress_m: Floats, offset_m: Floats) -> None:
        self._offset = CubicSpline(progress_m, offset_m)
        middle = (progress_m[1:] + progress_m[:-1]) / 2
        rate, rate_middle = (self._rate(circuit, s) for s in (progress_m, middle))
        self.step_m = np.diff(progress_m) / 6 * (rate[1:] + 4 * rate_middle + rate[:-1])
        self.travelled_m = np.r_[0.0, np.cumsum(self.step_m)]
        self._progress = CubicHermiteSpline(self.travelled_m, progress_m, 1 / rate)
        points = CubicSpline(progress_m, circuit.place(progress_m, offset_m))
        d1, d2 = points(progress_m, 1), points(progress_m, 2)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        self.curvature_per_m = np.asarray(cross / np.hypot(d1[:, 0], d1[:, 1]) ** 3)

    def _rate(self, circuit: Circuit, progress_m: Floats) -> Floats:
        """Metres travelled per metre of progress."""
        along = 1.0 - self._offset(progress_m) * circuit.curvature(progress_m)
        if along.min() < 0.2:
            where = float(progress_m[int(np.argmin(along))] % circuit.length_m)
            msg = f"the driven line passes the inside centre of a corner at {where:.0f} m"
            raise ValueError(msg)
        return np.hypot(along, self._offset(progress_m, 1))

    def progress_at(self, travelled_m: Floats) -> Floats:
        return np.asarray(self._progress(travelled_m))

    def offset_at(self, progress_m: Floats) -> Floats:
        return np.asarray(self._offset(progress_m))


@lru_cache(maxsize=64)
def nominal_corners(
    circuit: Circuit, car: Car, pace: float, usual_line: bool = True
) -> tuple[Nominal, ...]:
    """How the corners are taken when nothing varies: slowest point, braking, throttle."""
    length = circuit.length_m
    station, offset = circuit.usual_line
    count = 3 * len(station)
    progress = np.arange(count + 1) * 3 * length / count
    line = np.append(np.tile(offset, 3), offset[0]) * (1.0 if usual_line else 0.0)
    path = _Path(circuit, progress, line)
    ones = np.ones(count + 1)
    limits = Limits(
        car.lateral_mps2 * pace**2 * ones,
        car.braking_mps2 * pace**2 * ones,
        car.traction_mps2 * ones,
        car.power_wpkg * ones,
        UNLIMITED_MPS * ones,
        car.drag_per_m,
    )
    speed = speed_profile(path.step_m, path.curvature_per_m, limits)
    accel = np.diff(speed**2) / 2 / path.step_m
    apexes = np.array([b.apex_m + turn * length for turn in range(3) for b in circuit.bends])
    edges = np.searchsorted(progress, (apexes[1:] + apexes[:-1]) / 2)
    corners = len(circuit.bends)
    slowest = [int(a + np.argmin(speed[a:b])) for a, b in pairwise(edges)]
    found = []
    for i in range(corners - 1, 2 * corners - 1):  # those of the middle lap
        at, before, after = slowest[i], slowest[i - 1], slowest[i + 1]
        top = before + int(np.argmax(speed[before : at + 1]))
        brake = np.flatnonzero(accel[top:at] < -1.0)
        push = np.flatnonzero(accel[at:after] > 0.5)
        clear = speed[top] - speed[at] > 1.5
        base = progress[at] // length * length
        found.append(
            Nominal(
                min_m=float(progress[at] - base),
                min_mps=float(speed[at]),
                brake_m=float(progress[top + brake[0]] - base) if clear and len(brake) else None,
                throttle_m=float(progress[at + push[0]] - base) if clear and len(push) else None,
            )
        )
    return tuple(found)


def _plant(
    circuit: Circuit,
    driver: Driver,
    layout: Layout,
    nominal: tuple[Nominal, ...],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Draw in which laps each habit acts: exactly its share of the timed laps, in random order."""
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


def _limits(
    circuit: Circuit,
    car: Car,
    driver: Driver,
    plan: Plan,
    layout: Layout,
    progress: Floats,
    share: Floats,
    nominal: tuple[Nominal, ...],
    planted: pd.DataFrame,
    rng: np.random.Generator,
) -> Limits:
    """What car and driver allow at every node."""
    turns = sorted(layout.kinds)
    shape = (len(turns), len(circuit.bends))
    speed_share = np.exp(rng.normal(0, 1, shape) * driver.corner_spread)
    early = rng.normal(0, 1, shape) * driver.braking_sd_m
    late = np.maximum(0.0, driver.throttle_sd_m * (1 + rng.normal(0, 1, shape)))
    for _, turn, corner, habit, size in planted.itertuples(index=False):
        cell = (turns.index(turn), corner - 1)
        if habit == "BrakeEarly":
            early[cell] += size
        elif habit == "LateThrottle":
            late[cell] += size
    pace = _pace(circuit, driver, plan, layout, progress, rng)
    bend_at = np.array([t * circuit.length_m + c.min_m for t in turns for c in nominal])
    order = np.argsort(bend_at)
    if len(bend_at):
        pace = pace * np.interp(progress, bend_at[order], speed_share.ravel()[order])
    for _, turn, corner, habit, size in planted.itertuples(index=False):
        if habit == "SlowMinimum":
            bend, least = circuit.bends[corner - 1], nominal[corner - 1].min_mps
            middle = turn * circuit.length_m + nominal[corner - 1].min_m
            reach = max(15.0, ((bend.exit_m - bend.entry_m) % circuit.length_m) / 2)
            pace *= 1 - size / least * window(progress, middle - reach, middle + reach, 15.0)
    gentle = _braking_share(circuit, nominal, early)
    coming = np.searchsorted(bend_at[order], progress)
    braking = car.braking_mps2 * pace**2
    if len(bend_at):
        braking *= np.append(gentle.ravel()[order], 1.0)[coming]
    traction = car.traction_mps2 * np.ones_like(progress)
    for row, turn in enumerate(turns):
        for c, corner in enumerate(nominal):
            if corner.throttle_m is not None and late[row, c] > 0:
                begin = turn * circuit.length_m + corner.min_m
                until = turn * circuit.length_m + corner.throttle_m + late[row, c]
                a, b = np.searchsorted(progress, [begin, until])
                traction[a:b] = 0.0
    cap = np.full_like(progress, UNLIMITED_MPS)
    if circuit.pit is not None:
        cap[share > 0.5] = circuit.pit.limit_mps
    for stop in layout.stops:
        at = int(np.argmin(np.abs(progress - stop.progress_m)))
        cap[at] = 0.0
        traction[at : at + 80] = car.traction_mps2  # or it would never get away
    return Limits(
        car.lateral_mps2 * pace**2,
        braking,
        traction,
        car.power_wpkg * np.minimum(pace / driver.pace, 1.0) ** 3,
        cap,
        car.drag_per_m,
    )


def _braking_share(circuit: Circuit, nominal: tuple[Nominal, ...], early_m: Floats) -> Floats:
    """How gently to brake so that braking begins `early_m` before the usual place."""
    share = np.ones_like(early_m)
    for c, corner in enumerate(nominal):
        if corner.brake_m is not None:
            zone = (corner.min_m - corner.brake_m) % circuit.length_m
            longer = np.maximum(zone + early_m[:, c], 0.5 * zone)
            share[:, c] = np.minimum(zone / longer, 1.25)
    return share


def _pace(
    circuit: Circuit,
    driver: Driver,
    plan: Plan,
    layout: Layout,
    progress: Floats,
    rng: np.random.Generator,
) -> Floats:
    """Share of the car's speed at every node: laps, warming up, traffic and mishaps."""
    length = circuit.length_m
    whole = {"out": plan.out_pace, "in": plan.in_pace, "timed": 1.0}
    turn = np.floor(progress / length).astype(int)
    pace = np.empty_like(progress)
    for number, kind in layout.kinds.items():
        value = driver.pace * whole[kind] * np.exp(rng.normal(0, 1) * driver.lap_spread)
        if kind == "timed":
            value *= 1 - driver.settling * 0.5 ** layout.timed.index(number)
        pace[turn == number] = value
    pace[turn < min(layout.kinds)] = driver.pace * plan.out_pace
    pace[turn > max(layout.kinds)] = driver.pace * plan.in_pace
    for event in plan.events:
        base = layout.timed[event.timed_lap - 1] * length
        if isinstance(event, Traffic):
            a, b = base + event.begins * length, base + event.ends * length
            pace *= 1 - (1 - event.pace) * window(progress, a, b, 60.0)
        elif isinstance(event, Off):
            middle = base + circuit.bends[event.corner - 1].exit_m
            pace *= 1 - (1 - event.pace) * window(progress, middle, middle + 90.0, 40.0)
        elif isinstance(event, ShortCut):
            middle = base + circuit.bends[event.corner - 1].apex_m
            pace *= 1 - 0.15 * window(progress, middle - 30.0, middle + 60.0, 40.0)
    return np.asarray(gaussian_filter1d(pace, 12.0 / STEP_M, mode="nearest"))


def _over_time(
    layout: Layout, progress: Floats, path: _Path, speed: Floats, cap: Floats
) -> tuple[Floats, Floats, tuple[tuple[float, float], ...]]:
    """Metres travelled on the time grid, and when the car stood."""
    nodes = node_times(path.step_m, speed)
    at = [int(np.argmin(np.abs(progress - s.progress_m))) for s in layout.stops]
    time_s, way, rate = nodes, path.travelled_m, speed
    stood: list[tuple[float, float]] = []
    for k, (i, stop) in enumerate(zip(at, layout.stops, strict=True)):
        j = i + k  # earlier stops have put one more node in front
        begin = float(time_s[j])
        time_s = np.r_[time_s[: j + 1], time_s[j:] + stop.stop_s]
        way = np.r_[way[: j + 1], way[j:]]
        rate = np.r_[rate[: j + 1], rate[j:]]
        stood.append((begin, begin + stop.stop_s))
    grid = np.arange(round(float(time_s[-1]) * GRID_HZ)) / GRID_HZ
    at_node = np.clip(np.searchsorted(time_s, grid, side="right") - 1, 0, len(time_s) - 2)
    gap = np.maximum(np.diff(time_s)[at_node], 1e-12)
    since = grid - time_s[at_node]
    gain = np.diff(rate)[at_node] / gap
    travelled = way[at_node] + rate[at_node] * since + gain * since**2 / 2
    for (begin, end), stop in zip(stood, layout.stops, strict=True):
        if stop.roll_back_m:
            inside = np.clip((grid - begin) / (end - begin), 0.0, 1.0)
            travelled -= stop.roll_back_m * np.sin(np.pi * inside) ** 2
    half = round(PEDAL_S * GRID_HZ)
    bump = 1 + np.cos(np.pi * np.arange(-half, half + 1) / (half + 1))
    wide = np.pad(travelled, half, mode="reflect", reflect_type="odd")
    return grid, np.convolve(wide, bump / bump.sum(), "valid"), tuple(stood)
