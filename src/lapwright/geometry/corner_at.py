"""
A corner from one point: what a person knows of it, and the rest from the path.

Where the path bends near the point, the bend tells apex, entry, exit, direction and radius.
Where it does not, as at a bump that everybody brakes for, the corner is a short stretch
about the point.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapwright.errors import shown
from lapwright.geometry.corner import FARTHEST_BESIDE_M, Corner, Side
from lapwright.geometry.corner_list import measured
from lapwright.geometry.path import ReferencePath

Floats = NDArray[np.float64]

# A path this straight is not part of a corner. [1/m]
STRAIGHT_PER_M = 1.0 / 800.0
# Weight of the curvature in the place of the apex. The fourth power leaves a gentle tail
# without a say: whether it is joined to the corner or not does not move the apex.
APEX_POWER = 4
# Straighter than this is said no more exactly. [m]
MAX_RADIUS_M = 5000.0
# The bend meant has its sharpest place within this of the point. [m]
_NEAR_M = 40.0
# A bend is followed no farther than this. [m]
_REACH_M = 200.0
# Without a bend: half of the corner's length. A car at 40 m/s goes so far in a second. [m]
_HALF_M = 40.0
_MIN_LENGTH_M = 10.0
_STEP_M = 2.0
# Standard deviation of the bell curve over the curvature: a path averaged over laps has noise
# that would pass for bends of its own. [m]
_SMOOTHING_M = 10.0


def corner_at(
    path: ReferencePath, corners: Sequence[Corner], name: str, station_m: float
) -> Corner:
    """
    Make a corner of one place on a path.

    Parameters
    ----------
    path : ReferencePath
    corners : sequence of Corner
        Those that are there already; the new one ends where they begin.
    name : str
    station_m : float
        The place. [m]

    Returns
    -------
    Corner
        With order 1 until it is put into a list.

    Raises
    ------
    ValueError
        If the place lies in one of the corners, or there is no room between two.
    """
    if not np.isfinite(station_m):
        msg = f"corner {shown(name)}: its place must be a number of metres, not {station_m}"
        raise ValueError(msg)
    station_m = float(station_m % path.length_m)
    low_m, high_m = _room(path, corners, name, station_m)
    there_m = np.arange(station_m - _REACH_M, station_m + _REACH_M + _STEP_M / 2, _STEP_M)
    bend = _smooth_curvature(path, there_m)
    inside = (there_m > low_m) & (there_m < high_m)
    size = np.abs(bend)
    peak = np.r_[False, (size[1:-1] >= size[:-2]) & (size[1:-1] >= size[2:]), False]
    peak &= inside & (size > STRAIGHT_PER_M) & (np.abs(there_m - station_m) <= _NEAR_M)
    if not peak.any():
        here = bend[inside & (np.abs(there_m - station_m) <= _HALF_M)]
        turned = float(here.sum())
        side: Side = "left" if turned > 0.0 else "right"
        entry_m, exit_m = max(station_m - _HALF_M, low_m), min(station_m + _HALF_M, high_m)
        radius_m = 1.0 / max(float(np.max(np.abs(here))), 1.0 / MAX_RADIUS_M)
        return Corner(1, name, side, entry_m, station_m, exit_m, radius_m)
    # The sharpest one: what a person marks is the bend, not a wiggle beside it.
    top = int(np.argmax(np.where(peak, size, 0.0)))
    sign = float(np.sign(bend[top]))
    along = np.where(inside, bend * sign, 0.0)
    straight = np.flatnonzero(along < STRAIGHT_PER_M)
    before, after = straight[straight < top], straight[straight > top]
    first = int(before[-1]) + 1 if len(before) else 0
    last = int(after[0]) - 1 if len(after) else len(along) - 1
    weight = along[first : last + 1] ** APEX_POWER
    apex_m = float((weight * there_m[first : last + 1]).sum() / weight.sum())
    entry_m, exit_m = (float(there_m[k]) for k in (first, last))
    return Corner(
        order=1, name=name, direction="left" if sign > 0.0 else "right",
        entry_m=max(min(entry_m, apex_m - _MIN_LENGTH_M / 2), low_m),
        apex_m=apex_m,
        exit_m=min(max(exit_m, apex_m + _MIN_LENGTH_M / 2), high_m),
        radius_m=min(1.0 / float(size[top]), MAX_RADIUS_M),
    )  # fmt: skip


def new_corner(
    path: ReferencePath, corners: Sequence[Corner], name: str,
    extent_m: tuple[float | None, float | None, float | None],
    at: float | tuple[float, float] | None,
) -> Corner:  # fmt: skip
    """
    Make a corner from entry to exit, or from one place.

    Parameters
    ----------
    path : ReferencePath
    corners : sequence of Corner
        Those that are there already.
    name : str
    extent_m : tuple of (float or None)
        Entry, exit and, if it is given, apex. [m]
    at : float, (float, float) or None
        Instead of them a station, or a point east and north. [m]

    Returns
    -------
    Corner

    Raises
    ------
    ValueError
        If both or neither is given, or one of them cannot be a corner.
    """
    entry_m, exit_m, apex_m = extent_m
    if at is None and entry_m is not None and exit_m is not None:
        return measured(path, name, entry_m, exit_m, apex_m)
    if at is None or extent_m != (None, None, None):
        msg = f"corner {name!r}: give entry_m and exit_m, or instead of them one place as at"
        raise ValueError(msg)
    station_m = station_of_point(path, at, name) if isinstance(at, tuple) else at
    return corner_at(path, corners, name, station_m)


def station_of_point(path: ReferencePath, point_m: tuple[float, float], name: str) -> float:
    """
    Station of a point beside a path [m].

    Raises
    ------
    ValueError
        If it is farther from the path than a corner can be.
    """
    station_m, beside_m = path.project([point_m[0]], [point_m[1]])
    away_m = abs(float(beside_m[0]))
    if not away_m <= FARTHEST_BESIDE_M:
        msg = (
            f"corner {shown(name)} is {away_m:.0f} m away from the path; put the point on the track"
        )
        raise ValueError(msg)
    return float(station_m[0])


def _room(
    path: ReferencePath, corners: Sequence[Corner], name: str, station_m: float
) -> tuple[float, float]:
    """From the end of the corner before a place to the beginning of the one after it [m]."""
    half = path.length_m / 2.0
    low_m, high_m = station_m - half, station_m + half
    for corner in corners:
        apex_m = station_m + (corner.apex_m - station_m + half) % path.length_m - half
        entry_m = apex_m - (corner.apex_m - corner.entry_m)
        exit_m = apex_m + (corner.exit_m - corner.apex_m)
        if entry_m <= station_m <= exit_m:
            begin_m = corner.entry_m
            msg = (
                f"corner {shown(name)} lies in corner {shown(corner.name)}, which reaches from "
                f"{begin_m:.0f} to {corner.exit_m:.0f} m; rename, shorten or split that one"
            )
            raise ValueError(msg)
        if exit_m < station_m:
            low_m = max(low_m, exit_m)
        else:
            high_m = min(high_m, entry_m)
    if high_m - low_m < _MIN_LENGTH_M:
        msg = (
            f"corner {shown(name)}: there are only {high_m - low_m:.0f} m between its neighbours; "
            "shorten one of them"
        )
        raise ValueError(msg)
    return low_m, high_m


def _smooth_curvature(path: ReferencePath, station_m: Floats) -> Floats:
    """Curvature at stations in even steps, smoothed with a bell curve."""
    reach = round(3.0 * _SMOOTHING_M / _STEP_M)
    beyond = np.arange(1, reach + 1) * _STEP_M
    wide_m = np.r_[station_m[0] - beyond[::-1], station_m, station_m[-1] + beyond]
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) * _STEP_M / _SMOOTHING_M) ** 2)
    curvature = path.at(np.mod(wide_m, path.length_m)).curvature_per_m
    return np.convolve(curvature, bell / bell.sum(), "valid")
