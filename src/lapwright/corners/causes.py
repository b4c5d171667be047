"""
What cost the time between two laps, corner by corner: a table of causes, each with its error bar.

The sums are those of `lapwright.laps.lost_time`; here the lap is cut into its links, from slowest
point to slowest point, and each part is given to the corner it comes from.  What one part has too
much by an error its neighbour has too little, so the covariance is kept: a corner's sum is surer
than its parts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, records
from lapwright.columns.laps import CAUSES as COLUMNS
from lapwright.geometry import Track
from lapwright.laps.comparison import Side, delta_posterior, time_since_start
from lapwright.laps.lost_time import CAUSES, Link, Way, link_costs
from lapwright.laps.stretches import FROM_LINE
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# Steps along the lap; a car brakes and turns over many of them. [m]
_STEP_M = 1.0
# Less than this is rounding. [s]
_NOTHING_S = 1e-9


@dataclass(frozen=True, slots=True)
class _SlowPoint:
    """Where a link ends and the next begins: a corner's slowest point, or the line."""

    corner: int
    station_m: float
    # Gain in v² over the reference: at its slowest on the way there, and there.
    gain_in2: float
    gain_out2: float
    speed_mps: float


@dataclass(frozen=True, eq=False, slots=True)
class _Charged:
    """A link's five costs, what each of four speeds' error bars adds to them, and its marks."""

    costs: Floats
    moved_s: Floats  # (4, 5): slowest point, next slowest point, exit, beginning of the slowing
    marks_m: Floats  # (4,)


def causes(
    track: Track, side: Side, reference: Side, mine: pd.DataFrame, other: pd.DataFrame,
    slowing_m: Sequence[float],
) -> tuple[pd.DataFrame, Floats]:  # fmt: skip
    """
    Charge the time lost to a reference lap to what it comes from.

    Parameters
    ----------
    track : Track
        With corners.
    side, reference : Side
    mine, other : DataFrame
        Passes of the lap and of the reference lap, see `lapwright.corners.pass_table`.
    slowing_m : sequence of float
        Where the car usually slows for each corner, see `lapwright.laps.slowing`. [m]

    Returns
    -------
    causes : DataFrame
        One row a corner and cause, see `lapwright.columns.laps.CAUSES`; they add up to the
        difference of the lap times.  Corner 0 is what the lap began with at the line.
    cov_s2 : ndarray, shape (rows, rows)
        Covariance of their errors. [s²]
    """
    points = _slow_points(track, side, reference, mine, other)
    ways = [_marks(track, slowing_m, *ends) for ends in pairwise(points)]
    sds = _speed_sds(side, reference, np.array([link.marks_m for link in ways]))
    links = [
        _charged(side, reference, link, ends, here)
        for link, ends, here in zip(ways, pairwise(points), sds, strict=True)
    ]
    places = [_places(*ends) for ends in pairwise(points)]
    rows = [(c, cause) for c in (FROM_LINE, *(c.order for c in track.corners)) for cause in CAUSES]
    row_of = {key: k for k, key in enumerate(rows)}
    into = np.array([[row_of[key] for key in ends] for ends in places])
    lost = np.zeros(len(rows))
    np.add.at(lost, into, np.array([link.costs for link in links]))
    cov = _covariance(track, side, reference, links, into, len(rows))
    # Behind the line there is no corner: only what is left of the lap before may be lost there.
    kept = [
        k for k, (corner, _) in enumerate(rows)
        if corner or abs(lost[k]) > _NOTHING_S or cov[k, k] > _NOTHING_S**2
    ]  # fmt: skip
    table = pd.DataFrame([rows[k] for k in kept], columns=["corner", "cause"])
    table["lost_s"], table["lost_sd_s"] = lost[kept], np.sqrt(np.diagonal(cov)[kept])
    return arranged(table, COLUMNS), cov[np.ix_(kept, kept)]


def _places(begin: _SlowPoint, end: _SlowPoint) -> list[tuple[int, str]]:
    """Where the five parts of a link belong: the minimum speed costs on the way in and out."""
    return [(begin.corner, "minimum"), (begin.corner, "exit"), (begin.corner, "straight"),
            (end.corner, "braking"), (end.corner, "minimum")]  # fmt: skip


def _covariance(
    track: Track, side: Side, reference: Side, links: Sequence[_Charged],
    into: "npt.NDArray[np.intp]", rows: int,
) -> Floats:  # fmt: skip
    """Of the errors of all rows: of the speeds at the marks, and of the times between them."""
    if side.trace is reference.trace:
        return np.zeros((rows, rows))
    # A column a slowest point, which two links share, and two a link for its other marks.
    by_speed = np.zeros((rows, len(links) + 1 + 2 * len(links)))
    marks = np.unique(np.concatenate([link.marks_m for link in links]))
    pick = np.zeros((rows, len(marks)))
    for k, link in enumerate(links):
        inside = len(links) + 1 + 2 * k
        for source, column in enumerate((k, k + 1, inside, inside + 1)):
            np.add.at(by_speed[:, column], into[k], link.moved_s[source])
        # Exit, straight and braking are what is left of the time that was measured there.
        at = np.searchsorted(marks, link.marks_m)
        for part, (low, high) in enumerate(pairwise(at), start=1):
            pick[into[k, part], high] += 1.0
            pick[into[k, part], low] -= 1.0
    times = delta_posterior(track, side, reference, marks).combined(pick).cov
    return by_speed @ by_speed.T + times


def _slow_points(
    track: Track, side: Side, reference: Side, mine: pd.DataFrame, other: pd.DataFrame
) -> list[_SlowPoint]:
    """The line, every corner's slowest point in order, and the line again."""
    length = track.length_m
    ends = [_at(side, reference, FROM_LINE, station, station) for station in (0.0, length)]
    runs = [{int(p["corner"]): p for p in records(passes)} for passes in (mine, other)]
    points = []
    for corner in track.corners:
        here = [of[corner.order] for of in runs if corner.order in of]
        # A lap that did not slow here has no slow point of its own.
        here = [p for p in here if np.isfinite(p["min_speed_station_m"])]
        stations = [float(p["min_speed_station_m"]) for p in here]
        if len(here) < 2:
            stations = 2 * (stations or [corner.apex_m])
        # The quicker of the two through the corner says where slowing ends and pulling begins:
        # the other one may roll before it, or wait behind it.
        times = [
            float(np.ptp(s.trace.time_at([corner.entry_m, corner.exit_m])))
            for s in (side, reference)
        ]
        quick = stations[int(times[1] < times[0])]
        point = _at(side, reference, corner.order, float(np.mod(quick, length)), quick)
        if len(here) == 2:
            v, r = (_slowest_by(s, p, quick) for s, p in zip((side, reference), here, strict=True))
            point = replace(point, gain_in2=v**2 - r**2, speed_mps=0.5 * (v + r))
        points.append(point)
    inside = sorted(points, key=lambda p: p.station_m)
    return [ends[0], *inside, replace(ends[1], gain_in2=0.0)]


def _slowest_by(side: Side, run: Mapping[str, Any], station: float) -> float:
    """
    A lap's slowest speed up to a station.

    Who rolls is slowest before it; who waits with the throttle loses more behind it, and that is
    the exit's.
    """
    if float(run["min_speed_station_m"]) <= station:
        return float(run["min_speed_mps"])
    return float(side.trace.at_station("speed_mps", station))


def _at(side: Side, reference: Side, corner: int, station: float, where: float) -> _SlowPoint:
    v, r = (float(s.trace.at_station("speed_mps", where)) for s in (side, reference))
    return _SlowPoint(corner, station, v**2 - r**2, v**2 - r**2, 0.5 * (v + r))


def _charged(
    side: Side, reference: Side, link: Link, ends: tuple[_SlowPoint, _SlowPoint], sds: Floats
) -> _Charged:
    """Charge one link, and again with each speed that matters off by its error bar."""
    count = max(int(np.ceil((link.end_m - link.start_m) / _STEP_M)), 1)
    edges = np.linspace(link.start_m, link.end_m, count + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    ways = [
        Way(np.diff(time_since_start(s.trace, edges)), s.trace.at_station("speed_mps", middle))
        for s in (side, reference)
    ]
    costs = link_costs(middle, ways[0], ways[1], link).parts
    if side.trace is reference.trace:
        return _Charged(np.zeros(5), np.zeros((4, 5)), link.marks_m)
    moved = [
        link_costs(middle, way, ways[1], other).parts - costs
        for way, other in _moved(middle, ways, link, *ends, sds)
    ]
    return _Charged(costs, np.array(moved), link.marks_m)


def _marks(track: Track, slowing_m: Sequence[float], begin: _SlowPoint, end: _SlowPoint) -> Link:
    length, corners = track.length_m, {c.order: k for k, c in enumerate(track.corners)}
    low, high = begin.station_m, end.station_m
    exit_m, slowing, entry = low, high, high
    if begin.corner:
        exit_m = _near(track.corners[corners[begin.corner]].exit_m, low, length)
    exit_m = float(np.clip(exit_m, low, high))
    if end.corner:
        k = corners[end.corner]
        slowing, entry = (_near(x, high, length) for x in (slowing_m[k], track.corners[k].entry_m))
    slowing = float(np.clip(slowing, exit_m, high))
    return Link(low, exit_m, slowing, float(np.clip(entry, slowing, high)), high,
                begin.gain_out2, end.gain_in2)  # fmt: skip


def _near(station_m: float, about_m: float, length_m: float) -> float:
    """The station a whole number of laps away that lies nearest to another."""
    return float(station_m + length_m * np.round((about_m - station_m) / length_m))


def _moved(
    middle: Floats, ways: list[Way], link: Link, begin: _SlowPoint, end: _SlowPoint, sds: Floats
) -> list[tuple[Way, Link]]:
    """The lap with each of the speeds that matter off by its error bar."""
    out = [
        (ways[0], replace(link, start_gain2=link.start_gain2 + 2.0 * begin.speed_mps * sds[0])),
        (ways[0], replace(link, end_gain2=link.end_gain2 + 2.0 * end.speed_mps * sds[3])),
    ]
    for mark, sd in ((link.exit_m, sds[1]), (link.slowing_m, sds[2])):
        k = int(np.searchsorted(middle, mark)) - 1
        speed = ways[0].speed_mps.copy()
        if k >= 0:
            speed[k] += sd
        out.append((Way(ways[0].time_s, speed), link))
    return out


def _speed_sds(side: Side, reference: Side, marks_m: Floats) -> Floats:
    """Error bars of the difference of the two laps' speeds at the links' marks, shaped alike."""
    if side.trace is reference.trace:
        return np.zeros(marks_m.shape)
    # Of all links at once: each question to the motion costs more than what is asked.
    stations, which = np.unique(marks_m, return_inverse=True)
    one, other = (s.trace.time_at(stations) for s in (side, reference))
    mine, theirs = _along(side.motion, one), _along(reference.motion, other)
    if side.motion is reference.motion:
        pairs = np.stack([one, other], axis=1), np.stack([mine, -theirs], axis=1)
        sds = side.motion.sds(*pairs)
    else:
        sds = np.hypot(side.motion.sds(one, mine), reference.motion.sds(other, theirs))
    return np.asarray(sds[which].reshape(marks_m.shape))


def _along(motion: Motion, time_s: Floats) -> Floats:
    rows = np.zeros((len(time_s), 6))
    rows[:, 2:4] = motion.at(time_s).direction
    return rows
