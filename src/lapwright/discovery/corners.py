"""
Corners of a path, from its curvature alone.

A corner is where the path bends one way strongly enough for long enough: the
heading it changes times the curvature it does it with.  That one measure takes
a hairpin of 10 m and the quarter turn of an oval of 250 m, and leaves the kink
of 10 degrees and the sweep of 500 m; a limit on the radius alone cannot do
both.  Two bends the same way are two corners where the path straightens to
less than 0.4 of the weaker one between them.  The curvature is first smoothed
over some 20 m, wider than what another receiver or driver would change.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats, Ints
from lapwright.geometry.corner import Corner
from lapwright.geometry.path import ReferencePath

SPACING_M = 2.0
# Standard deviations of the bell curves that smooth the curvature: for telling corners
# apart, and for placing their ends and radii.
SMOOTHING_M = 9.0
EDGE_SMOOTHING_M = 4.0
# Heading change times mean curvature below which a bend is no corner: 0.13 degrees a metre
# is 18 degrees at a radius of 150 m, or 45 degrees at 350 m.
LEAST_BEND_RAD_PER_M = np.deg2rad(0.13)
LEAST_TURN_RAD = np.deg2rad(10.0)
# Curvature between two bends, as a share of the weaker one's, below which they are two corners.
SPLIT_SHARE = 0.40
# A path this straight is not part of a corner. [1/m]
STRAIGHT_PER_M = 1.0 / 800.0


@dataclass(frozen=True, slots=True)
class _Bend:
    """A bend as indices into the sampled path, which may run past its end."""

    begin: int
    peak: int
    end: int


def _bell(values: Floats, sd_m: float, spacing_m: float) -> Floats:
    """Smooth a periodic sequence with a bell curve."""
    wave = np.fft.rfftfreq(len(values), spacing_m)
    gain = np.exp(-2.0 * (np.pi * wave * sd_m) ** 2)
    out: Floats = np.fft.irfft(np.fft.rfft(values) * gain, len(values))
    return out


def _peaks(bend: Floats) -> list[int]:
    """Peaks of curvature that are corners of their own, by how deep the dips between them are."""
    size = np.abs(bend)
    at = np.flatnonzero((size > np.roll(size, 1)) & (size >= np.roll(size, -1)))
    peaks = [int(i) for i in at if size[i] > STRAIGHT_PER_M]
    count = len(bend)

    def share(first: int, second: int) -> float:
        span = np.arange(first, second if second > first else second + count) % count
        towards = bend[span] * np.sign(bend[first])
        return float(towards.min() / min(size[first], size[second]))

    shares = [share(a, b) for a, b in zip(peaks, peaks[1:] + peaks[:1], strict=True)]
    while len(peaks) > 1 and max(shares) >= SPLIT_SHARE:
        k = int(np.argmax(shares))
        gone = k if size[peaks[k]] < size[peaks[(k + 1) % len(peaks)]] else (k + 1) % len(peaks)
        del peaks[gone], shares[gone]
        # The dip before the peak that went now leads to the next one.
        before = (gone - 1) % len(peaks)
        shares[before] = share(peaks[before], peaks[(before + 1) % len(peaks)])
    return peaks


def _extent(bend: Floats, peak: int, before: int, after: int) -> _Bend:
    """Stretch round a peak that bends its way, up to the dips towards its neighbours."""
    count = len(bend)
    towards = bend * np.sign(bend[peak])
    back = np.arange(peak, before - 1, -1)
    ahead = np.arange(peak, after + 1)
    ends = []
    for span in (back, ahead):
        along = towards[span % count]
        straight = np.flatnonzero(along < STRAIGHT_PER_M)
        # Where it never straightens, the deepest dip parts the two.
        stop = int(straight[0]) if len(straight) else int(np.argmin(along))
        ends.append(int(span[stop]))
    return _Bend(ends[0], peak, ends[1])


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


def find_corners(path: ReferencePath) -> tuple[Corner, ...]:
    """
    Find the corners of a path.

    Parameters
    ----------
    path : ReferencePath
        In driving direction; corners are numbered from its station 0.

    Returns
    -------
    tuple of Corner
        In the order of their apexes.  The apex is the middle of the bend, weighted
        towards where it is tightest; it belongs to the path, not to a lap's line.
        Entry and exit are where the path leaves and regains the straight, or the
        straightest place between two corners.
    """
    station_m = path.stations(SPACING_M)
    spacing_m = path.length_m / len(station_m)
    curvature = path.at(station_m).curvature_per_m
    bend = _bell(curvature, SMOOTHING_M, spacing_m)
    sharp = _bell(curvature, EDGE_SMOOTHING_M, spacing_m)
    count = len(bend)
    peaks = _peaks(bend)
    found = []
    for k, peak in enumerate(peaks):
        before = peaks[k - 1] - (count if k == 0 else 0)
        after = peaks[(k + 1) % len(peaks)] + (count if k == len(peaks) - 1 else 0)
        if len(peaks) == 1:
            before, after = peak - count // 2, peak + count // 2
        extent = _extent(bend, peak, before, after)
        span = np.arange(extent.begin, extent.end + 1)
        part = bend[span % count]
        turn_rad = abs(float(part.sum())) * spacing_m
        strength = float((part**2).sum()) * spacing_m
        if strength < LEAST_BEND_RAD_PER_M or turn_rad < LEAST_TURN_RAD:
            continue
        found.append(_measured(extent, bend, sharp, spacing_m))
    return _numbered(found, path.length_m)


def _measured(
    extent: _Bend, bend: Floats, sharp: Floats, spacing_m: float
) -> tuple[float, float, float, float, float]:
    """Entry, apex, exit [m], radius [m] and sign of a bend; stations not yet wrapped."""
    count = len(bend)
    sign = float(np.sign(bend[extent.peak]))
    span = np.arange(extent.begin, extent.end + 1)
    weight = np.maximum(bend[span % count] * sign, 0.0) ** 3
    apex = float((weight * span).sum() / weight.sum())
    towards = sharp * sign
    entry = _edge(towards, np.arange(extent.peak, extent.begin - 1, -1), spacing_m)
    leave = _edge(towards, np.arange(extent.peak, extent.end + 1), spacing_m)
    radius_m = 1.0 / float(np.max(towards[span % count]))
    entry, leave = min(entry, apex), max(leave, apex)
    return entry * spacing_m, apex * spacing_m, leave * spacing_m, radius_m, sign


def _numbered(
    found: list[tuple[float, float, float, float, float]], length_m: float
) -> tuple[Corner, ...]:
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
