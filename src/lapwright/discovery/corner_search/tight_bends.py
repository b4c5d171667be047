"""
The nearest line to a ring that nowhere bends tighter than a path may.

Stations and offsets mean something only within the radius of the path, so no
path bends tighter than 8 m, whatever a receiver or a kart did.  Smoothing
harder would do it too, but it cuts the corner off: at a hairpin it takes
metres away from the length of the lap.  Here the line is moved no farther
than it must be, by least squares, and swings wide before and after instead.
"""

import numpy as np

from lapwright.discovery.arrays import Floats, Ints
from lapwright.discovery.loop.ring import Ring, ring_from_points

# No path bends tighter than this (a design rule); the fit aims a little wider, so that
# the spline drawn through its points keeps the rule as well.
TIGHTEST_M = 8.0
_AIM_M, _MIN_M = 8.6, 8.3
# How far before and after a tight place the line may be moved.
_AROUND_M = 50.0
# Rounds at the most; each opens the tightest bend by a share, see below.
_ROUNDS = 40
# Curvature is a good guide only down to a radius of a few points' spacing.
_BLUNT_M = 5.0
# In one round the line moves no farther than this, and its tightest bend opens by this share.
_FARTHEST_M, _OPENING = 1.0, 0.85
# Weights beside that of 1 for a metre beside the line: of curvature over the limit, of
# change in curvature, of a step that bends. They keep the answer to a few millimetres the
# same from a tenth to ten times as much.
_OVER, _CHANGE, _BENDING = 1e5, 3e2, 2e1
# Steps are smoothed by a bell curve so wide: differences know nothing of shorter waves.
_STEP_SMOOTHING_M = 2.0


def share_too_tight(ring: Ring) -> float:
    """Share of a ring that bends tighter than a path may."""
    return float(np.mean(np.abs(ring.curvature_per_m) * TIGHTEST_M > 1.0))


def _stretches(ring: Ring) -> list[Ints]:
    """Indices of the points about a ring's tight places, one array a stretch."""
    bend = np.abs(ring.curvature_per_m)
    if not (bend * _MIN_M > 1.0).any():
        return []
    count = len(bend)
    reach = min(round(_AROUND_M / ring.spacing_m), (count - 1) // 2)
    tight = bend * _AIM_M > 1.0
    padded = np.r_[tight[count - reach :], tight, tight[:reach]]
    near = np.convolve(padded, np.ones(2 * reach + 1), "valid") > 0.5
    # The ring is cut where it is straightest, if it is not cut anyway.
    if near.all():
        near[np.argmin(bend)] = False
    cut = int(np.flatnonzero(~near)[0])
    place = np.flatnonzero(np.roll(near, -cut))
    apart = np.flatnonzero(np.diff(place) > 1) + 1
    return [(part + cut) % count for part in np.split(place, apart)]


def _wanted(now: Ring, target: Ring, index: Ints) -> Floats:
    """How far to the left of each point of a stretch the target line runs [m]."""
    east_m = target.east_m[None, index] - now.east_m[index, None]
    north_m = target.north_m[None, index] - now.north_m[index, None]
    # The other leg of a hairpin may be nearer than the line's own.
    along_m = np.arange(len(index)) * now.spacing_m
    apart_m = along_m[None, :] - along_m[:, None]
    foot = np.argmin(east_m**2 + north_m**2 + 0.02 * apart_m**2, axis=1)
    rows = np.arange(len(index))
    cos, sin = np.cos(now.heading_rad[index]), np.sin(now.heading_rad[index])
    wanted: Floats = north_m[rows, foot] * cos - east_m[rows, foot] * sin
    return wanted


def _step(now: Ring, wanted_m: Floats, index: Ints) -> Floats:
    """
    Offsets to the left that bring a line nearer to the target within its limit [m].

    Moving a line sideways by n changes its curvature by n'' + curvature^2 n: a
    quadratic programme, its inequalities as penalties of those that are active.
    """
    bend = now.curvature_per_m[index]
    limit = max(1.0 / _AIM_M, _OPENING * float(np.abs(bend).max()))
    count = len(index)
    second: Floats = (
        np.eye(count, k=1) + np.eye(count, k=-1) - 2.0 * np.eye(count)
    ) / now.spacing_m**2
    first = np.diff(np.eye(count), axis=0) / now.spacing_m
    gain = second + np.diag(bend**2)
    change = first @ gain
    still = np.eye(count) + _CHANGE * change.T @ change + _BENDING * second.T @ second
    pull = wanted_m - _CHANGE * change.T @ (first @ bend)
    step: Floats = np.zeros(count)
    active = np.abs(bend) > limit
    for _ in range(6):
        held = gain[active]
        over = np.sign(bend + gain @ step)[active] * limit - bend[active]
        step[:] = np.linalg.solve(still + _OVER * held.T @ held, pull + _OVER * held.T @ over)
        then = np.abs(bend + gain @ step)
        still_active = (then > 0.999 * limit) | (active & (then > 0.97 * limit))
        if (still_active == active).all():
            break
        active = still_active
    return step


def _blunted(ring: Ring, stretches: list[Ints]) -> Ring:
    """Round off what is too sharp for its points to show; a start, not an answer."""
    count = len(ring.east_m)
    bell = 2.0 * (np.pi * np.fft.rfftfreq(count, ring.spacing_m)) ** 2
    shape = np.stack([ring.east_m, ring.north_m])
    now, width_m = ring, 2.0
    while float(np.abs(now.curvature_per_m).max()) * _BLUNT_M > 1.0 and width_m < _AROUND_M / 3.0:
        blurred = np.fft.irfft(np.fft.rfft(shape) * np.exp(-bell * width_m**2), count)
        share = np.zeros(count)
        for index in stretches:
            share[index] = np.sin(np.linspace(0.0, np.pi, len(index))) ** 2
        east_m, north_m = shape + share * (blurred - shape)
        now = ring_from_points(east_m, north_m, count)
        width_m *= 1.4
    return now


def limit_bends(ring: Ring) -> Ring:
    """
    Ease a ring where it bends tighter than a path may (radius 8 m).

    Parameters
    ----------
    ring : Ring

    Returns
    -------
    Ring
        The same ring if no bend is too tight; else one that differs only within
        50 m of those that are.  Where a hairpin is narrower than 16 m it swings out
        before and after.
    """
    stretches = _stretches(ring)
    if not stretches:
        return ring
    count = len(ring.east_m)
    wave = np.fft.rfftfreq(count, ring.spacing_m)
    soften = np.exp(-2.0 * (np.pi * wave * _STEP_SMOOTHING_M) ** 2)
    now = _blunted(ring, stretches)
    for _ in range(_ROUNDS):
        offset_m = np.zeros(count)
        for index in stretches:
            offset_m[index] = _step(now, _wanted(now, ring, index), index)
        farthest_m = float(np.abs(offset_m).max())
        offset_m *= min(1.0, _FARTHEST_M / max(farthest_m, 1e-9))
        offset_m = np.fft.irfft(np.fft.rfft(offset_m) * soften, count)
        cos, sin = np.cos(now.heading_rad), np.sin(now.heading_rad)
        now = ring_from_points(now.east_m - sin * offset_m, now.north_m + cos * offset_m, count)
        tightest = float(np.abs(now.curvature_per_m).max())
        if tightest * _MIN_M < 1.0 and farthest_m < 0.3:
            break
    return now
