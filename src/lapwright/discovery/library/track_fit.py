"""How well a log fits a track: its whole laps along the path, or over the lines."""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats
from lapwright.discovery.loop.follow_ring import Along, follow_ring
from lapwright.discovery.loop.recurrence import SAME_LENGTH, SHORTEST_LAP_M
from lapwright.discovery.loop.reference import line_passages
from lapwright.discovery.loop.ring import Ring, ring_from_points
from lapwright.discovery.loop.thin import Steps, Thinned
from lapwright.geometry.gate_stations import gate_station
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track

# A lap may leave the path for this long (a spin, an off, a hole in the log) and still be whole.
LEAVE_M = 150.0
# Paths of two days on the same road are this near to each other everywhere. [m]
_SAME_ROAD_M = 14.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How well a trace fits a track in one direction: laps, their length, share on it."""

    laps: int
    distance_m: float
    share: float


def fit_of(track: Track, trace: Thinned, walk: Steps) -> Fit:
    """Laps of a trace along a track, in the track's direction and on the trace's plane."""
    if track.path is None:
        return _fit_of_lines(track, trace, walk)
    ring = _ring_of(track.path)
    along = follow_ring(ring, trace, walk)
    laps = _laps_from_end_to_end(ring, along)
    return Fit(laps, laps * ring.length_m, float(along.on.mean()))


def same_circuit(one: Track, other: Track) -> bool:
    """
    Tell whether two tracks are the same road in the same direction, wherever their lines are.

    Parameters
    ----------
    one, other : Track
        Of two tracks without a path nothing is known but their start/finish lines,
        which have to be the same then.
    """
    other = other.on_plane(one.plane)
    if one.path is None and other.path is None:
        ends = zip(
            (one.start_finish.left_m, one.start_finish.right_m),
            (other.start_finish.left_m, other.start_finish.right_m),
            strict=True,
        )
        return all(float(np.hypot(*np.subtract(a, b))) < _SAME_ROAD_M for a, b in ends)
    if one.path is None or other.path is None:
        lines, path = (one, other.path) if one.path is None else (other, one.path)
        assert path is not None
        return _crosses_all(path, lines)
    if one.direction != other.direction:
        return False
    if abs(one.length_m / other.length_m - 1.0) > SAME_LENGTH:
        return False
    return _beside(one.path, other.path) and _beside(other.path, one.path)


def _crosses_all(path: ReferencePath, lines: Track) -> bool:
    try:
        for gate in (lines.start_finish, *lines.sectors):
            gate_station(path, gate, "a line")
    except ValueError:
        return False
    return True


def _beside(path: ReferencePath, other: ReferencePath) -> bool:
    """Whether every part of a path is near another path."""
    point = path.at(path.stations(10.0))
    _, away_m = other.project(point.east_m, point.north_m)
    return bool(np.abs(away_m).max() < _SAME_ROAD_M)


def _fit_of_lines(track: Track, trace: Thinned, walk: Steps) -> Fit:
    """Laps of a trace over all lines of a track in their direction, of about the same length."""
    if len(walk.time_s) == 0:
        # The car stood all the time.
        return Fit(0, 0.0, 0.0)
    at_s, _ = line_passages(track.start_finish, trace)
    laps_m = np.diff(np.interp(at_s, walk.time_s, walk.travelled_m))
    whole = laps_m > SHORTEST_LAP_M
    for gate in track.sectors:
        # A lap without this sector line is one of another variant.
        passed_s, _ = line_passages(gate, trace)
        whole &= np.diff(np.searchsorted(passed_s, at_s)) > 0
    laps_m = laps_m[whole]
    if len(laps_m) == 0:
        return Fit(0, 0.0, 0.0)
    alike = laps_m[np.abs(laps_m / np.median(laps_m) - 1.0) < SAME_LENGTH]
    # Lines alone say less than a path, so their laps count for half as much.
    return Fit(len(alike), 0.5 * float(alike.sum()), 0.0)


def _ring_of(path: ReferencePath) -> Ring:
    """Return a path as a ring of points from its station 0."""
    point = path.at(path.stations(2.0))
    return ring_from_points(point.east_m, point.north_m)


def _laps_from_end_to_end(ring: Ring, along: Along) -> int:
    """Count laps, from anywhere to the same place, in which every part of the ring is driven."""
    laps = 0
    for number in np.unique(along.stretch[along.on]):
        rows = along.station_m[along.stretch == number]
        laps += _whole(np.sort(rows), ring.length_m)
    return laps


def _whole(station_m: Floats, length_m: float) -> int:
    """Laps in ascending running stations, cut where a hole of over `LEAVE_M` is."""
    holes = np.flatnonzero(np.diff(station_m) > LEAVE_M)
    begin, end = np.r_[0, holes + 1], np.r_[holes, len(station_m) - 1]
    # 30 m short of a lap is one: the log began on the line.
    driven_m = station_m[end] - station_m[begin] + 30.0
    return int(np.floor(driven_m / length_m).sum())
