"""
`map_match`: where along the reference path a car is, fix after fix, without ever losing the thread.

The nearest point of the path is not enough: the legs of a hairpin, parallel
straights or a crossover lie closer together than the receiver's error.  So all
feet of normals near a fix are candidates, and the sequence of candidates that
agrees best with the distance driven, the direction of travel and a modest
offset is chosen for the session as a whole (Viterbi's algorithm).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapwright.geometry.path import MIN_METRIC_FACTOR, ReferencePath
from lapwright.numerics.cyclic import on_lap_near
from lapwright.numerics.viterbi import viterbi

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

# The choice is made every so many metres driven, not every so many seconds: a car that waits
# for minutes beside the wrong leg of a hairpin brings no new evidence.
_CHOICE_M = 15.0
_CANDIDATES = 6
_CELL_M = 6.0
# Costs, in the same arbitrary unit.  A metre off the path costs a twentieth, up to 3; going
# against the path up to 0.8, which is less than the offset of a leg 16 m away, so that a car
# that is driven the wrong way stays on its own leg.  A metre of disagreement between station
# and distance costs a twentieth up to 200 m, and a hundredth beyond, up to 20: a true short cut
# costs that once, while sitting on the wrong part of the path costs more within some hundred
# metres.  Beyond 200 m it must cost less than going against the path: else it would pay to turn
# round earlier than the car did, for a jump that is shorter by twice that.
_OFFSET_COST_PER_M = 0.05
_MAX_OFFSET_COST = 3.0
_AGAINST_COST = 0.4
_MISMATCH_COST_PER_M = 0.05
_MISMATCH_NEAR_M, _MISMATCH_COST_PER_M_BEYOND = 200.0, 0.01
_MAX_MISMATCH_COST = 20.0


@dataclass(frozen=True, eq=False, slots=True)
class MapMatch:
    """
    A trajectory in path coordinates.

    Attributes
    ----------
    station_m : ndarray, shape (n,)
        Unwrapped: grows by the path's length each lap; the first is in [0, length). [m]
    offset_m : ndarray, shape (n,)
        Positive to the left of the path. [m]
    lost : ndarray of bool, shape (n,)
        True where the normal is no guide to the station (too far inside a bend, or
        a jump from one part of the path to another); there it goes by distance driven.
    station_sd_m : ndarray, shape (n,)
        How doubtful the station is for that reason; 0 where the normal guides. [m]
    driven_m : ndarray, shape (n,)
        Distance driven since the first fix. [m]
    """

    station_m: Floats
    offset_m: Floats
    lost: Bools
    station_sd_m: Floats
    driven_m: Floats


def map_match(
    path: ReferencePath,
    time_s: ArrayLike,
    east_m: ArrayLike,
    north_m: ArrayLike,
    velocity_mps: ArrayLike | None = None,
) -> MapMatch:
    """
    Map a trajectory to station and offset, with continuity.

    Parameters
    ----------
    path : ReferencePath
        The closed path.
    time_s : array_like, shape (n,)
        Increasing. [s]
    east_m, north_m : array_like, shape (n,)
        Positions, finite. [m]
    velocity_mps : array_like, shape (n, 2), optional
        East and north; without it distance and direction come from positions a
        second apart. [m/s]

    Returns
    -------
    followed : MapMatch
        Station, offset and where they are doubtful.

    Raises
    ------
    ValueError
        If the arrays are empty, of different length or not finite.
    """
    time = np.asarray(time_s, dtype=np.float64)
    points = np.stack(
        [np.asarray(east_m, dtype=np.float64), np.asarray(north_m, dtype=np.float64)], axis=1
    )
    if not len(time) or len(time) != len(points) or not np.isfinite(points).all():
        msg = f"{len(time)} times and {len(points)} positions to follow; none may be missing"
        raise ValueError(msg)
    velocity = None if velocity_mps is None else np.asarray(velocity_mps, dtype=np.float64)
    driven = _driven(time, points, velocity)
    places = _places(driven)
    heading = _headings(points, places, velocity)
    chain = _choose(path, points[places], driven[places], heading)
    return _refine(path, points, driven, places, chain)


@dataclass(frozen=True, eq=False, slots=True)
class _Chain:
    """The chosen feet at the places of choice: unwrapped station, and which step is a jump."""

    station_m: Floats
    jump: Bools


def _driven(time: Floats, points: Floats, velocity: Floats | None) -> Floats:
    """Distance driven since the first fix."""
    if velocity is not None:
        speed = np.hypot(velocity[:, 0], velocity[:, 1])
        step = (speed[1:] + speed[:-1]) / 2.0 * np.diff(time)
        return np.concatenate([[0.0], np.cumsum(step)])
    # Chords of fixes a tenth of a second apart would mostly add up noise.
    second = np.unique(np.searchsorted(time, np.arange(time[0], time[-1] + 1.0, 1.0)))
    second = second[second < len(time)]
    if second[-1] != len(time) - 1:
        second = np.append(second, len(time) - 1)
    chords = np.hypot(*np.diff(points[second], axis=0).T)
    return np.asarray(np.interp(time, time[second], np.concatenate([[0.0], np.cumsum(chords)])))


def _places(driven: Floats) -> Ints:
    """Return the first fix, the last, and one every few metres between, at growing distances."""
    marks = np.arange(0.0, driven[-1], _CHOICE_M)
    places = np.unique(np.append(np.searchsorted(driven, marks), len(driven) - 1))
    grows = np.append(np.diff(driven[places]) > 0.0, True)
    return np.asarray(places[grows])


def _headings(points: Floats, places: Ints, velocity: Floats | None) -> Floats:
    """Unit vectors of travel at the places, or zero where the car all but stands; (m, 2)."""
    if velocity is not None:
        along, least = velocity[places], 0.5
    else:
        here = points[places]
        along, least = np.concatenate([here[1:], here[-1:]]), 2.0
        along = along - np.concatenate([here[:1], here[:-1]])
    size = np.hypot(along[:, 0], along[:, 1])[:, np.newaxis]
    return np.where(size > least, along / np.maximum(size, least), 0.0)


def _candidates(path: ReferencePath, points: Floats) -> tuple[Floats, Bools]:
    """
    Stations near up to six feet a point, nearest first, and which of them there are; (m, k).

    A car passes the same spots lap after lap, so the search is made once for each
    cell of a grid; the feet of the points themselves are found from there.
    """
    cell = np.floor(points / _CELL_M).astype(np.int64)
    cell -= cell.min(axis=0)
    _, first, which = np.unique(
        cell[:, 0] * (cell[:, 1].max() + 1) + cell[:, 1], return_index=True, return_inverse=True
    )
    centres = (np.floor(points[first] / _CELL_M) + 0.5) * _CELL_M
    row, column, away = _local_minima(path, centres)
    order = np.lexsort((away, row))
    row, column = row[order], column[order]
    rank = np.arange(len(row)) - np.searchsorted(row, row)
    keep = rank < _CANDIDATES
    station = np.zeros((len(centres), _CANDIDATES))
    there = np.zeros((len(centres), _CANDIDATES), dtype=bool)
    station[row[keep], rank[keep]] = path.samples()[0][column[keep]]
    there[row[keep], rank[keep]] = True
    # Mostly there are few: what follows goes by the square of their number.
    most = int(there.sum(axis=1).max())
    return station[which, :most], there[which, :most]


def _local_minima(path: ReferencePath, points: Floats) -> tuple[Ints, Ints, Floats]:
    """Point, sample and squared distance (but for a constant a point) of all local minima."""
    samples = path.samples()[1]
    squares = np.einsum("ij,ij->i", samples, samples)
    found = []
    for begin in range(0, len(points), 128):
        away = (-2.0 * points[begin : begin + 128]) @ samples.T
        away += squares
        falls = np.empty(away.shape, dtype=bool)
        np.less(away[:, 1:], away[:, :-1], out=falls[:, 1:])
        np.less(away[:, 0], away[:, -1], out=falls[:, 0])
        least = falls.copy()
        least[:, :-1] &= ~falls[:, 1:]
        least[:, -1] &= ~falls[:, 0]
        row, column = np.nonzero(least)
        found.append((row + begin, column, away[row, column]))
    rows, columns, aways = zip(*found, strict=True)
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(aways)


def _choose(path: ReferencePath, points: Floats, driven: Floats, heading: Floats) -> _Chain:
    """Choose one foot for each place so that the whole session makes the most sense."""
    rough, there = _candidates(path, points)
    place, _ = np.nonzero(there)
    station, offset, agrees = np.zeros((3, *rough.shape))
    metric_factor = np.ones(rough.shape)
    station[there], offset[there], metric_factor[there] = path.foot(
        points[place], rough[there], steps=3
    )
    agrees[there] = np.einsum("fj,fj->f", path.derivatives(station[there])[1], heading[place])
    moving = np.any(heading != 0.0, axis=1)[:, np.newaxis]
    cost = np.minimum(np.abs(offset) * _OFFSET_COST_PER_M, _MAX_OFFSET_COST)
    cost += np.where(moving, _AGAINST_COST * (1.0 - agrees), 0.0)
    cost[~there] = np.inf

    step = np.diff(driven)[:, np.newaxis, np.newaxis]
    rate = agrees / np.maximum(metric_factor, MIN_METRIC_FACTOR)
    expected = step * (rate[:-1, :, np.newaxis] + rate[1:, np.newaxis, :]) / 2.0
    advance = station[1:, np.newaxis, :] - station[:-1, :, np.newaxis]
    length = path.length_m
    advance = on_lap_near(advance, expected, length)
    mismatch = np.abs(advance - expected)
    excess = np.maximum(mismatch - 3.0 - 0.3 * step, 0.0)
    far = np.maximum(excess - _MISMATCH_NEAR_M, 0.0)
    step_cost = _MISMATCH_COST_PER_M * (excess - far) + _MISMATCH_COST_PER_M_BEYOND * far
    step_cost = np.minimum(step_cost, _MAX_MISMATCH_COST) + 1e-3 * mismatch
    chosen = viterbi(cost[0], step_cost + cost[1:, np.newaxis, :])

    index = np.arange(len(chosen) - 1)
    taken = (index, chosen[:-1], chosen[1:])
    start = np.mod(station[0, chosen[0]], length)
    unwrapped = start + np.concatenate([[0.0], np.cumsum(advance[taken])])
    return _Chain(unwrapped, mismatch[taken] > 10.0 + step[:, 0, 0])


def _refine(
    path: ReferencePath, points: Floats, driven: Floats, places: Ints, chain: _Chain
) -> MapMatch:
    """Find the foot of every fix near the chosen chain; bridge by distance where there is none."""
    guess = np.interp(driven, driven[places], chain.station_m)
    station, offset, metric_factor = path.foot(points, guess, steps=3)
    jump = np.zeros(len(points), dtype=bool)
    for first in np.flatnonzero(chain.jump):
        jump[places[first] + 1 : places[first + 1]] = True
    lost = jump | (metric_factor < MIN_METRIC_FACTOR) | (np.abs(station - guess) > 2.0 * _CHOICE_M)
    station_sd = np.zeros(len(points))
    if lost.any():
        station, station_sd = _bridge(station, driven, lost, guess)
        position, along, _ = path.derivatives(station[lost])
        away = points[lost] - position
        offset[lost] = away[:, 1] * along[:, 0] - away[:, 0] * along[:, 1]
    return MapMatch(station, offset, lost, station_sd, driven)


def _bridge(station: Floats, driven: Floats, lost: Bools, guess: Floats) -> tuple[Floats, Floats]:
    """Replace lost stations by ones in proportion to distance driven between good neighbours."""
    good = np.flatnonzero(~lost)
    if not len(good):
        return guess, np.full(len(guess), float(np.ptp(driven)) / 2.0 + 1.0)
    station = station.copy()
    station[lost] = np.interp(driven[lost], driven[good], station[good])
    # Before the first and after the last good fix the car goes on as far as it drives.
    ahead = driven[lost] - np.clip(driven[lost], driven[good[0]], driven[good[-1]])
    station[lost] += ahead
    # What is not known: how the stations that were gained are spread over the distance driven.
    after = np.minimum(np.searchsorted(good, np.flatnonzero(lost)), len(good) - 1)
    before = np.maximum(np.searchsorted(good, np.flatnonzero(lost)) - 1, 0)
    since = np.abs(driven[lost] - driven[good[before]])
    until = np.abs(driven[good[after]] - driven[lost])
    gained = np.abs(station[good[after]] - station[good[before]])
    nearest = np.minimum(since, until)
    share = nearest / np.maximum(since + until, 1e-9)
    unexplained = np.abs(gained - (since + until))
    station_sd = np.zeros(len(station))
    station_sd[lost] = 0.1 * nearest + share * unexplained
    return station, station_sd
