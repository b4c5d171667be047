"""
What cost the time between two laps, corner by corner: a table of causes, each with its error bar.

The sums are those of `lapwright.laps.lost_time`; here the lap is cut into its links, from slowest
point to slowest point, and each part is given to the corner it comes from.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged
from lapwright.columns.laps import CAUSES as COLUMNS
from lapwright.geometry import Track
from lapwright.laps.comparison import Side, delta_posterior, time_since_start
from lapwright.laps.lost_time import CAUSES, Link, Way, link_costs
from lapwright.laps.stretches import FROM_LINE
from lapwright.motion import Motion, Posterior

Floats = npt.NDArray[np.float64]

# Steps along the lap; a car brakes and turns over many of them. [m]
_STEP_M = 1.0


@dataclass(frozen=True, slots=True)
class _SlowPoint:
    """Where a link ends and the next begins: a corner's slowest point, or the line."""

    corner: int
    station_m: float
    gain2: float
    speed_mps: float


def causes(
    track: Track, side: Side, reference: Side, mine: pd.DataFrame, other: pd.DataFrame,
    slowing_m: Sequence[float],
) -> pd.DataFrame:  # fmt: skip
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
    DataFrame
        One row a corner and cause, see `lapwright.columns.laps.CAUSES`; they add up to the
        difference of the lap times.  Corner 0 is what the lap began with at the line.
    """
    points = _slow_points(track, side, reference, mine, other)
    lost: dict[tuple[int, str], list[float]] = {}
    for begin, end in pairwise(points):
        _charge(
            lost, begin.corner, end.corner, *_link(track, side, reference, slowing_m, begin, end)
        )
    rows = [
        (corner, cause, *lost.get((corner, cause), (0.0, 0.0)))
        for corner in (FROM_LINE, *(c.order for c in track.corners))
        for cause in CAUSES
        if corner or (corner, cause) in lost
    ]
    table = pd.DataFrame(rows, columns=["corner", "cause", "lost_s", "lost_var_s2"])
    table["lost_sd_s"] = np.sqrt(table.pop("lost_var_s2"))
    return arranged(table, COLUMNS)


def _charge(
    lost: dict[tuple[int, str], list[float]], begin: int, end: int, costs: Floats, variances: Floats
) -> None:
    """Add a link's parts: the minimum speed costs on the way in and on the way out."""
    places = [(begin, "minimum"), (begin, "exit"), (begin, "straight"), (end, "braking"),
              (end, "minimum")]  # fmt: skip
    for place, cost, variance in zip(places, costs, variances, strict=True):
        # The line is no corner to brake for, and a lap that ends there no slowest point.
        if place == (FROM_LINE, "braking") or (cost == 0.0 and variance == 0.0):
            continue
        kept = lost.setdefault(place, [0.0, 0.0])
        kept[0] += float(cost)
        # Both parts of a minimum speed err together.
        kept[1] = (np.sqrt(kept[1]) + np.sqrt(variance)) ** 2


def _slow_points(
    track: Track, side: Side, reference: Side, mine: pd.DataFrame, other: pd.DataFrame
) -> list[_SlowPoint]:
    """The line, every corner's slowest point in order, and the line again."""
    length = track.length_m
    ends = [_at(side, reference, FROM_LINE, station, station) for station in (0.0, length)]
    runs = [{int(p["corner"]): p for p in passes.to_dict("records")} for passes in (mine, other)]
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
            point = replace(point, gain2=v**2 - r**2, speed_mps=0.5 * (v + r))
        points.append(point)
    inside = sorted(points, key=lambda p: p.station_m)
    return [ends[0], *inside, replace(ends[1], gain2=0.0)]


def _slowest_by(side: Side, run: Mapping[Hashable, Any], station: float) -> float:
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
    return _SlowPoint(corner, station, v**2 - r**2, 0.5 * (v + r))


def _link(
    track: Track, side: Side, reference: Side, slowing_m: Sequence[float], begin: _SlowPoint,
    end: _SlowPoint,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Costs and their variances on one link."""
    link = _marks(track, slowing_m, begin, end)
    count = max(int(np.ceil((link.end_m - link.start_m) / _STEP_M)), 1)
    edges = np.linspace(link.start_m, link.end_m, count + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    ways = [
        Way(np.diff(time_since_start(s.trace, edges)), s.trace.at_station("speed_mps", middle))
        for s in (side, reference)
    ]
    costs = link_costs(middle, ways[0], ways[1], link)
    if side.trace is reference.trace:
        return np.zeros(5), np.zeros(5)
    sds = _speed_sds(side, reference, [link.start_m, link.exit_m, link.slowing_m, link.end_m])
    variances = np.zeros(5)
    for moved, other in _moved(middle, ways, link, begin, end, sds):
        variances += (np.array(link_costs(middle, moved, ways[1], other).parts) - costs.parts) ** 2
    spans = np.array([link.start_m, link.exit_m, link.slowing_m, link.end_m])
    # Exit, straight and braking are what is left of the time that was measured there.
    variances[1:4] += _time_variances(track, side, reference, spans)
    return np.array(costs.parts), variances


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
                begin.gain2, end.gain2)  # fmt: skip


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
        if k >= 0:
            speed = ways[0].speed_mps.copy()
            speed[k] += sd
            out.append((Way(ways[0].time_s, speed), link))
    return out


def _speed_sds(side: Side, reference: Side, stations: list[float]) -> Floats:
    """Error bars of the difference of the two laps' speeds at some stations."""
    one, other = (s.trace.time_at(stations) for s in (side, reference))
    n = len(stations)
    pick = np.concatenate([np.eye(n), -np.eye(n)], axis=1)
    if side.motion is reference.motion:
        rows = [_along(s.motion, t) for s, t in ((side, one), (reference, other))]
        both = side.motion.posterior(np.concatenate([one, other]), np.concatenate(rows))
        return both.combined(pick).sd
    parts: list[Posterior] = [
        s.motion.posterior(t, _along(s.motion, t)) for s, t in ((side, one), (reference, other))
    ]
    return np.hypot(parts[0].sd, parts[1].sd)


def _along(motion: Motion, time_s: Floats) -> Floats:
    rows = np.zeros((len(time_s), 6))
    rows[:, 2:4] = motion.at(time_s).direction
    return rows


def _time_variances(track: Track, side: Side, reference: Side, stations: Floats) -> Floats:
    """Variances of the differences of the times between neighbouring stations, shape (n - 1,)."""
    pick = np.diff(np.eye(len(stations)), axis=0)
    variances = np.diagonal(delta_posterior(track, side, reference, stations).combined(pick).cov)
    # A stretch of no length has none, up to rounding.
    return np.maximum(variances, 0.0)
