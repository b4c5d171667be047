"""Where on the road the car goes: the usual line, the driver's deviations, mishaps."""

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout, spin_station
from lapwright.simulate.driving.driver import Driver, LineChange, LineMigration
from lapwright.simulate.driving.plan import HeldUp, Off, Plan, ShortCut, Spin

Floats = npt.NDArray[np.float64]


def driven_offset(
    circuit: Circuit,
    driver: Driver,
    plan: Plan,
    layout: Layout,
    progress_m: Floats,
    rng: np.random.Generator,
    usual_line: bool,
) -> Floats:
    """
    Offset of the driven line from the centre line, pits apart.

    Parameters
    ----------
    progress_m : ndarray, shape (n,)
        Nodes, evenly spaced. [m]

    Returns
    -------
    offset_m : ndarray, shape (n,)
        Positive to the left. [m]
    """
    offset = np.full_like(progress_m, driver.line_bias_m)
    if usual_line:
        station, usual = circuit.usual_line
        closed = CubicSpline(
            np.append(station, circuit.length_m), np.append(usual, usual[0]), bc_type="periodic"
        )
        offset += closed(np.mod(progress_m, circuit.length_m))
    offset += _deviation(circuit, driver, progress_m, rng)
    for habit in driver.habits:
        if isinstance(habit, LineMigration):
            along = (progress_m - progress_m[0]) / (progress_m[-1] - progress_m[0])
            offset += habit.offset_m * along
        elif isinstance(habit, LineChange):
            bend = circuit.bends[habit.corner - 1]
            half = 0.5 * ((bend.exit_m - bend.entry_m) % circuit.length_m)
            for turn in layout.timed[habit.from_timed_lap - 1 :]:
                middle = turn * circuit.length_m + bend.entry_m + half
                offset += habit.offset_m * _hump(progress_m, middle, half + 20.0)
    for event in plan.events:
        base = layout.timed[event.timed_lap - 1] * circuit.length_m
        if isinstance(event, Off):
            bend = circuit.bends[event.corner - 1]
            outside = -1.0 if bend.direction == "left" else 1.0
            offset += outside * event.wide_m * _hump(progress_m, base + bend.exit_m + 35.0, 55.0)
        elif isinstance(event, Spin):
            middle = base + spin_station(circuit, event)
            bend = circuit.bends[event.corner - 1]
            outside = -1.0 if bend.direction == "left" else 1.0
            offset += outside * 2.5 * _hump(progress_m, middle, 25.0)
        elif isinstance(event, HeldUp):
            a = base + event.begins * circuit.length_m
            offset += event.aside_m * window(progress_m, a, a + event.length_m, 60.0)
        elif isinstance(event, ShortCut):
            offset = _cut_short(circuit, event, base, progress_m, offset)
    return offset


def _hump(x: Floats, middle: float, half: float) -> Floats:
    """A smooth rise to 1 and back, some 2 x `half` wide."""
    return np.exp(-0.5 * (np.abs(x - middle) / half * 1.4) ** 4)


def _deviation(
    circuit: Circuit, driver: Driver, progress_m: Floats, rng: np.random.Generator
) -> Floats:
    """Smooth random distance from the usual line, with some larger moments."""
    step = float(progress_m[1] - progress_m[0])
    # White noise through a Gaussian of sd w has an autocorrelation exp(-d^2 / 4 w^2).
    wide = driver.line_length_m / 2 / step
    white = rng.normal(0, 1, len(progress_m))
    gain = np.sqrt(2 * np.sqrt(np.pi) * wide)
    deviation = driver.line_sd_m * gain * gaussian_filter1d(white, wide, mode="wrap")
    laps = (progress_m[-1] - progress_m[0]) / circuit.length_m
    for _ in range(int(rng.poisson(driver.wide_moments_per_lap * laps))):
        middle = rng.uniform(progress_m[0], progress_m[-1])
        size = min(2.0, 0.4 + 0.4 * abs(rng.standard_t(3))) * rng.choice([-1.0, 1.0])
        deviation += size * np.exp(-0.5 * ((progress_m - middle) / rng.uniform(20, 45)) ** 2)
    return np.asarray(deviation)


def _cut_short(
    circuit: Circuit, event: ShortCut, base_m: float, progress_m: Floats, offset_m: Floats
) -> Floats:
    """Replace the line through a corner or two by the straight way across."""
    bends = circuit.bends
    last = bends[(event.last_corner or event.corner) - 1]
    begin = base_m + bends[event.corner - 1].entry_m - 10.0
    end = base_m + last.exit_m + 10.0
    a, b = (int(k) for k in np.searchsorted(progress_m, [begin, end]))
    points = circuit.place(progress_m[a : b + 1], 0.0)
    left = circuit.place(progress_m[a : b + 1], 1.0) - points
    ends = circuit.place(progress_m[[a, b]], offset_m[[a, b]])
    way = ends[1] - ends[0]
    square = np.array([-way[1], way[0]]) / np.hypot(*way)
    facing = left @ square
    if facing.min() < 0.25:
        msg = f"{event}: the way across meets the road too squarely; choose another corner"
        raise ValueError(msg)
    cut = offset_m.copy()
    cut[a : b + 1] = -((points - ends[0]) @ square) / facing
    share = window(progress_m, begin - 25.0, end + 25.0, 15.0)
    return np.asarray(cut * (1 - share) + gaussian_filter1d(cut, 7.0) * share)


def window(x: Floats, a: float, b: float, blend: float) -> Floats:
    """1 between a and b, 0 farther out than `blend`, smooth between."""
    y = np.clip(1 - np.maximum(a - x, x - b) / blend, 0.0, 1.0)
    return np.asarray(y**3 * (10 - 15 * y + 6 * y**2))
