"""
The corners of a track file: their points on the map, and their stations along the path.

A corner says twice where it is: its Point, and ``apex_m`` from the start/finish
line.  Whoever moves the line by hand moves every station and no point, and
that is how it is told: then the points are right, and the stations follow.

A corner with nothing but its Point is filled in later, from the path and a log.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lapwright.errors import shown
from lapwright.geometry.corner import Corner, CornerMark
from lapwright.geometry.corner_at import corner_at, station_of_point
from lapwright.geometry.corner_list import SHARED_M, moved, overlap_m
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.trackfile.feature import Feature
from lapwright.geometry.trackfile.lines import FeatureError, point_position
from lapwright.numerics.cyclic import cyclic_difference, distance_ahead
from lapwright.plane import Plane

Floats = NDArray[np.float64]

_EXTENT = ("entry_m", "apex_m", "exit_m", "radius_m")
# A point set by hand beside the path is this near the apex; farther off it is another place. [m]
_NEAR_M = 20.0
# All points ahead of their stations by the same distance, to within this: the line was moved. [m]
_TOGETHER_M = 2.0
# What rounding leaves between a point and its station, and more. [m]
_NOTHING_M = 0.5
# A point that is right at the end of a corner is that corner's. [m]
_AT_ENDS_M = 1.0
# A chicane may end up a little to the other side; this much is a corner the other way. [rad]
_OTHER_WAY_RAD = 0.35


def corners_and_marks(
    features: Sequence[Feature], plane: Plane, path: ReferencePath | None
) -> tuple[tuple[Corner, ...], tuple[CornerMark, ...]]:
    """
    Read the corners of a track file.

    Parameters
    ----------
    features : sequence of Feature
        In driving order.
    plane : Plane
    path : ReferencePath or None
        Station 0 at the start/finish line.

    Returns
    -------
    corners : tuple of Corner
        Those that have their extent, where there is a path. Their stations
        count from the line, also where it was moved by hand.
    marks : tuple of CornerMark
        Point and name of the others.

    Raises
    ------
    FeatureError
        If a corner's point and its stations are not the same place, two corners lie
        over each other, or one is longer than the path or bends the other way.
    """
    marks = tuple(_mark(feature, order, plane) for order, feature in enumerate(features, start=1))
    corners = [_corner(feature, mark) for feature, mark in zip(features, marks, strict=True)]
    whole = [corner for corner in corners if corner is not None]
    if path is None or not whole:
        return (), marks
    has = [k for k, corner in enumerate(corners) if corner is not None]
    its, points = [features[k] for k in has], [marks[k] for k in has]
    _check_lengths(its, whole, path.length_m)
    by_m = _shift_m(its, whole, points, path)
    placed = [moved(corner, by_m) for corner in whole]
    _check_apart(its, placed, path.length_m)
    _check_directions(its, placed, path)
    # Beside corners whose ends are known, a point is one more corner.
    more = [k for k in range(len(features)) if k not in has]
    _check_points([features[k] for k in more], [marks[k] for k in more], placed, path)
    return tuple(placed), tuple(replace(marks[k], near_m=_AT_ENDS_M) for k in more)


def _check_points(
    features: Sequence[Feature],
    marks: Sequence[CornerMark],
    corners: Sequence[Corner],
    path: ReferencePath,
) -> None:
    """Refuse a point that can be no corner of its own: off the track, or in another corner."""
    for feature, mark in zip(features, marks, strict=True):
        try:
            corner_at(path, corners, mark.name, station_of_point(path, mark.apex_m, mark.name))
        except ValueError as error:
            what = f"{feature.where}: {error}"
            raise FeatureError(what) from error


def _mark(feature: Feature, order: int, plane: Plane) -> CornerMark:
    lon, lat = point_position(feature.geometry, feature.where)[:2]
    name, number = feature.text("name"), feature.number("order")
    # A name that is only the number says nothing, and follows when the number changes.
    if not name or (number is not None and name == f"{number:g}"):
        name = str(order)
    return CornerMark(order, name, plane.point_m((lat, lon)))


def _corner(feature: Feature, mark: CornerMark) -> Corner | None:
    """Return a corner where its extent and direction are given, else None."""
    extent = [feature.number(member) for member in _EXTENT]
    side = feature.text("direction")
    if side not in ("", "left", "right"):
        what = f"{feature.where}: member 'direction' is {shown(side)}"
        raise FeatureError(what, "It may be 'left' or 'right', or be left out")
    given = [value for value in extent if value is not None]
    if not side or len(given) < len(extent):
        return None
    try:
        corner = Corner(mark.order, mark.name, "left" if side == "left" else "right", *given[:4])
        return replace(corner, run_up_m=feature.number("run_up_m"))
    except ValueError as error:
        what = f"{feature.where}: {error}"
        raise FeatureError(what) from error


def _shift_m(
    features: Sequence[Feature],
    corners: Sequence[Corner],
    marks: Sequence[CornerMark],
    path: ReferencePath,
) -> float:
    """Distance by which the stations of all corners have to move to be at their points."""
    apex_m = np.array([corner.apex_m for corner in corners])
    points = np.array([mark.apex_m for mark in marks])
    foot_m, _ = path.project(points[:, 0], points[:, 1])
    # Each corner says by how much the line may have been moved; not moved comes first.
    candidates = np.r_[0.0, foot_m - apex_m]
    off_m = np.stack([_off_m(path, apex_m + by_m, points) for by_m in candidates])
    near = (off_m <= _NEAR_M).sum(axis=1)
    best = int(np.argmax(near))
    if near[best] < len(corners):
        wrong = int(np.argmax(off_m[best] > _NEAR_M))
        at_m = apex_m[wrong] + candidates[best]
        what = (
            f"{features[wrong].where}: member 'coordinates' is {off_m[best][wrong]:.0f} m away "
            f"from where 'apex_m' is on the path ({at_m % path.length_m:.0f} m from the line)"
        )
        hint = (
            "Move the point back, or delete 'entry_m', 'apex_m' and 'exit_m' to have them found "
            "again"
        )
        raise FeatureError(what, hint)
    by_m = float(candidates[best])
    exact_m, _ = path.project(points[:, 0], points[:, 1], near_m=apex_m + by_m)
    ahead_m = cyclic_difference(exact_m, apex_m + by_m, path.length_m)
    middle_m = float(np.median(ahead_m))
    together = bool(np.all(np.abs(ahead_m - middle_m) <= _TOGETHER_M))
    if best == 0 and not (together and abs(middle_m) > _NOTHING_M):
        return 0.0
    return by_m + middle_m


def _off_m(path: ReferencePath, station_m: Floats, points: Floats) -> Floats:
    """Distances of points from the path at stations [m]."""
    there = path.at(station_m)
    return np.hypot(there.east_m - points[:, 0], there.north_m - points[:, 1])


def _check_lengths(features: Sequence[Feature], corners: Sequence[Corner], length_m: float) -> None:
    """Refuse a corner that is longer than the path."""
    for feature, corner in zip(features, corners, strict=True):
        extent_m = corner.exit_m - corner.entry_m
        if extent_m >= length_m:
            what = (
                f"{feature.where}: members 'entry_m' to 'exit_m' are {extent_m:.0f} m long, but "
                f"the path is only {length_m:.0f} m"
            )
            raise FeatureError(what, "Correct them, or delete them to have the corner found again")


def _check_directions(
    features: Sequence[Feature], corners: Sequence[Corner], path: ReferencePath
) -> None:
    """Refuse a corner along which the path plainly turns the other way."""
    for feature, corner in zip(features, corners, strict=True):
        station_m = np.linspace(corner.entry_m, corner.exit_m, 101)
        turned = float(np.mean(path.at(station_m).curvature_per_m)) * (
            corner.exit_m - corner.entry_m
        )
        if (turned if corner.direction == "left" else -turned) < -_OTHER_WAY_RAD:
            side = "left" if turned > 0.0 else "right"
            what = (
                f"{feature.where}: member 'direction' is '{corner.direction}', but there the path "
                f"turns {side}, by {abs(np.degrees(turned)):.0f} degrees"
            )
            raise FeatureError(what, f"Write '{side}', or correct 'entry_m' and 'exit_m'")


def _check_apart(features: Sequence[Feature], corners: Sequence[Corner], length_m: float) -> None:
    """Refuse corners that lie over each other."""
    order = sorted(range(len(corners)), key=lambda k: corners[k].apex_m % length_m)
    for one, other in pairwise([*order, order[0]] if len(order) > 1 else order):
        shared_m = overlap_m(corners[one], corners[other], length_m)
        ahead_m = distance_ahead(corners[other].apex_m, corners[one].apex_m, length_m)
        double = shared_m > 0.0 and ahead_m < SHARED_M
        if shared_m > _NEAR_M or double:
            what = (
                f"{features[other].where}: members 'entry_m' to 'exit_m' lie over those of "
                f"{features[one].where}, by {shared_m:.0f} m"
            )
            raise FeatureError(what, "Let one end before the other begins, or leave one out")
