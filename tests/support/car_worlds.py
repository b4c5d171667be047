"""Laps of a car whose sensors say what a test wants: by hand, and simulated with known faults."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from lapwright import simulate as sim
from lapwright.car.places import Places
from lapwright.car.watched import Watched
from lapwright.geometry import Corner
from lapwright.notes.limits import Limit
from lapwright.session import Session

LAP_S, LENGTH_M, SPEED_MPS = 100.0, 3000.0, 30.0
CORNERS = (
    Corner(1, "Gatehouse", "left", 500.0, 550.0, 600.0, 50.0),
    Corner(2, "2", "right", 2000.0, 2100.0, 2200.0, 80.0),
)


def places(laps: int = 8, corners: tuple[Corner, ...] = CORNERS) -> Places:
    """Laps of 100 s at 30 m/s from time 0 on."""
    time_s = np.arange(0.0, laps * LAP_S + 0.5, 0.5)
    mapped = SimpleNamespace(
        time_s=time_s, speed_mps=np.full(len(time_s), SPEED_MPS),
        station_at=lambda t: SPEED_MPS * np.asarray(t),
    )  # fmt: skip
    start = LAP_S * np.arange(laps)
    table = pd.DataFrame(
        {"lap": np.arange(1, laps + 1), "kind": "timed", "start_s": start, "end_s": start + LAP_S,
         "time_s": LAP_S}
    )  # fmt: skip
    fake: Any = mapped
    return Places(table, fake, corners, LENGTH_M)


def watched(value: Any, kind: str = "other", unit: str = "", step_s: float = 0.5) -> Watched:
    """A channel that begins at time 0."""
    values = np.asarray(value, dtype=np.float64)
    return Watched(kind, kind, unit, step_s * np.arange(len(values)), values)


def simulated(
    sensors: sim.CarSensors, seed: int = 3, laps: int = 8, limits: tuple[Limit, ...] = (),
    circuit: str | int = "wren_hollow", car: sim.Car = sim.LIGHT_CAR,
) -> tuple[sim.TrueRun, sim.Recording, Session]:  # fmt: skip
    """A drive, what was recorded of it, and the session made of that."""
    run = sim.drive(sim.invented(circuit), car, sim.Driver(), sim.Plan((laps,)), seed)
    receiver = replace(sim.ORDINARY, rate_hz=10.0)
    recording = sim.receive(run, receiver, seed, engine=True, sensors=sensors)
    return run, recording, Session(recording.log(), repeat_line=False, limits=limits)
