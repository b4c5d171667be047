"""When the planned mishaps of a session took place."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.layout import Layout, spin_station
from lapwright.simulate.driving.plan import HeldUp, Plan, ShortCut, Spin, Traffic

Floats = npt.NDArray[np.float64]


def happenings(
    circuit: Circuit, plan: Plan, layout: Layout, time_at: Callable[[Floats], Floats]
) -> list[tuple[str, float, float]]:
    """
    Flag, begin and end of every planned mishap.

    Parameters
    ----------
    circuit, plan, layout
    time_at : callable
        Turns progress [m] into time [s].

    Returns
    -------
    found : list of (str, float, float)
        The flag that a lap with it deserves, and its times. [s]
    """
    bends = circuit.bends
    found = []
    for event in plan.events:
        base = layout.timed[event.timed_lap - 1] * circuit.length_m
        if isinstance(event, Traffic):
            name, a, b = "slow", event.begins * circuit.length_m, event.ends * circuit.length_m
        elif isinstance(event, HeldUp):
            a = event.begins * circuit.length_m
            name, b = "held_up", a + event.length_m
        elif isinstance(event, Spin):
            at = spin_station(circuit, event)
            name, a, b = "spin", at - 1.0, at + 1.0
        elif isinstance(event, ShortCut):
            last = bends[(event.last_corner or event.corner) - 1]
            name, a, b = "short_cut", bends[event.corner - 1].entry_m, last.exit_m
        else:
            at = bends[event.corner - 1].exit_m
            name, a, b = "off_path", at, at + 70.0
        times = time_at(np.array([base + a, base + b]))
        found.append((name, float(times[0]), float(times[1])))
    return found
