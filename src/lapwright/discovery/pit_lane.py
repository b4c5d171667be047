"""
The pit lane in a log that uses it: a way beside the path, driven slowly, with a stop in it.

A visit is a stretch of the log away from the path that holds a stop, or that
begins or ends the log.  What visits have in common beside the path (station,
offset) is the lane; the paddock behind it is not.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Flags, Floats, Ints
from lapwright.discovery.corner_search.speed_profile import SpeedProfile
from lapwright.discovery.loop.averaged import medians
from lapwright.discovery.loop.find_loop import Loop
from lapwright.discovery.loop.ring import Ring, cyclic_interpolate, nearest_foot
from lapwright.numerics.cyclic import cyclic_difference

# Short against a lane, long against the way between two fixes in it.
CELL_M = 10.0
# A lane lies at least this far beside the path somewhere, and never farther than that.
NEAREST_M = 6.0
FARTHEST_M = 70.0
# Shorter than any pit lane, and a stop shorter than any work on a car (common practice, no source).
SHORTEST_M = 70.0
STOP_S = 4.0
# Slower than this share of the usual speed beside it.
SLOW_SHARE = 0.85


@dataclass(frozen=True, eq=False)
class PitLane:
    """
    A pit lane beside a ring.

    Attributes
    ----------
    points_m : ndarray, shape (k, 2)
        East and north in driving direction, from leaving the path to joining it. [m]
    begin_m, end_m : float
        Stations of the ring beside its ends; the end may be beyond the length. [m]
    stops_m : ndarray, shape (j,)
        Stations of the stops seen in it. [m]
    side_m : float
        Largest distance from the path, positive to its left. [m]
    """

    points_m: Floats
    begin_m: float
    end_m: float
    stops_m: Floats
    side_m: float


def _beside(ring: Ring, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
    """Station and offset of points by place alone, the nearest part of the ring."""
    every = max(1, round(6.0 / ring.spacing_m))
    knots = np.arange(0, len(ring.east_m), every)
    centre = np.array([ring.east_m.mean(), ring.north_m.mean()])
    target = np.stack([ring.east_m[knots], ring.north_m[knots]], axis=1) - centre
    half = 0.5 * (target**2).sum(axis=1)
    points = np.stack([east_m, north_m], axis=1) - centre
    best = np.empty(len(points), dtype=np.int64)
    for begin in range(0, len(points), 2048):
        part = points[begin : begin + 2048]
        best[begin : begin + 2048] = np.argmax(part @ target.T - half, axis=1)
    return nearest_foot(ring, knots[best].astype(np.float64) * ring.spacing_m, east_m, north_m)


def _runs(flags: Flags) -> list[tuple[int, int]]:
    """First and one past the last index of every run of true."""
    edge = np.flatnonzero(np.diff(np.r_[0, flags.astype(np.int8), 0]))
    return list(zip(edge[::2].tolist(), edge[1::2].tolist(), strict=True))


def _visits(loop: Loop, away: Flags) -> list[tuple[int, int]]:
    """Stretches away from the path with a stop, or at an end of the log."""
    time_s, standing = loop.trace.time_s, loop.trace.standing
    chosen = []
    for begin, end in _runs(away):
        at_end = begin == 0 or end == len(away)
        still = [time_s[b + begin : e + begin] for b, e in _runs(standing[begin:end])]
        stopped = any(len(s) and s[-1] - s[0] >= STOP_S for s in still)
        if stopped or at_end:
            chosen.append((begin, end))
    return chosen


def find_pit_lane(loop: Loop, profile: SpeedProfile) -> PitLane | None:
    """
    Find the pit lane that a log uses.

    Parameters
    ----------
    loop : Loop
        The circuit and the trace along it.
    profile : SpeedProfile
        The usual speed along it.

    Returns
    -------
    PitLane or None
        None where the log shows none: no visit, or a stop far from the path.
    """
    ring, trace = loop.ring, loop.trace
    offset = np.where(loop.along.on, loop.along.offset_m, np.nan)
    away = ~(np.abs(offset) < 0.5 * NEAREST_M)
    # A wide line for a moment does not end a visit, nor does a close one.
    for begin, end in _runs(~away):
        if trace.time_s[end - 1] - trace.time_s[begin] < 3.0:
            away[begin:end] = True
    rows = np.concatenate(
        [np.arange(b, e) for b, e in _visits(loop, away)] or [np.zeros(0, dtype=np.int64)]
    )
    if len(rows) < 5:
        return None
    station_m, offset_m = _beside(ring, trace.east_m[rows], trace.north_m[rows])
    lane = _lane_rows(loop, profile, rows, station_m, offset_m)
    stops_m = _stop_stations(loop, rows, station_m, offset_m)
    if len(stops_m) == 0 or lane.sum() < 5:
        return None
    return _lane(ring, station_m[lane], offset_m[lane], stops_m)


def _lane_rows(
    loop: Loop, profile: SpeedProfile, rows: Ints, station_m: Floats, offset_m: Floats
) -> Flags:
    """Which fixes of the visits run along the path beside it, slower than usual."""
    trace, ring = loop.trace, loop.ring
    before, after = np.maximum(rows - 1, 0), np.minimum(rows + 1, len(trace.time_s) - 1)
    de = trace.east_m[after] - trace.east_m[before]
    dn = trace.north_m[after] - trace.north_m[before]
    speed = np.hypot(de, dn) / np.maximum(trace.time_s[after] - trace.time_s[before], 1e-9)
    nearest = np.round(station_m / ring.spacing_m).astype(np.int64) % len(ring.heading_rad)
    parallel = np.cos(np.arctan2(dn, de) - ring.heading_rad[nearest]) > 0.7
    flags: Flags = parallel & ~trace.standing[rows] & (np.abs(offset_m) < FARTHEST_M)
    flags &= speed < SLOW_SHARE * profile.speed_at(station_m)
    return flags


def _stop_stations(loop: Loop, rows: Ints, station_m: Floats, offset_m: Floats) -> Floats:
    """Stations of the stops beside the path."""
    still = loop.trace.standing[rows] & (np.abs(offset_m) < FARTHEST_M)
    still &= np.abs(offset_m) > 0.5 * NEAREST_M
    out = []
    for begin, end in _runs(still):
        if loop.trace.time_s[rows[end - 1]] - loop.trace.time_s[rows[begin]] >= STOP_S:
            angle = 2 * np.pi * station_m[begin:end] / loop.ring.length_m
            mean = np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())
            out.append(np.mod(mean / (2 * np.pi) * loop.ring.length_m, loop.ring.length_m))
    return np.array(out)


def _lane(ring: Ring, station_m: Floats, offset_m: Floats, stops_m: Floats) -> PitLane | None:
    """Average the fixes beside the path into a lane round the stops."""
    cells = max(16, int(ring.length_m / CELL_M))
    cell_m = ring.length_m / cells
    stop_m = float(np.median(stops_m))
    # Cells are counted from the stop, so that a lane across station 0 is whole.
    relative_m = cyclic_difference(station_m, stop_m, ring.length_m)
    cell = np.clip(np.floor(relative_m / cell_m).astype(np.int64) + cells // 2, 0, cells - 1)
    middle = medians(offset_m, cell, cells)
    filled = np.isfinite(middle)
    index = np.arange(cells)
    # Bridge holes of up to 40 m; a slow car at 1 Hz leaves some.
    holes = [(b, e) for b, e in _runs(~filled) if e - b <= 4 and b > 0 and e < cells]
    middle = np.interp(index, index[filled], middle[filled])
    for begin, end in holes:
        filled[begin:end] = True
    runs = [(b, e) for b, e in _runs(filled) if b - 5 <= cells // 2 <= e + 5]
    if not runs:
        return None
    begin, end = max(runs, key=lambda run: run[1] - run[0])
    part = middle[begin:end]
    side = float(np.sign(part[np.argmax(np.abs(part))]))
    beside = part * side > 0.5 * NEAREST_M
    spans = _runs(beside)
    if not spans:
        return None
    first, last = max(spans, key=lambda run: run[1] - run[0])
    largest = float(np.max(part[first:last] * side))
    if (last - first) * cell_m < SHORTEST_M or largest < NEAREST_M:
        return None
    cell_index = np.arange(begin + first, begin + last, dtype=np.float64)
    at_m = stop_m + (cell_index - cells // 2 + 0.5) * cell_m
    out_m = part[first:last]
    position = at_m / ring.spacing_m
    east, north = (cyclic_interpolate(v, position) for v in (ring.east_m, ring.north_m))
    sin = cyclic_interpolate(np.sin(ring.heading_rad), position)
    cos = cyclic_interpolate(np.cos(ring.heading_rad), position)
    points = np.stack([east - out_m * sin, north + out_m * cos], axis=1)
    return PitLane(points, float(at_m[0]), float(at_m[-1]), stops_m, side * largest)
