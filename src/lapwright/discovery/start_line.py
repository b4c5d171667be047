"""
A start/finish line and two sector lines for a circuit of which nobody gave any.

The line goes on the straight beside the pit lane where the log shows one,
else on the longest straight, square to the path.  The sector lines go where
a third and two thirds of the usual lap time have gone, moved on to a straight.
All three are proposals: the user's own lines come first.
"""

from collections.abc import Sequence

import numpy as np

from lapwright.discovery.arrays import Flags, Floats
from lapwright.discovery.corner_search.speed_profile import SpeedProfile
from lapwright.discovery.pit_lane import PitLane
from lapwright.geometry.corner import Corner
from lapwright.geometry.gate import Gate
from lapwright.geometry.path import ReferencePath
from lapwright.numerics.cyclic import cyclic_difference, distance_ahead

# Half the width of a line: half of a usual track, its verge and the receiver's error.
HALF_WIDTH_M = 12.0
# Not narrower than the narrowest track, however near another part of the path is.
NARROWEST_HALF_M = 5.0
# How far beyond a pit lane its side of the line reaches.
BEYOND_LANE_M = 6.0
# Places that are tried: the line need not be nearer to the best one.
STEP_M = 5.0


def straightness(path: ReferencePath, corners: Sequence[Corner]) -> tuple[Floats, Floats]:
    """
    How far every station is from the nearest corner.

    Parameters
    ----------
    path : ReferencePath
    corners : sequence of Corner

    Returns
    -------
    station_m, away_m : ndarray, shape (n,)
        Stations about 5 m apart, and metres to the nearest entry or exit;
        negative inside a corner. [m]
    """
    station_m = path.stations(STEP_M)
    away_m = np.full(len(station_m), path.length_m / 2)
    for corner in corners:
        middle, half = (corner.entry_m + corner.exit_m) / 2, (corner.exit_m - corner.entry_m) / 2
        apart = cyclic_difference(station_m, middle, path.length_m)
        away_m = np.minimum(away_m, np.abs(apart) - half)
    return station_m, away_m


def _between(station_m: Floats, begin_m: float, end_m: float, length_m: float) -> Flags:
    """Whether stations lie from one to another, in driving direction."""
    reach_m = distance_ahead(end_m, begin_m, length_m)
    flags: Flags = distance_ahead(station_m, begin_m, length_m) <= reach_m
    return flags


def start_station(
    path: ReferencePath, corners: Sequence[Corner], lane: PitLane | None
) -> tuple[float, str]:
    """
    Choose where the start/finish line goes.

    Parameters
    ----------
    path : ReferencePath
    corners : sequence of Corner
        On that path.
    lane : PitLane or None
        With stations on that path.

    Returns
    -------
    station_m : float
    why : str
        Half a sentence for a person.
    """
    station_m, away_m = straightness(path, corners)
    if lane is not None:
        beside = _between(station_m, lane.begin_m, lane.end_m, path.length_m) & (away_m > 10.0)
        if beside.any():
            score = np.where(beside, _score_beside_lane(station_m, away_m, lane, path), -np.inf)
            return float(station_m[np.argmax(score)]), "on the straight beside the pit lane"
    bend = np.abs(path.at(station_m).curvature_per_m)
    if away_m.max() <= 0.0:
        return float(station_m[np.argmin(bend)]), "where the path is straightest"
    # Far from corners, and not on a bend too gentle to be one.
    score = np.maximum(away_m, 0.0) - 2000.0 * np.maximum(bend - 0.004, 0.0)
    return float(station_m[np.argmax(score)]), "in the middle of the longest straight"


def _score_beside_lane(
    station_m: Floats, away_m: Floats, lane: PitLane, path: ReferencePath
) -> Floats:
    """Rate stations beside a pit lane: straight, not where cars are parked, not at its ends."""
    length_m = path.length_m
    middle_m, half_m = 0.5 * (lane.begin_m + lane.end_m), 0.5 * (lane.end_m - lane.begin_m)
    off_middle = np.abs(cyclic_difference(station_m, middle_m, length_m)) / half_m
    # A line through the place where a car is parked is crossed by noise alone.
    away_m_by_stop = cyclic_difference(station_m[:, None], lane.stops_m, length_m)
    to_stop_m = np.abs(away_m_by_stop).min(axis=1)
    score: Floats = np.minimum(away_m, 60.0) / 60.0 + np.minimum(to_stop_m, 40.0) / 40.0
    score -= off_middle
    return score


def gate_at(path: ReferencePath, station_m: float, lane: PitLane | None = None) -> Gate:
    """
    Draw a line square to the path, wide enough for the track but not for the next one.

    Parameters
    ----------
    path : ReferencePath
    station_m : float
    lane : PitLane, optional
        Where the line passes it, its side reaches across it.

    Returns
    -------
    Gate
    """
    point = path.at(station_m)
    centre = np.array([float(point.east_m), float(point.north_m)])
    heading = float(point.heading_rad)
    left = np.array([-np.sin(heading), np.cos(heading)])
    room = _room(path, station_m, centre, left)
    halves = [max(NARROWEST_HALF_M, min(HALF_WIDTH_M, 0.6 * side)) for side in room]
    if (
        lane is not None
        and _between(np.array([station_m]), lane.begin_m, lane.end_m, path.length_m).any()
    ):
        across = (lane.points_m - centre) @ left
        ahead = np.abs((lane.points_m - centre) @ np.array([left[1], -left[0]]))
        reach = float(across[np.argmin(ahead)])
        k = 0 if reach > 0 else 1
        if abs(reach) + BEYOND_LANE_M < room[k] - 4.0:
            halves[k] = max(halves[k], abs(reach) + BEYOND_LANE_M)
    begin, end = centre + halves[0] * left, centre - halves[1] * left
    return Gate((float(begin[0]), float(begin[1])), (float(end[0]), float(end[1])))


def _room(
    path: ReferencePath, station_m: float, centre: Floats, left: Floats
) -> tuple[float, float]:
    """Distance from a point of the path to other parts of it, square to the left and right."""
    stations = path.stations(2.0)
    other = np.abs(cyclic_difference(stations, station_m, path.length_m)) > 60.0
    point = path.at(stations[other])
    away = np.stack([point.east_m, point.north_m], axis=1) - centre
    across, ahead = away @ left, away @ np.array([left[1], -left[0]])
    ahead_of = np.abs(ahead) < 6.0
    sides = []
    for sign in (1.0, -1.0):
        here = across[ahead_of & (across * sign > 0)] * sign
        sides.append(float(here.min()) if len(here) else 1.0e6)
    return sides[0], sides[1]


def sector_stations(
    path: ReferencePath, corners: Sequence[Corner], profile: SpeedProfile, start_m: float
) -> tuple[float, float]:
    """
    Choose where two sector lines cut the lap into three of about equal time.

    Parameters
    ----------
    path : ReferencePath
    corners : sequence of Corner
    profile : SpeedProfile
        The usual speed along the path.
    start_m : float
        Station of the start/finish line.

    Returns
    -------
    first_m, second_m : float
        Stations on straights, or where the path is straightest near by.
    """
    station_m, away_m = straightness(path, corners)
    elapsed_s = profile.elapsed_s(station_m, start_m)
    lap_s = float((profile.length_m / len(profile.speed_mps) / profile.speed_mps).sum())
    bend = np.abs(path.at(station_m).curvature_per_m)
    chosen: list[tuple[float, float]] = []
    for third in (1.0, 2.0):
        late = np.abs(elapsed_s / lap_s - third / 3.0)
        # A tenth of the lap is worth giving up for a straight, not for a longer straight.
        cost = late + np.where(away_m > 15.0, 0.0, 0.1) + np.where(away_m > 0.0, 0.0, 0.1 + bend)
        cost = np.where((elapsed_s < 0.08 * lap_s) | (elapsed_s > 0.92 * lap_s), np.inf, cost)
        if chosen:
            cost = np.where(elapsed_s < chosen[0][1] + 0.08 * lap_s, np.inf, cost)
        best = int(np.argmin(cost))
        chosen.append((float(station_m[best]), float(elapsed_s[best])))
    return chosen[0][0], chosen[1][0]
