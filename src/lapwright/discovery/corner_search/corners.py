"""
Corners of a path, from its curvature, and where the car slows down though it hardly bends.

A corner is where the path bends one way strongly enough for long enough: the
heading it changes times the curvature it does it with.  That one measure takes
a hairpin of 10 m and the quarter turn of an oval of 250 m, and leaves the kink
of 10 degrees and the sweep of 500 m; a limit on the radius alone cannot do
both.  Two bends the same way are two corners where there is enough straight
between them.  The curvature is first smoothed over some 40 m, wider than what
another receiver or driver would change: so that a circuit has the same corners
in every log.  Ends and radii come from a sharper curve.

A gentler bend is a corner all the same where the car slows down for it on most
laps (`speed_dips`).  It is placed by the path where that bends at all, so that two
cars that both slow down there have the same corner.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from lapwright.discovery.arrays import Floats, Ints
from lapwright.discovery.corner_search.speed_dips import SpeedDip
from lapwright.geometry.corner import Corner
from lapwright.geometry.corner_at import APEX_POWER, MAX_RADIUS_M, STRAIGHT_PER_M
from lapwright.geometry.corner_list import SHARED_M
from lapwright.geometry.path import ReferencePath

# Half the narrowest bell curve below.
SPACING_M = 2.0
# Standard deviations of the bell curves that smooth the curvature: for telling corners
# apart, and for placing their ends and radii.
SMOOTHING_M = 16.0
EDGE_SMOOTHING_M = 4.0
# Heading change times mean curvature below which a bend is no corner: 0.12 degrees a metre
# is 18 degrees at a mean radius of 150 m, or 45 degrees at 375 m. Another log of the same
# circuit changes a bend's value by 2 %; few circuits have one between 0.115 and 0.125.
MIN_BEND_RAD_PER_M = np.deg2rad(0.12)
# What turns less in all is a kink, however tight (common practice, no source).
MIN_TURN_RAD = np.deg2rad(10.0)
# Two bends the same way are two corners with this much straight between them. The straight
# may be spread out: 62 m at half the weaker one's curvature are 31 m of it. From 27 to 36 m
# the corners of real circuits stay the same.
APART_M = 31.0
# What turns less than this between two places without curvature is a wiggle of the line.
WIGGLE_RAD = np.deg2rad(4.0)
# Slowest within this of a gentle bend, a car slows down for it: two cars are slowest some
# 20 m apart, and a speed is told to 20 m either way. [m]
BESIDE_BEND_M = 40.0

# Entry, apex, exit, radius [m] and sign (positive to the left) of a bend.
_Ends: TypeAlias = tuple[float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Bend:
    """
    A bend as indices into the sampled path.

    `first` and `last` are its first and last peak of curvature, `top` its highest;
    they may lie past the end of the path, in the order first <= top <= last.
    """

    first: int
    top: int
    last: int


def _bell(values: Floats, sd_m: float, spacing_m: float) -> Floats:
    """Smooth a periodic sequence with a bell curve."""
    wave = np.fft.rfftfreq(len(values), spacing_m)
    gain = np.exp(-2.0 * (np.pi * wave * sd_m) ** 2)
    out: Floats = np.fft.irfft(np.fft.rfft(values) * gain, len(values))
    return out


def _peaks(bend: Floats, spacing_m: float) -> list[int]:
    """Peaks of curvature, without those of stretches that hardly turn."""
    count = len(bend)
    size = np.abs(bend)
    peak = (size > np.roll(size, 1)) & (size >= np.roll(size, -1)) & (size > STRAIGHT_PER_M)
    begins = np.flatnonzero(np.signbit(bend) != np.signbit(np.roll(bend, 1)))
    if len(begins):
        turn_rad = np.abs(np.add.reduceat(np.roll(bend, -begins[0]), begins - begins[0]))
        lengths = np.diff(np.r_[begins, begins[0] + count])
        wiggle = np.repeat(turn_rad * spacing_m < WIGGLE_RAD, lengths)
        peak &= ~np.roll(wiggle, begins[0])
    return [int(i) for i in np.flatnonzero(peak)]


def _straightening(bend: Floats, first: _Bend, second: _Bend, spacing_m: float) -> float:
    """
    How clearly two bends are apart: 1 or more for two corners.

    Infinite for bends of opposite direction.  Else the length of path between them
    that counts as straight, each place by how far its curvature falls short of the
    weaker one's, as a share of it.
    """
    count = len(bend)
    sign = np.sign(bend[first.top % count])
    if sign != np.sign(bend[second.top % count]):
        return float("inf")
    begin, end = first.last, second.first
    while end < begin:
        end += count
    weaker = min(abs(bend[first.top % count]), abs(bend[second.top % count]))
    towards = bend[np.arange(begin, end + 1) % count] * sign
    straight_m = float(np.maximum(1.0 - towards / weaker, 0.0).sum()) * spacing_m
    return straight_m / APART_M


def _joined(first: _Bend, second: _Bend, bend: Floats) -> _Bend:
    """Make one bend of two neighbours."""
    count = len(bend)
    lift = 0
    while second.first + lift < first.last:
        lift += count
    higher = abs(bend[first.top % count]) >= abs(bend[second.top % count])
    return _Bend(first.first, first.top if higher else second.top + lift, second.last + lift)


def _bends(bend: Floats, spacing_m: float) -> list[_Bend]:
    """Bends in order: neighbouring peaks joined, the least apart first, until all are apart."""
    bends = [_Bend(i, i, i) for i in _peaks(bend, spacing_m)]
    gaps = [
        _straightening(bend, one, other, spacing_m)
        for one, other in zip(bends, bends[1:] + bends[:1], strict=True)
    ]
    while len(bends) > 1 and min(gaps) < 1.0:
        k = int(np.argmin(gaps))
        after = (k + 1) % len(bends)
        bends[k] = _joined(bends[k], bends[after], bend)
        del bends[after], gaps[after]
        k -= after < k
        for i in ((k - 1) % len(bends), k):
            gaps[i] = _straightening(bend, bends[i], bends[(i + 1) % len(bends)], spacing_m)
    return bends


def _extent(bend: Floats, it: _Bend, before: _Bend, after: _Bend) -> tuple[int, int]:
    """First and last index of a bend: to the straight, or to the dip towards a neighbour."""
    count = len(bend)
    towards = bend * np.sign(bend[it.top % count])
    back_to, ahead_to = before.last, after.first
    while back_to >= it.first:
        back_to -= count
    while ahead_to <= it.last:
        ahead_to += count
    ends = []
    for span in (np.arange(it.first, back_to - 1, -1), np.arange(it.last, ahead_to + 1)):
        along = towards[span % count]
        straight = np.flatnonzero(along < STRAIGHT_PER_M)
        ends.append(int(span[straight[0] if len(straight) else np.argmin(along)]))
    return ends[0], ends[1]


def _edge(sharp: Floats, span: Ints, spacing_m: float) -> float:
    """
    Where a bend begins, walking out from its top along `span`; an index, not whole.

    The flank is taken for a straight ramp of curvature blurred by the smoothing:
    from where it reaches a quarter, half and three quarters of the top, the ramp
    without blur is told, and the place where it leaves the straight.
    """
    count = len(sharp)
    along = sharp[span % count]
    top = float(np.max(along))
    crossed = []
    for part in (0.25, 0.5, 0.75):
        below = np.flatnonzero(along < part * top)
        above = np.flatnonzero(along >= part * top)
        if len(below) == 0 or below[-1] < above[0]:
            crossed.append(float(len(along) - 1))
            continue
        k = int(above[-1])
        if k == len(along) - 1:
            crossed.append(float(k))
            continue
        crossed.append(k + (along[k] - part * top) / max(along[k] - along[k + 1], 1e-12))
    quarter, half, three = crossed
    blur = 0.6745 * EDGE_SMOOTHING_M / spacing_m
    ramp = 4.0 * np.sqrt(max(((quarter - three) / 2.0) ** 2 - blur**2, 0.0))
    out = min(half + ramp / 2.0, len(along) - 1.0)
    sign = 1.0 if span[-1] >= span[0] else -1.0
    return float(span[0] + sign * out)


def find_corners(path: ReferencePath, dips: Sequence[SpeedDip] = ()) -> tuple[Corner, ...]:
    """
    Find the corners of a path.

    Parameters
    ----------
    path : ReferencePath
        In driving direction; corners are numbered from its station 0.
    dips : sequence of SpeedDip
        Where the car slows down on most laps, with stations on this path, outside the
        corners that are found without them.

    Returns
    -------
    tuple of Corner
        In the order of their apexes.  The apex is the middle of the bend, weighted
        towards where it is tightest; it belongs to the path, not to a lap's line.
        Entry and exit are where the path leaves and regains the straight, or the
        straightest place between two corners.  Where the car slows down and the path
        does not bend at all, the apex is the slowest place, and entry and exit are
        where half of the speed is gone and back.
    """
    station_m = path.stations(SPACING_M)
    spacing_m = path.length_m / len(station_m)
    curvature = path.at(station_m).curvature_per_m
    bend = _bell(curvature, SMOOTHING_M, spacing_m)
    sharp = _bell(curvature, EDGE_SMOOTHING_M, spacing_m)
    bends = _bends(bend, spacing_m)
    found, gentle = [], []
    for k, it in enumerate(bends):
        begin, end = _extent(bend, it, bends[k - 1], bends[(k + 1) % len(bends)])
        sign = float(np.sign(bend[it.top % len(bend)]))
        part = np.maximum(bend[np.arange(begin, end + 1) % len(bend)] * sign, 0.0)
        turn_rad = float(part.sum()) * spacing_m
        strength = float((part**2).sum()) * spacing_m
        strong = strength >= MIN_BEND_RAD_PER_M and turn_rad >= MIN_TURN_RAD
        one = _measured(begin, end, part, sharp * sign, spacing_m, sign)
        if strong:
            found.append(one)
        else:
            # What the sharper curve has of noise would be a good part of so little a bend.
            gentle.append((*one[:3], 1.0 / float(np.max(part)), sign))
    for dip in dips:
        one = _slowed_for(dip, gentle, path.length_m) or _at_dip(dip, bend, path.length_m)
        if not any(_over(one, other, path.length_m) for other in found):
            found.append(one)
    return _numbered(found, path.length_m)


def _slowed_for(dip: SpeedDip, gentle: Sequence[_Ends], length_m: float) -> _Ends | None:
    """Return the gentle bend that a car slows down for: the nearest about its slowest place."""
    nearest, away = None, np.inf
    for one in gentle:
        entry_m, apex_m, exit_m = one[:3]
        ahead_m = (dip.slowest_m - apex_m + length_m / 2) % length_m - length_m / 2
        within = entry_m - apex_m - BESIDE_BEND_M <= ahead_m <= exit_m - apex_m + BESIDE_BEND_M
        if within and abs(ahead_m) < away:
            nearest, away = one, abs(ahead_m)
    return nearest


def _at_dip(dip: SpeedDip, bend: Floats, length_m: float) -> _Ends:
    """Entry, apex, exit, radius and sign by the speed alone, where the path does not bend."""
    spacing_m = length_m / len(bend)
    first, last = (round(station_m / spacing_m) for station_m in (dip.begin_m, dip.end_m))
    part = bend[np.arange(first, last + 1) % len(bend)]
    sign = 1.0 if part.mean() > 0.0 else -1.0
    radius_m = min(1.0 / max(float(np.max(part * sign)), 1e-9), MAX_RADIUS_M)
    return dip.begin_m, dip.slowest_m, dip.end_m, radius_m, sign


def _over(one: _Ends, other: _Ends, length_m: float) -> bool:
    """Whether two corners share more than their ends."""
    ahead_m = (one[1] - other[1] + length_m / 2) % length_m - length_m / 2
    first, second = (other, one) if ahead_m >= 0.0 else (one, other)
    return first[2] - first[1] + second[1] - second[0] > abs(ahead_m) + SHARED_M


def _measured(
    begin: int, end: int, part: Floats, sharp: Floats, spacing_m: float, sign: float
) -> _Ends:
    """Entry, apex, exit [m], radius [m] and sign of a bend; stations not yet wrapped."""
    span = np.arange(begin, end + 1)
    weight = part**APEX_POWER
    apex = float((weight * span).sum() / weight.sum())
    along = sharp[span % len(sharp)]
    top = begin + int(np.argmax(along))
    entry = min(_edge(sharp, np.arange(top, begin - 1, -1), spacing_m), apex)
    leave = max(_edge(sharp, np.arange(top, end + 1), spacing_m), apex)
    radius_m = 1.0 / float(np.max(along))
    return entry * spacing_m, apex * spacing_m, leave * spacing_m, radius_m, sign


def _numbered(found: Sequence[_Ends], length_m: float) -> tuple[Corner, ...]:
    """Corners in the order of their apexes, which are brought into [0, length)."""
    wrapped = []
    for entry_m, apex_m, exit_m, radius_m, sign in found:
        lift_m = float(np.mod(apex_m, length_m)) - apex_m
        wrapped.append((apex_m + lift_m, entry_m + lift_m, exit_m + lift_m, radius_m, sign))
    return tuple(
        Corner(
            order,
            str(order),
            "left" if sign > 0 else "right",
            entry_m,
            apex_m,
            exit_m,
            radius_m,
        )
        for order, (apex_m, entry_m, exit_m, radius_m, sign) in enumerate(sorted(wrapped), start=1)
    )
