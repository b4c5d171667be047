"""
Where the car slows down lap after lap, whatever the path does there.

A kink that bends too little to be a corner by its curvature costs a fast car 20 km/h
all the same, and whoever drives there calls it a corner.  It is told from what else
slows a car by four things: how much speed goes, how quickly it goes, that it comes
back, and that it does so on most of the clean laps.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats
from lapwright.discovery.loop.follow_ring import Along
from lapwright.discovery.loop.ring import Ring
from lapwright.discovery.loop.thin import Thinned
from lapwright.geometry.corner import Corner
from lapwright.numerics.robust_spread import robust_sd

CELL_M = 10.0
# The speed at a place is over so much of the way about it: half a metre of a receiver's error
# at either end is 2 % of it, and a car that slows by 20 km/h takes three times as long for it.
WINDOW_M = 40.0
# Fixes farther apart than this say nothing of the speed between them.
MAX_GAP_S = 2.5
# With fewer clean laps than this nothing repeats.
MIN_LAPS = 3
# Speed lost, as a share: at the end of a straight the air alone takes 2 % while a gear is
# changed (some 2 m/s2 for half a second at 50 m/s), and three times that is no gear change.
MIN_LOST = 0.06
# Speed won again: less is the first of two brakings for one corner.
MIN_REGAINED = 0.02
# A car at full throttle is slowed by a hill alone: 10 % of gradient are 1 m/s2. A driver who
# lifts loses 2 m/s2 to the air and the engine.
MIN_DECEL_MPS2 = 1.5
# The share of the clean laps that must show the dip, with half its least size: a slip or
# somebody slower ahead is there on a few.
MOST_LAPS = 0.75
# The usual loss stands out by so many of its own standard deviations from lap to lap.
CLEAR_SD = 2.0
# Slowest so near to a corner, the car slows down for that corner.
NEAR_CORNER_M = 40.0


@dataclass(frozen=True, slots=True)
class SpeedDip:
    """
    A place where the car slows down on most laps.

    Attributes
    ----------
    begin_m, slowest_m, end_m : float
        Stations on the path where half of the speed is lost, where the car is slowest,
        and where half of what it wins back is back; begin and end may lie outside
        [0, length). [m]
    lost : float
        Share of its speed the car usually loses.
    """

    begin_m: float
    slowest_m: float
    end_m: float
    lost: float


@dataclass(frozen=True, eq=False)
class LapSpeeds:
    """
    Speeds of the clean laps in cells along a closed line.

    Attributes
    ----------
    speed_mps : ndarray, shape (laps, cells)
        NaN where the log has a hole. [m/s]
    length_m : float
        Length of the line. [m]
    """

    speed_mps: Floats
    length_m: float


def lap_speeds(
    length_m: float, ring: Ring, trace: Thinned, along: Along, laps_s: Floats
) -> LapSpeeds:
    """
    Speed of laps along a ring.

    Parameters
    ----------
    length_m : float
        Length of the path the ring is taken for; the two differ by centimetres. [m]
    ring : Ring
    trace : Thinned
    along : Along
        The trace along the ring.
    laps_s : ndarray, shape (k, 2)
        First and last moment of each lap from station 0. [s]

    Returns
    -------
    LapSpeeds
        From stations and times of the fixes, not from a logged speed.
    """
    cells = max(8, round(length_m / CELL_M))
    middle_m = (np.arange(cells) + 0.5) * ring.length_m / cells
    rows = []
    for begin_s, end_s in laps_s:
        # A little more than the lap, so that its first and last cell have both ends.
        part = (trace.time_s > begin_s - 5.0) & (trace.time_s < end_s + 5.0) & along.on
        if part.sum() < 3:
            continue
        station_m = np.maximum.accumulate(along.station_m[part])
        time_s = trace.time_s[part]
        start_m = float(np.interp(begin_s, time_s, station_m))
        # The lap's own zero: rounding must not put it a lap away.
        at_m = np.round(start_m / ring.length_m) * ring.length_m + middle_m
        early = np.interp(at_m - WINDOW_M / 2, station_m, time_s, left=np.nan, right=np.nan)
        late = np.interp(at_m + WINDOW_M / 2, station_m, time_s, left=np.nan, right=np.nan)
        took_s = late - early
        after = np.clip(np.searchsorted(station_m, at_m), 1, len(station_m) - 1)
        took_s[time_s[after] - time_s[after - 1] > MAX_GAP_S] = np.nan
        rows.append(WINDOW_M / np.where(took_s > 0.0, took_s, np.nan))
    return LapSpeeds(np.array(rows).reshape(len(rows), cells), length_m)


def find_speed_dips(speeds: LapSpeeds, corners: Sequence[Corner]) -> tuple[SpeedDip, ...]:
    """
    Find the places outside all corners where the car slows down lap after lap.

    Parameters
    ----------
    speeds : LapSpeeds
    corners : sequence of Corner
        Found by the path's curvature, with stations on the same line.

    Returns
    -------
    tuple of SpeedDip
        In order of their stations; none with fewer than `MIN_LAPS` clean laps.
    """
    if len(speeds.speed_mps) < MIN_LAPS:
        return ()
    known = np.isfinite(speeds.speed_mps).sum(axis=0) >= MIN_LAPS
    if not known.any():
        return ()
    cells = speeds.speed_mps.shape[1]
    usual = np.full(cells, np.nan)
    usual[known] = np.nanmedian(speeds.speed_mps[:, known], axis=0)
    index = np.arange(cells)
    usual = np.interp(index, index[known], usual[known], period=cells)
    cell_m = speeds.length_m / cells
    found = []
    for k in np.flatnonzero((usual < np.roll(usual, 1)) & (usual <= np.roll(usual, -1))):
        slowest_m = (k + 0.5) * cell_m
        if any(_apart_m(slowest_m, c, speeds.length_m) < NEAR_CORNER_M for c in corners):
            continue
        dip = _dip(usual, speeds.speed_mps, int(k), cell_m)
        if dip is not None:
            found.append(dip)
    return tuple(found)


def _apart_m(station_m: float, corner: Corner, length_m: float) -> float:
    """How far outside a corner a station is; negative inside it [m]."""
    middle_m = 0.5 * (corner.entry_m + corner.exit_m)
    away_m = abs((station_m - middle_m + length_m / 2) % length_m - length_m / 2)
    return away_m - 0.5 * (corner.exit_m - corner.entry_m)


def _dip(usual: Floats, laps: Floats, k: int, cell_m: float) -> SpeedDip | None:
    """Return the dip whose bottom is a cell, if it is deep, quick and common enough."""
    cells = len(usual)
    # Away from the bottom, as far as it is the slowest place: back and ahead.
    back, ahead = (_shoulder(np.roll(usual[::way], -j)) for way, j in ((-1, cells - 1 - k), (1, k)))
    before, after = (k - back) % cells, (k + ahead) % cells
    lost, regained = 1.0 - usual[k] / usual[before], usual[after] / usual[k] - 1.0
    if lost < MIN_LOST or regained < MIN_REGAINED:
        return None
    down = usual[(k - np.arange(back + 1)) % cells]
    up = usual[(k + np.arange(ahead + 1)) % cells]
    # Mean deceleration from a tenth to nine tenths of what is lost: v dv/ds.
    part = usual[before] - usual[k]
    near, far = (int(np.argmax(down >= usual[k] + share * part)) for share in (0.1, 0.9))
    decel = 0.5 * (down[far] ** 2 - down[near] ** 2) / (max(far - near, 1) * cell_m)
    if decel < MIN_DECEL_MPS2:
        return None
    each = 1.0 - laps[:, k] / laps[:, before]
    each = each[np.isfinite(each)]
    if len(each) < MIN_LAPS or np.mean(each >= MIN_LOST / 2) < MOST_LAPS:
        return None
    if np.median(each) < CLEAR_SD * robust_sd(each):
        return None
    begin = int(np.argmax(down >= usual[k] + 0.5 * part))
    end = int(np.argmax(up >= usual[k] + 0.5 * (usual[after] - usual[k])))
    slowest_m = (k + 0.5) * cell_m
    return SpeedDip(
        slowest_m - max(begin, 1) * cell_m, slowest_m, slowest_m + max(end, 1) * cell_m, float(lost)
    )


def _shoulder(away: Floats) -> int:
    """How many cells from a bottom, the first value, to the top on one side of it."""
    lower = np.flatnonzero(away[1:] < away[0])
    reach = int(lower[0]) + 1 if len(lower) else len(away)
    return int(np.argmax(away[:reach]))
