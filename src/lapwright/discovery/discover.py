"""
`discover_track`: from a log to a `Track`, with a word on how sure it is.

The parts are found in the other modules of this room; here they are put
together in the order in which one needs the other: the closed path, its
corners, the usual speed, the pit lane, the line, the sectors.
"""

from dataclasses import dataclass, replace

import numpy as np

from lapwright.arguments import checked
from lapwright.discovery.arrays import Floats
from lapwright.discovery.corner_search.corners import find_corners
from lapwright.discovery.corner_search.driven_corners import driven_corners
from lapwright.discovery.corner_search.speed_profile import speed_profile
from lapwright.discovery.ground_height import ground_height
from lapwright.discovery.loop.find_loop import Loop, NoCircuitError, find_loop
from lapwright.discovery.pit_lane import find_pit_lane
from lapwright.discovery.start_line import gate_at, sector_stations, start_station
from lapwright.errors import TrackError
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.ingest.log import Log
from lapwright.plane import Plane, middle_longitude_deg


@dataclass(frozen=True, eq=False)
class Discovery:
    """
    A track found in a log.

    Attributes
    ----------
    track : Track
        Path, corners, start/finish line, two sector lines and, where used, the pit lane.
    how_sure : str
        One sentence: what the finding rests on.
    evidence : tuple of str
        Further sentences: where the line was put and why, the pit lane, what was left out.
    rounds : float
        Distance driven along the circuit, in laps.
    whole_laps : int
        Laps without a gap, from wherever the path begins.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> lw.discover_track(log).how_sure.split(":")[0]
    'sure'
    """

    track: Track
    how_sure: str
    evidence: tuple[str, ...]
    rounds: float
    whole_laps: int


@checked
def discover_track(log: Log, name: str = "") -> Discovery:
    """
    Find the circuit in a log.

    Parameters
    ----------
    log : Log
        A log of any kind of driving.
    name : str
        A name for the track.

    Returns
    -------
    Discovery

    Raises
    ------
    TrackError
        If there is no circuit; the message says what the log shows instead.

    References
    ----------
    1. P. H. C. Eilers, "A perfect smoother", Analytical Chemistry 75 (2003) 3631-3636,
       doi:10.1021/ac034173t: the path through the laps.
    2. C. de Boor, "A Practical Guide to Splines", rev. ed., Springer, 2001, ch. IV: the curve.

    Examples
    --------
    >>> import lapwright as lw
    >>> found = lw.discover_track(lw.read_log("sample_sessions/saturday_qualifying.gpx"))
    >>> f"{found.track.length_m:.0f} m", len(found.track.corners)
    ('3109 m', 10)
    """
    fixes = log.fixes
    height_m = ground_height(log)
    lat_deg, lon_deg = fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy()
    if len(lat_deg) == 0:
        what = "the log has no usable fix"
        raise TrackError(what, log.path)
    plane = Plane(float(np.median(lat_deg)), middle_longitude_deg(lon_deg), height_m)
    east_m, north_m = plane.to_metres(lat_deg, lon_deg)
    try:
        found = discover_from_positions(plane, fixes["time_s"].to_numpy(), east_m, north_m)
    except NoCircuitError as error:
        hint = "If it was driven on a circuit all the same, give a track file"
        raise TrackError(str(error), log.path, hint=hint) from error
    centre = plane.to_degrees(
        float(np.mean(_path_of(found.track).east_m)), float(np.mean(_path_of(found.track).north_m))
    )
    centred = Plane(float(centre[0]), float(centre[1]), height_m)
    return replace(found, track=found.track.on_plane(centred).renamed(name))


def _path_of(track: Track) -> ReferencePath:
    assert track.path is not None
    return track.path


def discover_from_positions(
    plane: Plane, time_s: Floats, east_m: Floats, north_m: Floats
) -> Discovery:
    """
    Find the circuit in positions on a plane.

    Parameters
    ----------
    plane : Plane
        The plane of the positions.
    time_s, east_m, north_m : ndarray, shape (n,)
        Positions in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    Discovery

    Raises
    ------
    NoCircuitError
        If there is no circuit; the message says what there is instead.
    """
    loop = find_loop(time_s, east_m, north_m)
    path = ReferencePath(loop.ring.east_m, loop.ring.north_m)
    profile = speed_profile(loop)
    lane = find_pit_lane(loop, profile)
    # The lines go by the bends alone: those are the same for every car.
    bends = find_corners(path)
    start_m, why = start_station(path, bends, lane)
    sectors = sector_stations(path, bends, profile, start_m)
    track = Track(
        name="",
        plane=plane,
        start_finish=gate_at(path, start_m, lane),
        sectors=tuple(gate_at(path, station_m) for station_m in sectors),
        path=path,
        corners=driven_corners(path, loop.ring, loop.trace, loop.along),
        pit_lane=None if lane is None else lane.points_m,
        length_sd_m=loop.length_sd_m,
        source="discovered",
    )
    evidence = [f"the start/finish line is a suggestion, {why}"]
    if lane is not None:
        evidence.append(
            f"the pit lane runs to the {'left' if lane.side_m > 0 else 'right'} of the path"
        )
    return Discovery(track, how_sure(loop), tuple(evidence), loop.rounds, len(loop.laps_s))


def how_sure(loop: Loop) -> str:
    """Say in one sentence what a loop rests on; lengths are said where their unit is known."""
    if len(loop.clean) >= 3:
        return f"sure: {loop.rounds:.1f} laps driven, {len(loop.clean)} clean laps that agree"
    if loop.rounds >= 2.0:
        return f"fairly sure: only {loop.rounds:.1f} laps to average"
    return (
        f"not very sure: only {loop.rounds:.1f} laps driven; the path rests on one or two laps and "
        "its length on the receiver's drift"
    )
