"""Changes to the list of a circuit's corners: shift, name, merge, split, add."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from lapwright.errors import shown
from lapwright.geometry.corner import FARTHEST_BESIDE_M, Corner, CornerMark, Side
from lapwright.geometry.path import ReferencePath
from lapwright.numerics.cyclic import cyclic_difference, distance_ahead

Corners = tuple[Corner, ...]

# An apex so little before the line is on it. [m]
_ON_LINE_M = 0.005
# Two corners may share this much more than their ends. [m]
SHARED_M = 5.0


def ordered(corners: Iterable[Corner], length_m: float) -> Corners:
    """
    Bring corners into order from the line and number them from 1.

    A name that is only the old number follows the new number.

    Parameters
    ----------
    corners : iterable of Corner
        In any order; stations may be laps away from [0, length).
    length_m : float
        Length of the path. [m]

    Returns
    -------
    corners : tuple of Corner
        With apexes in [0, length), increasing.
    """
    wrapped = []
    for corner in corners:
        # A line right on an apex: rounding must not make the first corner the last one.
        laps = np.floor((corner.apex_m + _ON_LINE_M) / length_m) * length_m
        inside = moved(corner, -float(laps))
        if inside.apex_m < 0.0 <= inside.exit_m:
            inside = replace(inside, apex_m=0.0)
        wrapped.append(inside)
    wrapped.sort(key=lambda corner: corner.apex_m)
    return tuple(
        replace(
            corner,
            order=order,
            name=str(order) if is_number_name(corner) else corner.name,
        )
        for order, corner in enumerate(wrapped, start=1)
    )


def moved(corner: Corner, by_m: float) -> Corner:
    """Return a corner with all its stations moved [m]."""
    return replace(
        corner,
        entry_m=corner.entry_m + by_m,
        apex_m=corner.apex_m + by_m,
        exit_m=corner.exit_m + by_m,
    )


def overlap_m(one: Corner, following: Corner, length_m: float) -> float:
    """Length that a corner shares with the one that follows it; less than 0 for none [m]."""
    ahead_m = float(distance_ahead(following.apex_m, one.apex_m, length_m))
    return one.exit_m - one.apex_m - (ahead_m - (following.apex_m - following.entry_m))


def is_number_name(corner: Corner) -> bool:
    """Tell whether a corner has no name but its number."""
    return corner.name in ("", str(corner.order))


def shifted(corners: Corners, station_m: float, length_m: float) -> Corners:
    """Return corners for a path whose station 0 is where a station is now."""
    return ordered((moved(corner, -station_m) for corner in corners), length_m)


def scaled(corners: Corners, factor: float) -> Corners:
    """Return corners with all stations and radii multiplied."""
    return tuple(
        replace(
            corner,
            entry_m=corner.entry_m * factor,
            apex_m=corner.apex_m * factor,
            exit_m=corner.exit_m * factor,
            radius_m=corner.radius_m * factor,
            run_up_m=None if corner.run_up_m is None else corner.run_up_m * factor,
        )
        for corner in corners
    )


def with_run_ups(corners: Corners, run_ups_m: Sequence[float]) -> Corners:
    """Return corners with how far before each entry cars slow for it [m]."""
    if len(corners) != len(run_ups_m):
        msg = f"{len(run_ups_m)} distances for {len(corners)} corners; give one each"
        raise ValueError(msg)
    return tuple(replace(c, run_up_m=float(m)) for c, m in zip(corners, run_ups_m, strict=True))


def named(corners: Corners, names: Mapping[int, str] | Sequence[str]) -> Corners:
    """Return corners with new names, by order number or as a list with one name each."""
    if isinstance(names, Mapping):
        wanted = dict(names)
    elif len(names) == len(corners):
        wanted = dict(enumerate(names, start=1))
    else:
        msg = f"{len(names)} names for {len(corners)} corners; give one each, or a dict by number"
        raise ValueError(msg)
    for order in wanted:
        find(corners, order)
    # No name is its number.
    return tuple(replace(c, name=wanted.get(c.order, c.name) or str(c.order)) for c in corners)


def named_by_marks(corners: Corners, marks: Iterable[CornerMark], path: ReferencePath) -> Corners:
    """Give corners the names of the marks of a file that lie in or near them."""
    result = list(corners)
    for mark in marks:
        best = marked(corners, mark, path)
        # A mark named by its number alone says nothing: the number is that of the file.
        if best is not None and mark.name not in ("", str(mark.order)):
            result[best] = replace(result[best], name=mark.name)
    return tuple(result)


def marked(corners: Sequence[Corner], mark: CornerMark, path: ReferencePath) -> int | None:
    """Index of the corner that a mark lies in or near; None where there is none."""
    station, beside = path.project([mark.apex_m[0]], [mark.apex_m[1]])
    if not abs(float(beside[0])) <= FARTHEST_BESIDE_M:
        return None
    best, away = None, np.inf
    for index, corner in enumerate(corners):
        ahead = float(cyclic_difference(station[0], corner.apex_m, path.length_m))
        within = (
            corner.entry_m - corner.apex_m - mark.near_m
            <= ahead
            <= corner.exit_m - corner.apex_m + mark.near_m
        )
        if within and abs(ahead) < away:
            best, away = index, abs(ahead)
    return best


def without_marks(
    marks: Sequence[CornerMark], corner: Corner, path: ReferencePath
) -> tuple[CornerMark, ...]:
    """Return the marks that do not lie in or near a corner."""
    return tuple(mark for mark in marks if marked([corner], mark, path) is None)


def find(corners: Corners, order: int) -> Corner:
    """Return the corner of a number, or say which numbers there are."""
    for corner in corners:
        if corner.order == order:
            return corner
    there = f"1 to {len(corners)}" if corners else "none"
    msg = f"there is no corner {order}; there are: {there}"
    raise ValueError(msg)


def merged(
    corners: Corners, first: int, last: int, name: str | None, path: ReferencePath
) -> Corners:
    """
    Return the list in which the corners from one number to another are one.

    From a higher to a lower number the way goes across the start/finish line.
    """
    if first == last:
        msg = f"merge from one number to another, not {first} to {last}"
        raise ValueError(msg)
    begin, end = find(corners, first), find(corners, last)
    if first < last:
        orders, entry_m = set(range(first, last + 1)), begin.entry_m
    else:
        orders = {c.order for c in corners if c.order >= first or c.order <= last}
        entry_m = begin.entry_m - path.length_m
    group = [c for c in corners if c.order in orders]
    if name is None:
        group.sort(key=lambda c: (c.order < first, c.order))
        name = next((c.name for c in group if not is_number_name(c)), "")
    whole = measured(path, name, entry_m, end.exit_m)
    kept = [c for c in corners if c.order not in orders]
    return ordered([*kept, whole], path.length_m)


def added(corners: Corners, corner: Corner, length_m: float) -> Corners:
    """Return the list with one more corner, which must not lie over another."""
    everywhere = ordered([*corners, corner], length_m)
    for k, one in enumerate(everywhere):
        following = everywhere[(k + 1) % len(everywhere)]
        shared_m = overlap_m(one, following, length_m)
        if len(everywhere) > 1 and shared_m > SHARED_M:
            msg = (
                f"corner {shown(one.name)} ends {shared_m:.0f} m after corner "
                f"{shown(following.name)} begins; give the new one another entry or exit, or merge "
                "or split"
            )
            raise ValueError(msg)
    return everywhere


def split(
    corners: Corners, order: int, station_m: float, names: Sequence[str], path: ReferencePath
) -> Corners:
    """Return the list in which one corner is two, cut at a station."""
    whole = find(corners, order)
    cut = whole.entry_m + float(distance_ahead(station_m, whole.entry_m, path.length_m))
    if not whole.entry_m < cut < whole.exit_m:
        msg = (
            f"corner {shown(whole.name)} reaches from {whole.entry_m:.1f} to {whole.exit_m:.1f} m; "
            f"it cannot be cut at {station_m:.1f} m"
        )
        raise ValueError(msg)
    if len(names) != 2:
        msg = f"two corners need two names, not {len(names)}"
        raise ValueError(msg)
    parts = [
        measured(path, names[0], whole.entry_m, cut),
        measured(path, names[1], cut, whole.exit_m),
    ]
    return ordered([*(c for c in corners if c.order != order), *parts], path.length_m)


def measured(
    path: ReferencePath, name: str, entry_m: float, exit_m: float, apex_m: float | None = None
) -> Corner:
    """
    Make a corner of a stretch of path.

    Parameters
    ----------
    path : ReferencePath
        The closed path.
    name : str
        Its name.
    entry_m, exit_m : float
        The stretch, the exit after the entry. [m]
    apex_m : float, optional
        The apex; without it where the path bends most in the corner's direction. [m]

    Returns
    -------
    corner : Corner
        With order 1 until it is put into a list; direction by the sum of its bends.
    """
    if not entry_m < exit_m < entry_m + path.length_m:
        between = f"{entry_m} and {exit_m} m"
        msg = f"corner {shown(name)}: its exit must come after its entry, not {between}"
        raise ValueError(msg)
    station = np.linspace(entry_m, exit_m, max(9, round(exit_m - entry_m) + 1))
    curvature = path.at(station).curvature_per_m
    # The sum of the curvature over the stretch is the angle turned.
    side: Side = "left" if np.sum(curvature) > 0.0 else "right"
    towards = curvature if side == "left" else -curvature
    sharpest = int(np.argmax(towards))
    return Corner(
        order=1,
        name=name,
        direction=side,
        entry_m=entry_m,
        apex_m=float(station[sharpest]) if apex_m is None else apex_m,
        exit_m=exit_m,
        radius_m=float(1.0 / max(towards[sharpest], 1e-6)),
    )
