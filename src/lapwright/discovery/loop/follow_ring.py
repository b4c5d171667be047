"""
A whole trace laid along a ring: which stretches run along it, at which station, in which lap.

Distance and heading decide where a point belongs, and the distance driven
since the last such point decides which lap it is in, so that neither a
hairpin's legs nor a crossover nor a visit to the pits can shift the count.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Flags, Floats, Ints
from lapwright.discovery.loop.ring import Ring, nearest_foot
from lapwright.discovery.loop.thin import STEP_M, Steps, Thinned
from lapwright.numerics.cyclic import on_lap_near

# How far beside the ring a point may be and still be taken as driving along it.
BESIDE_M = 14.0
# Distance between the ring points that are looked at first.
KNOT_M = 8.0
# A heading off by a radian counts like this many metres.
HEADING_M = 20.0


@dataclass(frozen=True, eq=False)
class Along:
    """
    Thinned fixes along a ring.

    Attributes
    ----------
    station_m : ndarray, shape (n,)
        Running station: grows by the ring's length every lap; NaN off the ring
        and where the receiver stands. [m]
    offset_m : ndarray, shape (n,)
        Distance to the left of the ring; NaN where the station is. [m]
    stretch : ndarray of int, shape (n,)
        Number of the stretch of continuous driving along the ring, or -1.
    """

    station_m: Floats
    offset_m: Floats
    stretch: Ints

    @property
    def on(self) -> Flags:
        """Where there is a station."""
        flags: Flags = np.isfinite(self.station_m)
        return flags


def _nearest(ring: Ring, steps: Steps, pick: Ints) -> tuple[Ints, Floats]:
    """Nearest ring point by place and heading, and how far it is; whole matrices at once."""
    every = max(1, round(KNOT_M / ring.spacing_m))
    knots = np.arange(0, len(ring.east_m), every)
    centre_e, centre_n = ring.east_m.mean(), ring.north_m.mean()

    def vectors(e: Floats, n: Floats, h: Floats) -> Floats:
        out: Floats = np.stack(
            [e - centre_e, n - centre_n, HEADING_M * np.cos(h), HEADING_M * np.sin(h)], axis=1
        )
        return out

    # Single precision decides between knots metres apart as well, in half the time.
    narrow = np.float32

    target = vectors(ring.east_m[knots], ring.north_m[knots], ring.heading_rad[knots])
    half = (0.5 * (target**2).sum(axis=1)).astype(narrow)
    turned = np.ascontiguousarray(target.T.astype(narrow))
    best = np.empty(len(pick), dtype=np.int64)
    for begin in range(0, len(pick), 2048):
        part = pick[begin : begin + 2048]
        points = vectors(steps.east_m[part], steps.north_m[part], steps.heading_rad[part])
        best[begin : begin + 2048] = np.argmax(points.astype(narrow) @ turned - half, axis=1)
    chosen = knots[best]
    points = vectors(steps.east_m[pick], steps.north_m[pick], steps.heading_rad[pick])
    return chosen, np.sqrt(((points - target[best]) ** 2).sum(axis=1))


def _on_ring(ring: Ring, steps: Steps, pick: Ints) -> tuple[Ints, Floats]:
    """Those of the picked points that lie on the ring, and their stations within a lap."""
    if len(pick) < 3:
        return pick[:0], np.zeros(0)
    knot, cost_m = _nearest(ring, steps, pick)
    # The offset, half a knot's distance along, and 35 degrees of heading.
    near = cost_m < np.hypot(BESIDE_M, np.hypot(KNOT_M / 2, HEADING_M * 0.6))
    station_m, offset_m = nearest_foot(
        ring, knot.astype(np.float64) * ring.spacing_m, steps.east_m[pick], steps.north_m[pick]
    )
    near &= np.abs(offset_m) < BESIDE_M
    return pick[near], station_m[near]


def share_on_ring(ring: Ring, steps: Steps) -> float:
    """Share of a trace that runs along a ring, from a point every 50 m."""
    pick = np.arange(1, max(1, len(steps.time_s) - 1), 10)
    return len(_on_ring(ring, steps, pick)[0]) / max(1, len(pick))


def follow_ring(ring: Ring, trace: Thinned, steps: Steps) -> Along:
    """
    Lay a trace along a ring.

    Parameters
    ----------
    ring : Ring
        In driving direction; what is driven against it stays off.
    trace : Thinned
    steps : Steps
        The same trace as points one step apart.

    Returns
    -------
    Along
        For every fix of `trace`.
    """
    count = len(trace.time_s)
    nothing = Along(np.full(count, np.nan), np.full(count, np.nan), np.full(count, -1))
    # Heading at a point needs its neighbours: the first and last are no good guides.
    pick = np.arange(1, max(1, len(steps.time_s) - 1), 3)
    pick, station_m = _on_ring(ring, steps, pick)
    if len(pick) < 3:
        return nothing
    travelled_m = np.diff(steps.travelled_m[pick])
    raw_m = np.diff(station_m)
    length_m = ring.length_m
    moved_m = on_lap_near(raw_m, travelled_m, length_m)
    broken = np.abs(moved_m - travelled_m) > 12.0 + 0.2 * travelled_m
    broken |= travelled_m > max(400.0, 0.35 * length_m)
    moved_m[broken] = 0.0
    stretch = np.r_[0, np.cumsum(broken)]
    running_m = station_m[0] + np.r_[0.0, np.cumsum(moved_m)]
    # Where a stretch begins, the sum above is not on the ring: put it there, laps counted on.
    starts = np.flatnonzero(np.r_[True, broken])
    lift_m = station_m[starts] - running_m[starts]
    running_m = running_m + np.repeat(lift_m, np.diff(np.r_[starts, len(running_m)]))
    return _at_fixes(
        ring, trace, steps.time_s[pick], running_m, stretch, np.r_[travelled_m, np.inf]
    )


def _at_fixes(
    ring: Ring,
    trace: Thinned,
    knot_s: Floats,
    running_m: Floats,
    stretch: Ints,
    hop_m: Floats,
) -> Along:
    """Carry the running stations of the steps over to the fixes."""
    k = np.clip(np.searchsorted(knot_s, trace.time_s, side="right") - 1, 0, len(knot_s) - 2)
    inside = (trace.time_s >= knot_s[0]) & (trace.time_s <= knot_s[-1])
    inside &= (stretch[k] == stretch[k + 1]) & (hop_m[k] < 6 * STEP_M) & ~trace.standing
    guess_m = np.interp(trace.time_s, knot_s, running_m)
    station_m, offset_m = nearest_foot(ring, guess_m, trace.east_m, trace.north_m)
    inside &= (np.abs(offset_m) < BESIDE_M) & (np.abs(station_m - guess_m) < 15.0)
    return Along(
        np.where(inside, station_m, np.nan),
        np.where(inside, offset_m, np.nan),
        np.where(inside, stretch[k], -1),
    )
