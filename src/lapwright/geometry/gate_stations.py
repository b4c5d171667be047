"""Where a path crosses a gate: the stations of the lines of a circuit."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lapwright.geometry.gate import Gate
from lapwright.geometry.path import ReferencePath
from lapwright.numerics.cyclic import cyclic_difference

Floats = NDArray[np.float64]

# How far beyond the end of a line the path may pass by: a file's line comes from a map or from
# another day's log, which differ by metres. [m]
_SLACK_M = 10.0
# Lines nearer to each other along the path cut no sector between them. [m]
MIN_APART_M = 1.0


class PathCrossings(NamedTuple):
    """
    Crossings of the endless straight line through a gate by a path, in order of station.

    Attributes
    ----------
    station_m : ndarray, shape (n,)
        In [0, length). [m]
    offset_m : ndarray, shape (n,)
        To the left of the gate's middle. [m]
    forward : ndarray of bool, shape (n,)
        Whether the path crosses in the gate's direction.
    """

    station_m: Floats
    offset_m: Floats
    forward: NDArray[np.bool_]


def path_crossings(path: ReferencePath, gate: Gate) -> PathCrossings:
    """Find all places where a path crosses the straight line through a gate, to 1e-9 m."""
    station = path.stations(1.0)
    step = path.length_m / len(station)
    distance = gate.signed_distance(*path.derivatives(station)[0].T)
    ahead = np.roll(distance, -1)
    begin = np.flatnonzero(np.signbit(distance) != np.signbit(ahead))
    # Regula falsi for a start, then Newton: the path is all but straight within a metre.
    root = station[begin] + step * distance[begin] / (distance[begin] - ahead[begin])
    normal = np.array(gate.forward)
    for _ in range(5):
        position, first, _second = path.derivatives(root)
        rate = first @ normal
        rate = np.where(np.abs(rate) < 1e-6, np.inf, rate)
        move = -gate.signed_distance(*position.T) / rate
        root = np.clip(root + move, station[begin], station[begin] + step)
    position, _, _ = path.derivatives(root)
    return PathCrossings(
        np.mod(root, path.length_m), gate.offset(*position.T), distance[begin] < ahead[begin]
    )


def gate_station(path: ReferencePath, gate: Gate, what: str) -> float:
    """
    Return the station at which a path crosses a gate in its direction.

    Parameters
    ----------
    path : ReferencePath
        The closed path.
    gate : Gate
        The line.
    what : str
        What the line is, for the error: ``"the start/finish line"``.

    Returns
    -------
    station_m : float
        Of the crossing nearest to the middle of the line, in [0, length). [m]

    Raises
    ------
    ValueError
        If the path misses the line, or crosses it only the wrong way.
    """
    found = path_crossings(path, gate)
    near = np.abs(found.offset_m) <= gate.width_m / 2.0 + _SLACK_M
    right = near & found.forward
    if right.any():
        best = np.flatnonzero(right)[np.argmin(np.abs(found.offset_m[right]))]
        return float(found.station_m[best])
    if near.any():
        msg = (
            f"the path crosses {what} the wrong way. Swap the two ends of the line "
            "(left end first as the driver sees it) or turn the path round"
        )
        raise ValueError(msg)
    msg = f"the path does not cross {what}. Draw the line across the path"
    raise ValueError(msg)


def check_apart(sector_m: Floats, length_m: float) -> None:
    """Refuse sector lines that are on each other or on the start/finish line; stations in [m]."""
    stations = np.r_[0.0, sector_m]
    apart = np.abs(cyclic_difference(stations[:, None], stations, length_m))
    close = np.argwhere(np.tril(apart < MIN_APART_M, k=-1))
    if len(close):
        number, other = int(close[0][0]), int(close[0][1])
        what = "the start/finish line" if other == 0 else f"sector line {other}"
        msg = f"sector line {number} is at the same place as {what}. Move it or leave it out"
        raise ValueError(msg)


def gate_at(path: ReferencePath, station_m: float, width_m: float) -> Gate:
    """Return the gate square to a path at a station [m]."""
    if not np.isfinite(station_m):
        msg = f"the station must be a number of metres, not {station_m}"
        raise ValueError(msg)
    point = path.at(station_m)
    centre = (float(point.east_m), float(point.north_m))
    return Gate.across(centre, float(point.heading_rad), width_m)
