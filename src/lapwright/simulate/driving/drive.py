"""
Drive a circuit: from a car, a driver and a plan to a `TrueRun`.

The way is laid first, node by node along the road, then the speed along it by
the car's limits, then time.  Progress over time is convolved with a short bump, so
that acceleration has no steps: a pedal takes 0.3 s to go down.  The run itself is
the cubic spline through the result at 100 Hz: the truth is that spline, so it is
exact by definition, not by resolution.
"""

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout, lay_out, pit_share
from lapwright.simulate.driving.cars import LIGHT_CAR, Car
from lapwright.simulate.driving.driven_path import DrivenPath
from lapwright.simulate.driving.driver import Driver
from lapwright.simulate.driving.limits import Outing, limits, plant
from lapwright.simulate.driving.line import driven_offset
from lapwright.simulate.driving.nominal import nominal_corners
from lapwright.simulate.driving.plan import Plan
from lapwright.simulate.driving.profile import node_times, speed_profile
from lapwright.simulate.truth import TrueRun

Floats = npt.NDArray[np.float64]

STEP_M = 1.0
GRID_HZ = 100
# Half of the time a pedal takes to go down or come up. [s]
PEDAL_S = 0.15


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

    Raises
    ------
    ValueError
        If plan or habits do not fit the circuit.
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
    path = DrivenPath(circuit, progress, offset)
    nominal = nominal_corners(circuit, car, driver.pace, usual_line)
    planted = plant(circuit, driver, layout, nominal, rng)
    outing = Outing(circuit, car, driver, plan, layout, nominal, planted)
    allowed = limits(outing, progress, share, rng)
    speed = speed_profile(path.step_m, path.curvature_per_m, allowed)
    time_s, travelled, stop_times = _over_time(layout, progress, path, speed)
    station = path.progress_at(travelled)
    across = path.offset_at(station)
    return TrueRun(
        circuit=circuit,
        car=car,
        driver=driver,
        plan=plan,
        seed=seed,
        layout=layout,
        time_s=time_s,
        progress=CubicSpline(time_s, station),
        offset=CubicSpline(time_s, across),
        position=CubicSpline(time_s, circuit.place(station, across)),
        planted=planted,
        stop_times_s=stop_times,
    )


def _over_time(
    layout: Layout, progress: Floats, path: DrivenPath, speed: Floats
) -> tuple[Floats, Floats, tuple[tuple[float, float], ...]]:
    """The time grid, metres travelled on it, and when the car stood."""
    time_s, way, rate = node_times(path.step_m, speed), path.travelled_m, speed
    stood: list[tuple[float, float]] = []
    for k, stop in enumerate(layout.stops):
        # Earlier stops have put one more node each in front.
        node = int(np.argmin(np.abs(progress - stop.progress_m))) + k
        begin = float(time_s[node])
        time_s = np.r_[time_s[: node + 1], time_s[node:] + stop.stop_s]
        way = np.r_[way[: node + 1], way[node:]]
        rate = np.r_[rate[: node + 1], rate[node:]]
        stood.append((begin, begin + stop.stop_s))
    grid = np.arange(round(float(time_s[-1]) * GRID_HZ)) / GRID_HZ
    at = np.clip(np.searchsorted(time_s, grid, side="right") - 1, 0, len(time_s) - 2)
    gap = np.maximum(np.diff(time_s)[at], 1e-12)
    since = grid - time_s[at]
    gain = np.diff(rate)[at] / gap
    travelled = way[at] + rate[at] * since + gain * since**2 / 2
    for (begin, end), stop in zip(stood, layout.stops, strict=True):
        if stop.roll_back_m:
            inside = np.clip((grid - begin) / (end - begin), 0.0, 1.0)
            travelled -= stop.roll_back_m * np.sin(np.pi * inside) ** 2
    half = round(PEDAL_S * GRID_HZ)
    bump = 1 + np.cos(np.pi * np.arange(-half, half + 1) / (half + 1))
    wide = np.pad(travelled, half, mode="reflect", reflect_type="odd")
    return grid, np.convolve(wide, bump / bump.sum(), "valid"), tuple(stood)
