"""
A session laid out along the road: which laps, where the pits, where the stops.

Progress is the station without wrapping round: it grows by the circuit's length
each lap and is 0 where the first lap's start/finish line lies (negative before).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.driving.plan import Plan, Spin

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stop:
    """A standstill: where [m of progress], how long [s], why, and how far it rolls back [m]."""

    progress_m: float
    stop_s: float
    why: str
    roll_back_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Layout:
    """
    The plan of a session in metres of progress.

    Attributes
    ----------
    first_m, last_m : float
        Where the log begins and ends. [m]
    kinds : dict
        Kind of each lap by its number along the road (floor of progress / length).
    timed : tuple of int
        Those numbers of the timed laps, in order.
    visits : tuple of (float, float)
        Stretches in the pit lane, from leaving the track to joining it. [m]
    stops : tuple of Stop
        In order of progress.
    """

    first_m: float
    last_m: float
    kinds: dict[int, str]
    timed: tuple[int, ...]
    visits: tuple[tuple[float, float], ...]
    stops: tuple[Stop, ...]


def lay_out(circuit: Circuit, plan: Plan) -> Layout:
    """
    Lay a plan out along a circuit.

    Raises
    ------
    ValueError
        If the plan uses a pit lane and the circuit has none, or a mishap is planned
        in a lap that is not there.
    """
    length = circuit.length_m
    kinds, timed, turns = _laps(plan)
    ends_in_pits = plan.end == "pits"
    uses_pits = plan.start != "rolling" or ends_in_pits or len(plan.stints) > 1
    pit = circuit.pit
    if uses_pits and pit is None:
        msg = f"{circuit.name} has no pit lane; use start='rolling', end='track' and one stint"
        raise ValueError(msg)
    stops: list[Stop] = []
    visits: list[tuple[float, float]] = []
    first, last = -length / 3, (max(kinds) + 1 / 3) * length
    if pit is not None:
        for turn in turns:
            visits.append((turn * length + pit.entry_m, turn * length + pit.exit_m))
            stops.append(Stop(turn * length + pit.box_m, plan.stop_s, "pit stop"))
        if plan.start != "rolling":
            first = pit.box_m
            visits.append((pit.entry_m, pit.exit_m))
            stops.append(Stop(first, plan.garage_s, "garage"))
        if ends_in_pits:
            last = (max(kinds) + 1) * length + pit.box_m
            visits.append((last - pit.box_m + pit.entry_m, last - pit.box_m + pit.exit_m))
            stops.append(Stop(last, plan.garage_s, "garage"))
    if plan.start == "grid":
        stops.append(Stop(length - plan.grid_m, plan.grid_s, "grid"))
    for event in plan.events:
        if not 1 <= event.timed_lap <= len(timed):
            msg = f"{event} is planned in a session of {len(timed)} timed laps"
            raise ValueError(msg)
        if isinstance(event, Spin):
            place = spin_station(circuit, event) + timed[event.timed_lap - 1] * length
            stops.append(Stop(place, event.stop_s, "spin", event.roll_back_m))
    return Layout(
        first_m=first,
        last_m=last,
        kinds=kinds,
        timed=tuple(timed),
        visits=tuple(sorted(visits)),
        stops=tuple(sorted(stops, key=lambda s: s.progress_m)),
    )


def _laps(plan: Plan) -> tuple[dict[int, str], list[int], list[int]]:
    """Kinds by number along the road, numbers of the timed laps, and where the pit stops fall."""
    kinds: dict[int, str] = {}
    timed: list[int] = []
    turns: list[int] = []
    number = -1 if plan.start == "rolling" else 0
    for stint, count in enumerate(plan.stints):
        if stint:
            turns.append(number)
        kinds[number] = "out"
        for k in range(number + 1, number + 1 + count):
            kinds[k] = "timed"
            timed.append(k)
        kinds[number + 1 + count] = "in"
        number += count + 2
    return kinds, timed, turns


def spin_station(circuit: Circuit, event: Spin) -> float:
    """Station at which a spinning car comes to rest [m]."""
    if event.station_m is not None:
        return event.station_m
    bend = circuit.bends[event.corner - 1]
    return bend.apex_m + 0.5 * ((bend.exit_m - bend.apex_m) % circuit.length_m) + 8.0


def pit_share(
    circuit: Circuit, visits: tuple[tuple[float, float], ...], progress_m: Floats
) -> Floats:
    """How far the car has left the track for the pit lane, 0 to 1, at any progress."""
    share = np.zeros_like(progress_m)
    if circuit.pit is None:
        return share
    for begin, end in visits:
        a, b = np.searchsorted(progress_m, [begin, end]) if _rising(progress_m) else (0, len(share))
        inside = progress_m[a:b]
        share[a:b] = np.maximum(share[a:b], circuit.pit.share(inside - begin + circuit.pit.entry_m))
    return share


def _rising(values: Floats) -> bool:
    return bool(np.all(values[1:] >= values[:-1]))
