"""
Which laps the path is averaged over: the clean ones, or the quickest way round there is.

An out lap and an in lap run through the pits and dawdle.  With three clean
laps they are simply left out; a log with one timed lap has nothing else, and
there the quickest continuous round is taken, from wherever it begins, with its
two ends blended into each other.
"""

import numpy as np

from lapwright.discovery.arrays import Flags, Floats, Ints
from lapwright.discovery.loop.averaged import Passes, Spread, lengthening
from lapwright.discovery.loop.follow_ring import Along
from lapwright.discovery.loop.ring import Ring, nearest_foot
from lapwright.discovery.loop.thin import Thinned
from lapwright.discovery.loop.usual_pace import CLEAN_FACTOR, usual_time_s
from lapwright.numerics.robust_spread import robust_sd

# Rounds within this of the quickest are as good.
AS_QUICK = 1.06
# Over this length the end of a single round is blended into its beginning.
BLEND_M = 200.0
# The quickest round is looked for from places this far apart: a fraction of a second.
STEP_M = 10.0
# Half a track: farther from the quickest round a slower one was off the road or in the pits.
LEAVES_M = 6.0
# Cells that offsets are averaged in: at 30 m/s one fix a second leaves one in each.
CELL_M = 30.0


def whole_laps(ring: Ring, trace: Thinned, along: Along) -> Floats:
    """First and last moment of every stretch from one station 0 to the next."""
    laps = []
    for number in np.unique(along.stretch[along.on]):
        rows = np.flatnonzero(along.stretch == number)
        station_m = np.maximum.accumulate(along.station_m[rows]) / ring.length_m
        first, last = int(np.ceil(station_m[0])), int(np.floor(station_m[-1]))
        if last <= first:
            continue
        at_s = np.interp(np.arange(first, last + 1.0), station_m, trace.time_s[rows])
        laps.append(np.stack([at_s[:-1], at_s[1:]], axis=1))
    return np.concatenate(laps) if laps else np.zeros((0, 2))


def clean_laps(trace: Thinned, along: Along, laps_s: Floats) -> Ints:
    """Laps about as quick as the usual one that never left the ring."""
    if len(laps_s) == 0:
        return np.zeros(0, dtype=np.int64)
    time_s = laps_s[:, 1] - laps_s[:, 0]
    off = np.r_[0, np.cumsum(~along.on)]
    first, last = (
        np.searchsorted(trace.time_s, laps_s[:, 0]),
        np.searchsorted(trace.time_s, laps_s[:, 1]),
    )
    share_off = (off[last] - off[first]) / np.maximum(last - first, 1)
    return np.flatnonzero((time_s <= CLEAN_FACTOR * usual_time_s(time_s)) & (share_off < 0.1))


def chosen_passes(ring: Ring, trace: Thinned, along: Along, laps_s: Floats, clean: Ints) -> Passes:
    """
    Fixes to average.

    Parameters
    ----------
    ring : Ring
    trace : Thinned
    along : Along
        The trace along the ring.
    laps_s : ndarray, shape (k, 2)
        Whole laps from station 0. [s]
    clean : ndarray of int
        Which of them are clean.

    Returns
    -------
    Passes
        Of the clean laps, if there are three; else of the quickest rounds.
    """
    weight = np.zeros(len(trace.time_s))
    if len(clean) >= 3:
        for begin_s, end_s in laps_s[clean]:
            weight[(trace.time_s >= begin_s) & (trace.time_s < end_s)] = 1.0
    else:
        weight = _weight_of_quick_rounds(ring, trace, along)
        if not (weight > 0).any():
            weight = np.ones(len(trace.time_s))
    keep = along.on & (weight > 0.0)
    return Passes(
        trace.east_m[keep],
        trace.north_m[keep],
        along.station_m[keep],
        along.stretch[keep],
        weight[keep],
    )


def _rounds(ring: Ring, trace: Thinned, along: Along) -> list[tuple[float, float, int]]:
    """Continuous rounds, the quickest first: how long [s], from which station [m], stretch."""
    rounds = []
    for number in np.unique(along.stretch[along.on]):
        rows = np.flatnonzero(along.stretch == number)
        station_m = np.maximum.accumulate(along.station_m[rows])
        begin_m = np.arange(station_m[0], station_m[-1] - ring.length_m, STEP_M)
        if len(begin_m) == 0:
            continue
        time_s = trace.time_s[rows]
        took_s = np.interp(begin_m + ring.length_m, station_m, time_s)
        took_s -= np.interp(begin_m, station_m, time_s)
        rounds += [(float(t), float(b), int(number)) for t, b in zip(took_s, begin_m, strict=True)]
    return sorted(rounds)


def quickest_round(ring: Ring, trace: Thinned, along: Along) -> tuple[float, float] | None:
    """
    Return the first and last moment of the quickest round that never left the ring.

    Parameters
    ----------
    ring : Ring
    trace : Thinned
    along : Along
        The trace along the ring.

    Returns
    -------
    tuple of float or None
        None where there is no whole round. [s]
    """
    rounds = _rounds(ring, trace, along)
    if not rounds:
        return None
    took_s, begin_m, number = rounds[0]
    rows = np.flatnonzero(along.stretch == number)
    station_m = np.maximum.accumulate(along.station_m[rows])
    begin_s = float(np.interp(begin_m, station_m, trace.time_s[rows]))
    return begin_s, begin_s + took_s


def _weight_of_quick_rounds(ring: Ring, trace: Thinned, along: Along) -> Floats:
    """Weights of the fixes of the quickest rounds that do not overlap."""
    rounds = _rounds(ring, trace, along)
    weight = np.zeros(len(trace.time_s))
    quickest_m = np.zeros(0)
    taken: list[tuple[float, int]] = []
    for round_s, first_m, number in rounds:
        if round_s > AS_QUICK * rounds[0][0]:
            break
        if any(n == number and abs(first_m - b) < ring.length_m for b, n in taken):
            continue
        taken.append((first_m, number))
        into_m = np.where(along.stretch == number, along.station_m - first_m, np.nan)
        fades = np.minimum(into_m, ring.length_m + BLEND_M - into_m) / BLEND_M
        say = np.nan_to_num(np.clip(fades, 0.0, 1.0))
        if len(taken) == 1:
            quickest_m = _offset_in_cells(ring, along, (into_m >= 0.0) & (into_m <= ring.length_m))
        else:
            say[_leaves(ring, along, say > 0.0, quickest_m)] = 0.0
        weight = np.maximum(weight, say)
    return weight


def _cells(ring: Ring, along: Along) -> tuple[Ints, int]:
    """Cell of about 30 m of every fix, -1 where it is off the ring; and how many there are."""
    count = max(8, round(ring.length_m / CELL_M))
    place = np.floor(np.mod(np.nan_to_num(along.station_m), ring.length_m) / ring.length_m * count)
    cell = np.minimum(place.astype(np.int64), count - 1)
    return np.where(along.on, cell, -1), count


def _offset_in_cells(ring: Ring, along: Along, part: Flags) -> Floats:
    """Mean offset of some fixes in each cell; between the neighbours where there is none [m]."""
    cell, count = _cells(ring, along)
    part = part & (cell >= 0)
    fixes = np.bincount(cell[part], minlength=count)
    total_m = np.bincount(cell[part], along.offset_m[part], minlength=count)
    known = np.flatnonzero(fixes)
    if len(known) == 0:
        return np.zeros(count)
    mean_m: Floats = np.interp(np.arange(count), known, total_m[known] / fixes[known], period=count)
    return mean_m


def _leaves(ring: Ring, along: Along, part: Flags, line_m: Floats) -> Flags:
    """
    Fixes of a part of a trace about the places where it leaves a line, offsets in cells.

    Of two rounds one cannot be told to be the odd one by how they lie; the slower one is. In
    their middle nobody drove.
    """
    cell, count = _cells(ring, along)
    part = part & (cell >= 0)
    apart = part & (np.abs(along.offset_m - line_m[cell]) > LEAVES_M)
    away = np.bincount(cell[apart], minlength=count) > 0
    away = np.any([np.roll(away, k) for k in range(-2, 3)], axis=0)
    leaves: Flags = part & away[cell]
    return leaves


def length_sd(ring: Ring, passes: Passes, spread: Spread) -> float:
    """
    Standard deviation of the ring's length from how the laps differ.

    Added to it is by how much noise makes a wavy line longer.

    A lap at offset n is shorter than the ring by the integral of n times the
    curvature (parallel curves).  With fewer than three whole laps there is
    nothing to compare, and a receiver's usual drift of 2 m in a lap is taken.
    """
    station_m, offset_m = nearest_foot(ring, passes.station_m, passes.east_m, passes.north_m)
    cells = max(16, int(ring.length_m / 30.0))
    running = np.floor(station_m / ring.length_m * cells).astype(np.int64)
    lap = np.unique(passes.stretch * 100_000 + running // cells, return_inverse=True)[1]
    shape = (int(lap.max()) + 1, cells)
    flat = lap * cells + running % cells
    count = np.bincount(flat, minlength=shape[0] * cells).reshape(shape)
    total_m = np.bincount(flat, offset_m, minlength=shape[0] * cells).reshape(shape)
    mean_m: Floats = total_m / np.maximum(count, 1)
    whole = (count > 0).mean(axis=1) > 0.7
    edges = np.linspace(0, len(ring.east_m), cells, endpoint=False).astype(np.int64)
    turn_rad = np.add.reduceat(ring.curvature_per_m, edges) * ring.spacing_m
    lengths_m: Floats = mean_m[whole] @ turn_rad
    wavy_m = lengthening(spread) * ring.length_m
    if len(lengths_m) < 3:
        return float(np.hypot(2.0 / np.sqrt(max(1, len(lengths_m))), wavy_m))
    return float(np.hypot(robust_sd(lengths_m) / np.sqrt(len(lengths_m)), wavy_m))
