"""
The path of a track whose file has only lines, from the laps of a log.

Here the start/finish line is given, so nothing has to be guessed: what lies
between two passages of the line in its direction is a lap, and the laps of
the usual length are averaged as `loop` averages them.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from pyproj import Geod

from lapwright.arguments import checked
from lapwright.discovery.arrays import Floats
from lapwright.discovery.corner_search.driven_corners import corners_of_laps, driven_corners
from lapwright.discovery.ground_height import ground_height
from lapwright.discovery.loop.find_loop import (
    Loop,
    NoCircuitError,
    closed_stretch,
    find_loop_in,
    refine_loop,
)
from lapwright.discovery.loop.recurrence import SAME_LENGTH, SHORTEST_LAP_M
from lapwright.discovery.loop.thin import Steps, Thinned, steps, thin
from lapwright.errors import TrackError
from lapwright.geometry.corner import NEAR_M as MARK_NEAR_M
from lapwright.geometry.corner import Corner, CornerMark
from lapwright.geometry.corner_at import corner_at, station_of_point
from lapwright.geometry.corner_list import added, marked
from lapwright.geometry.gate import Gate
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.ingest.fixes_on_plane import fixes_on_plane
from lapwright.ingest.log import Log
from lapwright.plane import Plane

# A receiver's error and a line drawn from a map: this far beyond its ends a line is still crossed.
BEYOND_ENDS_M = 5.0
# A log with no fix within so far of the start/finish line was not driven on that circuit.
NEAR_M = 20_000.0


@checked
def complete_track(track: Track, log: Log) -> Track:
    """
    Give a track the path and the corners it lacks, from the laps of a log.

    Parameters
    ----------
    track : Track
        With at least a start/finish line. A path or corners it has are kept.
    log : Log
        A log with at least one lap of it.

    Returns
    -------
    Track
        With a path whose station 0 is at the line, and corners. A track without
        heights is moved to the plane at the log's height, where lengths are true.

    Raises
    ------
    TrackError
        If the log is far away from the track, or has no lap between two passages of the line.

    References
    ----------
    1. P. H. C. Eilers, "A perfect smoother", Analytical Chemistry 75 (2003) 3631-3636,
       doi:10.1021/ac034173t: the path through the laps.
    2. C. de Boor, "A Practical Guide to Splines", rev. ed., Springer, 2001, ch. IV: the curve.

    Examples
    --------
    >>> import lapwright as lw
    >>> lines = lw.read_track("sample_sessions/wren_hollow.geojson")
    >>> whole = lw.complete_track(lines, lw.read_log("sample_sessions/saturday_qualifying.gpx"))
    >>> len(lines.corners), len(whole.corners)
    (0, 10)
    """
    check_near(track, log)
    if track.path is not None and track.corners and not track.marks_without_corner:
        return track
    if track.path is None:
        track = track.on_plane(_at_height(track.plane, log))
    east_m, north_m = fixes_on_plane(log, track.plane)
    try:
        return complete_from_positions(track, log.fixes["time_s"].to_numpy(), east_m, north_m)
    except (NoCircuitError, ValueError) as error:
        hint = "Check that the log and the track belong together"
        raise TrackError(str(error), log.path, hint=hint) from error


def check_near(track: Track, log: Log) -> None:
    """
    Refuse a track that is somewhere else than the log.

    Raises
    ------
    TrackError
        If no fix is within `NEAR_M` of the start/finish line; it says how far away they are.
    """
    every = max(len(log.fixes) // 500, 1)
    lat_deg = log.fixes["lat_deg"].to_numpy()[::every]
    lon_deg = log.fixes["lon_deg"].to_numpy()[::every]
    line_deg = track.start_finish_deg[0]
    at = np.full(len(lat_deg), line_deg[0]), np.full(len(lat_deg), line_deg[1])
    # On the ellipsoid: a local plane says nothing across hundreds of kilometres.
    _, _, away_m = Geod(ellps="WGS84").inv(at[1], at[0], lon_deg, lat_deg)
    nearest_m = float(np.min(away_m, initial=np.inf))
    if nearest_m > NEAR_M:
        what = (
            f"the start/finish line of the track {track.name!r} is {nearest_m / 1000.0:.0f} km "
            "away from the log"
        )
        hint = "Give the track file of this circuit, or none to have the circuit found"
        raise TrackError(what, log.path, hint=hint)


def _at_height(plane: Plane, log: Log) -> Plane:
    """Return the plane at the log's usual height, if it has none of its own."""
    return plane if plane.height_m else replace(plane, height_m=ground_height(log))


def complete_from_positions(track: Track, time_s: Floats, east_m: Floats, north_m: Floats) -> Track:
    """
    Give a track the path and the corners it lacks, from positions on its plane.

    Parameters
    ----------
    track : Track
        With at least a start/finish line.
    time_s, east_m, north_m : ndarray, shape (n,)
        Positions in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    Track

    Raises
    ------
    NoCircuitError
        If there is no lap between two passages of the line.
    ValueError
        If the path of the laps misses a sector line.
    """
    if track.path is not None:
        found = corners_of_laps(track.path, time_s, east_m, north_m)
        return _with_marked(track if track.corners else track.with_corners(found), found)
    loop = loop_through(track.start_finish, time_s, east_m, north_m)
    path = ReferencePath(loop.ring.east_m, loop.ring.north_m)
    laid = track.with_path(path, (), loop.length_sd_m)
    assert laid.path is not None
    line = laid.path.at(0.0)
    zero_m, _ = path.project([float(line.east_m)], [float(line.north_m)])
    found = driven_corners(laid.path, loop.ring, loop.trace, loop.along, float(zero_m[0]))
    return _with_marked(laid.with_corners(found), found)


def _with_marked(track: Track, found: Sequence[Corner]) -> Track:
    """
    Add corners at the marks that have none; those that are there stay as they are.

    What was found near a mark comes first, else the path tells what the corner is.
    """
    assert track.path is not None
    for mark in track.marks_without_corner:
        for corner in _corners_for(mark, track, found):
            try:
                corners = added(track.corners, corner, track.length_m)
            except ValueError:
                # It lies over one with an extent of its own, which was set by hand.
                continue
            kept = tuple(m for m in track.corner_marks if m is not mark)
            track = replace(track, corners=corners, corner_marks=kept)
            break
    return track


def _corners_for(mark: CornerMark, track: Track, found: Sequence[Corner]) -> list[Corner]:
    """Return what a mark may stand for, the best first; nothing where it is off the track."""
    path = track.path
    assert path is not None
    name = "" if mark.name == str(mark.order) else mark.name
    index = marked(found, replace(mark, near_m=MARK_NEAR_M), path)
    ways = [] if index is None else [replace(found[index], name=name)]
    try:
        station_m = station_of_point(path, mark.apex_m, name)
        return [*ways, corner_at(path, track.corners, name, station_m)]
    except ValueError:
        return ways


def loop_through(gate: Gate, time_s: Floats, east_m: Floats, north_m: Floats) -> Loop:
    """
    Average the laps between passages of a gate.

    Parameters
    ----------
    gate : Gate
        The start/finish line.
    time_s, east_m, north_m : ndarray, shape (n,)
        Positions in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    Loop
        Its ring passes the gate in the gate's direction.

    Raises
    ------
    NoCircuitError
        If there is no lap.
    """
    trace = thin(time_s, east_m, north_m)
    if len(trace.time_s) < 20:
        msg = f"the log has only {len(time_s)} usable fixes: too few for a lap"
        raise NoCircuitError(msg)
    walk = steps(trace)
    at_s, against = line_passages(gate, trace)
    lap = _usual_lap(walk, at_s)
    if lap is not None:
        return refine_loop(closed_stretch(walk, *lap), trace, walk)
    if len(at_s) == 0 and against:
        msg = (
            f"the log crosses the start/finish line {against} times, only against its direction: "
            "swap the ends of the line (left end first as the driver sees it)"
        )
        raise NoCircuitError(msg)
    if len(at_s) == 0:
        msg = "the log never crosses the start/finish line"
        raise NoCircuitError(msg)
    # Once across the line and, say, half a lap on either side: the loop may still be whole.
    loop = find_loop_in(trace, walk)
    return loop


def line_passages(gate: Gate, trace: Thinned) -> tuple[Floats, int]:
    """Moments at which a trace crosses a gate in its direction, and how often it does otherwise."""
    distance_m = gate.signed_distance(trace.east_m, trace.north_m)
    offset_m = gate.offset(trace.east_m, trace.north_m)
    cross = np.flatnonzero(np.signbit(distance_m[:-1]) != np.signbit(distance_m[1:]))
    share = distance_m[cross] / (distance_m[cross] - distance_m[cross + 1])
    beside_m = offset_m[cross] * (1 - share) + offset_m[cross + 1] * share
    at_s = trace.time_s[cross] * (1 - share) + trace.time_s[cross + 1] * share
    on = np.abs(beside_m) <= gate.width_m / 2 + BEYOND_ENDS_M
    # A parked car crosses the line a hundred times an hour without moving.
    on &= ~(trace.standing[cross] & trace.standing[cross + 1])
    forward = distance_m[cross] < 0.0
    return at_s[on & forward], int((on & ~forward).sum())


def _usual_lap(walk: Steps, at_s: Floats) -> tuple[int, int] | None:
    """First and last step of the most usual way from one passage of the line to the next."""
    index = np.searchsorted(walk.time_s, at_s)
    index = index[(index > 0) & (index < len(walk.time_s))]
    if len(index) < 2:
        return None
    length_m = walk.travelled_m[index[1:]] - walk.travelled_m[index[:-1]]
    lap = np.flatnonzero(length_m > SHORTEST_LAP_M)
    if len(lap) == 0:
        return None
    length_m = length_m[lap]
    # The length that most laps share; among those, one without holes in the log.
    alike = np.abs(length_m[:, None] / length_m[None, :] - 1.0) < SAME_LENGTH
    centre_m = length_m[int(np.argmax(alike.sum(axis=1)))]
    hole = np.r_[0, np.cumsum(walk.gap)]
    holes = hole[index[lap + 1]] - hole[index[lap]]
    cost = np.abs(length_m / centre_m - 1.0) + 0.005 * holes
    best = lap[int(np.argmin(cost))]
    return int(index[best]), int(index[best + 1])
