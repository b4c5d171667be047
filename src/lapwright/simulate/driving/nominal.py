"""How a driver takes each corner when nothing varies: the point from which habits deviate."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.driving.cars import Car
from lapwright.simulate.driving.driven_path import DrivenPath
from lapwright.simulate.driving.profile import Limits, speed_profile

Floats = npt.NDArray[np.float64]

# No limit at all, for a driver who wants none. [m/s]
UNLIMITED_MPS = 150.0


@dataclass(frozen=True, slots=True, eq=False)
class Nominal:
    """
    A corner as the driver takes it when nothing varies; stations in metres.

    `brake_m` and `throttle_m` are None where the corner is taken without.  `gain_mps2` and
    `loss_mps2` are acceleration just before and deceleration just after the braking point,
    `braking_mps` the speeds from there to the slowest point, evenly spaced.
    """

    min_m: float
    min_mps: float
    brake_m: float | None
    throttle_m: float | None
    braking_mps: Floats
    gain_mps2: float
    loss_mps2: float

    def gentler(self, early_m: Floats) -> Floats:
        """
        Share of the usual deceleration that makes braking begin `early_m` earlier.

        In squares of speed: what has been gained less by then, over what usual braking
        would have taken off since.
        """
        usual = self.braking_mps[0] ** 2 - self.min_mps**2
        gained = np.maximum(usual - 2 * self.gain_mps2 * early_m, 0.05 * usual)
        taken = np.maximum(usual + 2 * self.loss_mps2 * early_m, 0.05 * usual)
        return np.asarray(np.clip(gained / taken, 0.25, 1.3))

    def rolling(self, station_m: Floats, early_m: float) -> Floats:
        """
        Highest speed at stations where braking is usual but begins `early_m` earlier.

        The usual braking is moved towards the driver, a little more than `early_m`
        because the car is not yet as fast there; after it the slowest speed is held.
        """
        if self.brake_m is None:
            return np.full_like(station_m, np.inf)
        moved = early_m * (1 + self.gain_mps2 / self.loss_mps2)
        way = np.linspace(self.brake_m, self.min_m, len(self.braking_mps)) - moved
        held = np.interp(station_m, way, self.braking_mps)
        inside = (station_m >= way[0]) & (station_m <= self.min_m)
        # Before the first place where it would brake there is no limit.
        return np.where(inside, held, np.inf)


@lru_cache(maxsize=64)
def nominal_corners(
    circuit: Circuit, car: Car, pace: float, usual_line: bool = True
) -> tuple[Nominal, ...]:
    """
    Slowest point, braking point and throttle point of every corner.

    Stations lie within half a lap of the corner's apex, so those of a corner beside the
    start/finish line may be negative or beyond the length.
    """
    length, corners = circuit.length_m, len(circuit.bends)
    if corners == 0:
        return ()
    station, offset = circuit.usual_line
    count = 3 * len(station)
    progress = np.arange(count + 1) * 3 * length / count
    line = np.append(np.tile(offset, 3), offset[0]) * (1.0 if usual_line else 0.0)
    path = DrivenPath(circuit, progress, line)
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
    # One corner of the lap before and one of the lap after stand beside the middle lap's.
    around = [b.apex_m + turn * length for turn in range(3) for b in circuit.bends]
    around = around[corners - 2 if corners > 1 else 0 :][: corners + 4]
    first = corners - (corners - 2 if corners > 1 else 0)
    edges = np.searchsorted(progress, [(a + b) / 2 for a, b in pairwise(around)])
    slowest = [int(a + np.argmin(speed[a:b])) for a, b in pairwise(edges.tolist())]
    found = []
    for i in range(first - 1, first - 1 + corners):
        at, before, after = slowest[i], slowest[i - 1], slowest[i + 1]
        top = before + int(np.argmax(speed[before : at + 1]))
        brake = np.flatnonzero(accel[top:at] < -1.0)
        push = np.flatnonzero(accel[at:after] > 0.5)
        clear = speed[top] - speed[at] > 1.5
        onset = top + int(brake[0]) if len(brake) else top
        found.append(
            Nominal(
                min_m=float(progress[at] - length),
                min_mps=float(speed[at]),
                brake_m=float(progress[onset] - length) if clear and len(brake) else None,
                throttle_m=float(progress[at + push[0]] - length) if clear and len(push) else None,
                braking_mps=speed[onset : at + 1].copy(),
                gain_mps2=float(np.mean(accel[max(onset - 12, 0) : max(onset - 2, 1)])),
                loss_mps2=float(-np.mean(accel[onset + 1 : onset + 9])),
            )
        )
    return tuple(found)
