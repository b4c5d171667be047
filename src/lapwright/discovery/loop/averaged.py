"""
The path averaged over laps: one closed line from many noisy passes.

Every pass gets one say at every place, however many fixes a second it has,
and passes far from the others lose theirs.  Fixes are projected on the line
of the round before and only their distance beside it is averaged, so that a
noisy, a fast and a slow lap do not blur each other along the track, and a
1 Hz log needs no interpolation between fixes 70 m apart.  What a pass has in
common with itself over some hundred metres (the receiver's drift, a line of
its own) is averaged apart from the rest: at 1 Hz neighbouring fixes of the
average come from different laps, and their drift would put a zigzag in it.
"""

from dataclasses import dataclass, replace

import numpy as np

from lapwright.discovery.arrays import Floats, Ints
from lapwright.discovery.corner_search.tight_bends import limit_bends, share_too_tight
from lapwright.discovery.loop.ring import (
    Ring,
    nearest_foot,
    ring_from_points,
    smooth_cyclic,
)
from lapwright.numerics.robust_spread import robust_sd

# The length over which a pass's own drift is told from its noise.
DRIFT_M = 250.0
# Smoothing follows the noise so that the path's curvature has about this sd, within these bounds.
CURVATURE_SD_PER_M = 0.003
CUTOFF_M = (18.0, 64.0)
# A circuit bends tighter than 8 m at the tips of a few hairpins only; manoeuvring does all over.
MAX_TIGHT = 0.15
# Apart in one sorted array of stations; no log is 10 000 km long.
STRETCH_APART_M = 1.0e7


@dataclass(frozen=True, eq=False)
class Passes:
    """
    Fixes that run along a ring, in order of time.

    Attributes
    ----------
    east_m, north_m, station_m : ndarray, shape (n,)
        Fixes and their running stations on the ring. [m]
    stretch : ndarray of int, shape (n,)
        Which stretch of continuous driving a fix belongs to; not negative.
    weight : ndarray, shape (n,)
        How much a fix has to say, more than 0 and up to 1.
    """

    east_m: Floats
    north_m: Floats
    station_m: Floats
    stretch: Ints
    weight: Floats

    def at(self, station_m: Floats) -> "Passes":
        """Return the same fixes at other stations [m]."""
        return replace(self, station_m=station_m)


@dataclass(frozen=True, eq=False)
class Spread:
    """
    How the passes lie about a ring.

    Attributes
    ----------
    noise_m : float
        Spread of single fixes about their own pass. [m]
    pass_m : float
        Spread of passes about the ring. [m]
    fix_spacing_m : float
        Length of ring per fix, all passes taken together. [m]
    tight : float
        Share of the averaged line that bends tighter than a path may, before it is eased.
    """

    noise_m: float
    pass_m: float
    fix_spacing_m: float
    tight: float = 0.0


def medians(values: Floats, cell: Ints, cells: int) -> Floats:
    """Median of the values in each cell; NaN where there is none."""
    order = np.lexsort((values, cell))
    values = values[order]
    count = np.bincount(cell, minlength=cells)
    begin = np.r_[0, np.cumsum(count)[:-1]]
    out = np.full(cells, np.nan)
    some = count > 0
    low, high = begin[some] + (count[some] - 1) // 2, begin[some] + count[some] // 2
    out[some] = 0.5 * (values[low] + values[high])
    return out


def _moved(ring: Ring, offset_m: Floats, weights: Floats, cutoff_m: float) -> Ring:
    """Move the points of a ring sideways and smooth the result."""
    cos, sin = np.cos(ring.heading_rad), np.sin(ring.heading_rad)
    points = np.stack([ring.east_m - sin * offset_m, ring.north_m + cos * offset_m], axis=1)
    smooth = smooth_cyclic(points, weights, cutoff_m / ring.spacing_m)
    return ring_from_points(smooth[:, 0], smooth[:, 1])


def _rebased(old: Ring, new: Ring, passes: Passes, station_m: Floats) -> tuple[Ring, Passes]:
    """Carry stations from one ring to its successor, whose length differs a little."""
    guess_m = station_m * (new.length_m / old.length_m)
    return new, passes.at(guess_m)


def _median_round(ring: Ring, passes: Passes, cutoff_m: float) -> tuple[Ring, Passes]:
    """Move a ring to the median of the passes, in cells of about 12 m."""
    count = len(ring.east_m)
    cells = max(8, int(ring.length_m / 12.0))
    station_m, offset_m = nearest_foot(ring, passes.station_m, passes.east_m, passes.north_m)
    cell = np.floor(station_m / ring.length_m * cells).astype(np.int64) % cells
    middle = medians(offset_m, cell, cells)
    fine = np.floor(np.arange(count) / count * cells).astype(np.int64)
    known = np.isfinite(middle)[fine]
    target = np.where(known, middle[fine], 0.0)
    # Where no fix is, the ring stays where it is, weakly held.
    moved = _moved(ring, target, np.where(known, 1.0, 0.02), cutoff_m)
    return _rebased(ring, moved, passes, station_m)


def _own_level(key_m: Floats, offset_m: Floats, say: Floats) -> Floats:
    """Weighted moving mean of the offsets over `DRIFT_M` of each pass; keys ascending."""
    total = np.r_[0.0, np.cumsum(say)]
    moment = np.r_[0.0, np.cumsum(say * offset_m)]
    low = np.searchsorted(key_m, key_m - DRIFT_M / 2)
    high = np.searchsorted(key_m, key_m + DRIFT_M / 2)
    # Centred also at the ends of a pass: as far ahead as behind.
    reach = np.minimum(np.arange(len(key_m)) - low, high - 1 - np.arange(len(key_m)))
    low, high = np.arange(len(key_m)) - reach, np.arange(len(key_m)) + reach + 1
    level: Floats = (moment[high] - moment[low]) / np.maximum(total[high] - total[low], 1e-6)
    return level


def _levels_everywhere(
    ring: Ring, key_m: Floats, level_m: Floats, say: Floats
) -> tuple[Floats, Floats]:
    """Mean level of the passes at every ring point, interpolated between fixes of a pass."""
    spacing = ring.spacing_m
    # Ring points between two neighbouring fixes of one pass, all passes at once.
    first = np.ceil(key_m[:-1] / spacing).astype(np.int64)
    last = np.ceil(key_m[1:] / spacing).astype(np.int64)
    span = np.where(np.diff(key_m) < DRIFT_M, last - first, 0)
    owner = np.repeat(np.arange(len(span)), span)
    point = np.arange(len(owner)) - np.repeat(np.cumsum(span) - span, span) + first[owner]
    u = (point * spacing - key_m[owner]) / np.maximum(key_m[owner + 1] - key_m[owner], 1e-9)
    here = level_m[owner] * (1 - u) + level_m[owner + 1] * u
    trust = say[owner] * (1 - u) + say[owner + 1] * u + 1e-6
    place = point % len(ring.east_m)
    total: Floats = np.bincount(place, trust, minlength=len(ring.east_m)).astype(np.float64)
    mean = np.bincount(place, trust * here, minlength=len(ring.east_m)) / np.maximum(total, 1e-9)
    return mean, total


def _mean_round(ring: Ring, passes: Passes, cutoff_m: float) -> tuple[Ring, Passes, Spread]:
    """Move a ring to the mean of the passes, with less weight on those far from the others."""
    count = len(ring.east_m)
    station_m, offset_m = nearest_foot(ring, passes.station_m, passes.east_m, passes.north_m)
    scale = max(0.5, robust_sd(offset_m))
    # Tukey's biweight: full say within a scale or two, none beyond 4.685.
    say = passes.weight * np.maximum(1.0 - (offset_m / (4.685 * scale)) ** 2, 0.0) ** 2
    # Stretches are kept apart by whole laps, so that keys still tell the place on the ring.
    apart = ring.length_m * np.ceil(STRETCH_APART_M / ring.length_m)
    key_m = passes.stretch * apart + station_m
    order = np.argsort(key_m, kind="stable")
    key_m, offset_m, say = key_m[order], offset_m[order], say[order]
    level_m = _own_level(key_m, offset_m, say)
    common_m, support = _levels_everywhere(ring, key_m, level_m, say)
    # One say for each pass in each cell, however many fixes it has there.
    running = np.round(key_m / ring.spacing_m).astype(np.int64)
    first = np.flatnonzero(np.r_[True, np.diff(running) > 0])
    many = np.diff(np.r_[first, len(running)])
    rest_m = np.add.reduceat(say * (offset_m - level_m), first) / many
    say_cell = np.add.reduceat(say, first) / many
    cell = running[first] % count
    total: Floats = np.bincount(cell, say_cell, minlength=count).astype(np.float64)
    target = np.bincount(cell, rest_m, minlength=count) / np.maximum(total, 1e-9) + common_m
    # Between fixes the levels alone hold the line, weakly; what no pass covers is bridged.
    weights = total + np.where(support > 0, 1e-3, 1e-5)
    spread = Spread(
        robust_sd(offset_m - level_m), robust_sd(level_m), ring.length_m / max(1.0, total.sum())
    )
    new, rebased = _rebased(ring, _moved(ring, target, weights, cutoff_m), passes, station_m)
    return new, rebased, spread


def cutoff_for(spread: Spread) -> float:
    """
    Wave length at half height of the smoothing that suits the noise [m].

    White noise of density ``S = sd^2 spacing`` [m^3] leaves a curvature variance of
    ``S k^5 / (5 pi)`` below the wave number k; k is chosen for `CURVATURE_SD_PER_M`.
    """
    density = max(spread.noise_m, 0.05) ** 2 * spread.fix_spacing_m
    wave = (5 * np.pi * CURVATURE_SD_PER_M**2 / density) ** 0.2
    return float(np.clip(2 * np.pi / wave, *CUTOFF_M))


def lengthening(spread: Spread) -> float:
    """
    Share by which the noise that the smoothing lets pass lengthens a path.

    Half the mean square of its slope: ``S k^3 / (6 pi)`` up to the wave number k of
    the cut-off, with the white noise's density S as in `cutoff_for`.
    """
    wave = 2 * np.pi / cutoff_for(spread)
    return float(spread.noise_m**2 * spread.fix_spacing_m * wave**3 / (6 * np.pi))


def average_path(ring: Ring, passes: Passes, rounds: int) -> tuple[Ring, Passes, Spread]:
    """
    Average passes into a closed line.

    Parameters
    ----------
    ring : Ring
        A rough line within some metres of the answer.
    passes : Passes
        Fixes laid along it.
    rounds : int
        How often to average, each time about the line of the time before: twice for a
        rough line, five times for the last millimetres.

    Returns
    -------
    ring : Ring
        The averaged line; no bend is tighter than 8 m, unless more than `MAX_TIGHT` of it is.
    passes : Passes
        The same fixes with their stations on the new line.
    spread : Spread
        How they lie about it.
    """
    ring, passes = _median_round(ring, passes, 30.0)
    cutoff_m = 30.0
    for _ in range(rounds):
        ring, passes, spread = _mean_round(ring, passes, cutoff_m)
        cutoff_m = cutoff_for(spread)
    spread = replace(spread, tight=share_too_tight(ring))
    if spread.tight > MAX_TIGHT:
        return ring, passes, spread
    old, ring = ring, limit_bends(ring)
    ring, passes = _rebased(old, ring, passes, passes.station_m)
    station_m, _ = nearest_foot(ring, passes.station_m, passes.east_m, passes.north_m)
    return ring, passes.at(station_m), spread
