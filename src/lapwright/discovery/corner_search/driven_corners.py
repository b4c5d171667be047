"""
The corners of a path and of the laps driven on it: by curvature, and by the speed.

A saved track file keeps its corners, so that a whole season counts them the same way.
This is for a path without corners yet: a bend that a fast car slows down for and a slow
one does not is a corner in the log of the fast one only.
"""

from lapwright.discovery.arrays import Floats
from lapwright.discovery.corner_search.corners import find_corners
from lapwright.discovery.corner_search.speed_dips import SpeedDip, find_speed_dips, lap_speeds
from lapwright.discovery.loop.follow_ring import Along, follow_ring
from lapwright.discovery.loop.lap_choice import clean_laps, whole_laps
from lapwright.discovery.loop.ring import SPACING_M, Ring, ring_from_points
from lapwright.discovery.loop.thin import Thinned, steps, thin
from lapwright.geometry.corner import Corner
from lapwright.geometry.corner_list import moved
from lapwright.geometry.path import ReferencePath

# With fewer fixes there is no lap, let alone three.
FEWEST_FIXES = 20


def driven_corners(
    path: ReferencePath, ring: Ring, trace: Thinned, along: Along, zero_m: float = 0.0
) -> tuple[Corner, ...]:
    """
    Find the corners of a path by its curvature and by the speed of the clean laps.

    Parameters
    ----------
    path : ReferencePath
    ring : Ring
        The same line.
    trace : Thinned
    along : Along
        The trace along the ring.
    zero_m : float
        Station on the ring of the path's station 0. [m]

    Returns
    -------
    tuple of Corner
        By curvature alone with fewer than three clean laps.
    """
    bends = find_corners(path)
    laps_s = whole_laps(ring, trace, along)
    speeds = lap_speeds(path.length_m, ring, trace, along, laps_s[clean_laps(trace, along, laps_s)])
    on_ring = find_speed_dips(speeds, [moved(corner, zero_m) for corner in bends])
    dips = [
        SpeedDip(d.begin_m - zero_m, d.slowest_m - zero_m, d.end_m - zero_m, d.lost)
        for d in on_ring
    ]
    return find_corners(path, dips) if dips else bends


def corners_of_laps(
    path: ReferencePath, time_s: Floats, east_m: Floats, north_m: Floats
) -> tuple[Corner, ...]:
    """
    Find the corners of a path that was not made of this trace.

    Parameters
    ----------
    path : ReferencePath
    time_s, east_m, north_m : ndarray, shape (n,)
        Positions on the path's plane in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    tuple of Corner
        As `driven_corners`; by curvature alone where the trace is elsewhere.
    """
    trace = thin(time_s, east_m, north_m)
    if len(trace.time_s) < FEWEST_FIXES:
        return find_corners(path)
    point = path.at(path.stations(SPACING_M))
    ring = ring_from_points(point.east_m, point.north_m)
    return driven_corners(path, ring, trace, follow_ring(ring, trace, steps(trace)))
