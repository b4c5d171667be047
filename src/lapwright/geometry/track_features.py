"""From the features of a track file to a `Track`: what each may hold, and what is wrong with it."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapwright.geometry.corner import Corner, CornerMark
from lapwright.geometry.easing import eased
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import gate_station
from lapwright.geometry.geojson_lines import (
    FeatureError,
    Position,
    line_positions,
    point_position,
)
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Direction, Track
from lapwright.plane import HIGHEST_M, LOWEST_M, Plane

Floats = NDArray[np.float64]

ROLES = ("start_finish", "sector", "corner", "path", "pit_lane")
_ONCE = ("start_finish", "path", "pit_lane")
_EXTENT = ("entry_m", "apex_m", "exit_m", "radius_m")
# A circuit is at most some tens of kilometres across; further apart two features of one file
# are two circuits, or a slip of the pen.
_FARTHEST_M = 50_000.0


class _Feature:
    """One feature of a known role: its properties, and how to name it in an error."""

    def __init__(self, number: int, role: str, properties: dict[str, Any], geometry: Any) -> None:
        self.role, self.properties, self.geometry = role, properties, geometry
        order = properties.get("order")
        self.where = f"feature {number} ({role}{'' if order is None else f', order {order}'})"

    def positions(self) -> list[Position]:
        """Positions of its line."""
        return line_positions(self.geometry, self.where)

    def number(self, member: str) -> float | None:
        """Return a property that must be a number if it is there."""
        value = self.properties.get(member)
        if value is None:
            return None
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            what = f"{self.where}: member '{member}' is {value!r}, not a number"
            raise FeatureError(what)
        return float(value)

    def text(self, member: str) -> str:
        """Return a property that must be text if it is there."""
        value = self.properties.get(member)
        if value is not None and not isinstance(value, str):
            what = f"{self.where}: member '{member}' is {value!r}, not text"
            raise FeatureError(what, "Put it in quotes")
        return value or ""


def track_from_features(document: Any) -> Track:
    """
    Make a track of a GeoJSON document.

    Parameters
    ----------
    document : object
        What `json.loads` returned.

    Returns
    -------
    track : Track
        With ``source`` ``"file"``.

    Raises
    ------
    FeatureError
        If a feature or member is missing or wrong.
    """
    by_role = _features_by_role(document)
    if not by_role["start_finish"]:
        what = "no feature has the role 'start_finish'"
        raise FeatureError(what, "Add a line of two points, left end first as the driver sees it")
    line = by_role["start_finish"][0]
    ends = line.positions()
    plane = Plane.centred_on(
        [place[1] for place in ends], [place[0] for place in ends], _height(document, by_role)
    )
    direction = _direction(document)
    paths = by_role["path"]
    path = _path(paths[0], plane) if paths else None
    pit_lanes = by_role["pit_lane"]
    sectors = [_gate(feature, plane) for feature in _in_order(by_role["sector"])]
    corners, marks = _corners(_in_order(by_role["corner"]), plane, path)
    start_finish = _gate(line, plane)
    try:
        if path is not None:
            # The file's corners count from the line, not from the path's first vertex.
            path = path.shifted(gate_station(path, start_finish, "the start/finish line"))
        track = Track(
            name=_text_member(document, "name"),
            plane=plane,
            start_finish=start_finish,
            sectors=tuple(sectors),
            path=path,
            corners=corners,
            corner_marks=marks,
            pit_lane=_points(pit_lanes[0], plane) if pit_lanes else None,
            direction=direction,
            length_sd_m=paths[0].number("length_sd_m") if paths else None,
            source="file",
        )
    except ValueError as error:
        what, _, hint = str(error).partition(". ")
        raise FeatureError(what, hint) from error
    if direction is not None and track.direction != direction:
        what = f"member 'direction' is '{direction}', but the path runs {track.direction}"
        raise FeatureError(what, "Correct the one or turn the other round")
    return track


def _features_by_role(document: Any) -> dict[str, list[_Feature]]:
    """Sort the features by role, leaving aside those without one."""
    if not isinstance(document, dict) or document.get("type") != "FeatureCollection":
        what = "member 'type' is not 'FeatureCollection'"
        raise FeatureError(what, "A track file is a GeoJSON FeatureCollection")
    features = document.get("features")
    if not isinstance(features, list):
        what = "member 'features' is missing or not a list"
        raise FeatureError(what)
    by_role: dict[str, list[_Feature]] = {role: [] for role in ROLES}
    for number, feature in enumerate(features, start=1):
        if not isinstance(feature, dict) or feature.get("type") != "Feature":
            what = f"feature {number}: member 'type' is not 'Feature'"
            raise FeatureError(what)
        properties = feature.get("properties") or {}
        role = properties.get("role") if isinstance(properties, dict) else None
        if role is None:
            continue
        if role not in ROLES:
            what = f"feature {number}: member 'role' is {role!r}"
            raise FeatureError(what, f"It may be {', '.join(ROLES)}")
        by_role[role].append(_Feature(number, role, properties, feature.get("geometry")))
    for role in _ONCE:
        if len(by_role[role]) > 1:
            what = f"{by_role[role][1].where}: there is a second feature of the role '{role}'"
            raise FeatureError(what, "Keep one of them")
    return by_role


def _in_order(features: list[_Feature]) -> list[_Feature]:
    """Features by their ``order``, which must be there and differ where there are several."""
    orders = []
    for feature in features:
        order = feature.number("order")
        if order is None and len(features) == 1:
            order = 1.0
        if order is None or order != int(order) or order < 1:
            what = f"{feature.where}: member 'order' is {feature.properties.get('order')!r}"
            raise FeatureError(what, "Number them 1, 2, ... in driving order")
        if order in orders:
            what = f"{feature.where}: member 'order' is {int(order)} for the second time"
            raise FeatureError(what, "Number them 1, 2, ... in driving order")
        orders.append(order)
    return [features[i] for i in np.argsort(orders)]


def _height(document: dict[str, Any], by_role: dict[str, list[_Feature]]) -> float:
    """Height of the circuit: the member ``height_m``, or the median of the positions' heights."""
    stated = document.get("height_m")
    if stated is not None:
        number = isinstance(stated, int | float) and not isinstance(stated, bool)
        if not number or not LOWEST_M <= stated <= HIGHEST_M:
            what = f"member 'height_m' is {stated!r}"
            raise FeatureError(what, "Give the height of the circuit in metres or leave it out")
        return float(stated)
    lines = [f for role in ("start_finish", "sector", "path") for f in by_role[role]]
    heights = [place[2] for line in lines for place in line.positions() if len(place) > 2]
    # Heights of other programs are a refinement of 1e-4 at most; nonsense in them is no error.
    return float(np.clip(np.median(heights), LOWEST_M, HIGHEST_M)) if heights else 0.0


def _direction(document: dict[str, Any]) -> Direction | None:
    value = document.get("direction")
    if value is None:
        return None
    if value == "clockwise":
        return "clockwise"
    if value == "anticlockwise":
        return "anticlockwise"
    what = f"member 'direction' is {value!r}"
    raise FeatureError(what, "It may be 'clockwise' or 'anticlockwise', or be left out")


def _text_member(document: dict[str, Any], member: str) -> str:
    value = document.get(member)
    if value is not None and not isinstance(value, str):
        what = f"member '{member}' is {value!r}, not text"
        raise FeatureError(what, "Put it in quotes")
    return value or ""


def _points(feature: _Feature, plane: Plane) -> Floats:
    """Positions of a line on the plane, (n, 2)."""
    places = feature.positions()
    east, north = plane.to_metres([p[1] for p in places], [p[0] for p in places])
    points = np.stack([east, north], axis=1)
    far = ~(np.hypot(east, north) < _FARTHEST_M)
    if far.any():
        what = f"{feature.where}: coordinates[{np.argmax(far)}] is far from the start/finish line"
        raise FeatureError(what, "Check longitude and latitude")
    return points


def _gate(feature: _Feature, plane: Plane) -> Gate:
    points = _points(feature, plane)
    if len(points) != 2:
        what = f"{feature.where}: member 'coordinates' has {len(points)} positions, not 2"
        raise FeatureError(what, "Give the left end, then the right end as the driver sees them")
    left, right = points
    try:
        return Gate((left[0], left[1]), (right[0], right[1]))
    except ValueError as error:
        what = f"{feature.where}: member 'coordinates' has both ends at the same point"
        raise FeatureError(what, "Give the left end, then the right end") from error


def _path(feature: _Feature, plane: Plane) -> ReferencePath:
    """Vertices without the repeated last one and without neighbours at the same point."""
    points = _points(feature, plane)
    steps = np.hypot(*np.diff(points, axis=0).T)
    gap = float(np.hypot(*(points[-1] - points[0])))
    if gap > 3.0 * steps.max():
        what = f"{feature.where}: the path is not closed, {gap:.0f} m are missing"
        raise FeatureError(what, "Let it end with the position it begins with")
    # A tenth of a millimetre is the resolution of the coordinates.
    points = points[np.hypot(*(points - np.roll(points, -1, axis=0)).T) > 1e-4]
    if len(points) < 5:
        what = f"{feature.where}: the path has {len(points)} different positions"
        raise FeatureError(what, "Give five or more")
    try:
        return eased(ReferencePath(points[:, 0], points[:, 1]))
    except ValueError as error:
        what = f"{feature.where}: {error}"
        raise FeatureError(what, "Draw it along the middle of the track, without kinks") from error


def _corners(
    features: list[_Feature], plane: Plane, path: ReferencePath | None
) -> tuple[tuple[Corner, ...], tuple[CornerMark, ...]]:
    """Corners with their extent where all have one, and the marks of all."""
    marks: list[CornerMark] = []
    corners: list[Corner] = []
    for feature in features:
        lon, lat = point_position(feature.geometry, feature.where)[:2]
        order = len(marks) + 1
        name = feature.text("name") or str(order)
        marks.append(CornerMark(order, name, plane.point_m((lat, lon))))
        extent = [feature.number(member) for member in _EXTENT]
        side = feature.text("direction")
        if path is None or not side or any(value is None for value in extent):
            continue
        entry, apex, end, radius = (float(value) for value in extent if value is not None)
        try:
            corners.append(
                Corner(order, name, "left" if side == "left" else "right", entry, apex, end, radius)
            )
        except ValueError as error:
            what = f"{feature.where}: {error}"
            raise FeatureError(what) from error
    complete = len(corners) == len(marks)
    return (tuple(corners) if complete else ()), tuple(marks)
