"""From the features of a track file to a `Track`: what each may hold, and what is wrong with it."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapwright.errors import shown
from lapwright.escaping.unseen import encodable
from lapwright.geometry.circuit import Direction
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import MIN_APART_M, gate_station
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.places import FARTHEST_M
from lapwright.geometry.track import Track
from lapwright.geometry.trackfile.corner_features import corners_and_marks
from lapwright.geometry.trackfile.easing import eased
from lapwright.geometry.trackfile.feature import Feature
from lapwright.geometry.trackfile.lines import FeatureError
from lapwright.plane import HIGHEST_M, LOWEST_M, Plane

Floats = NDArray[np.float64]

ROLES = ("start_finish", "sector", "corner", "path", "pit_lane")
# Members of ours; an extent or a reference system of other programs may no longer be true.
_MEMBERS = ("type", "name", "direction", "height_m", "features", "bbox", "crs")
_ONCE = ("start_finish", "path", "pit_lane")
# Two lines closer than this are one that was copied and not moved; a little less than what a
# track allows, so that every track that was written can be read. [m]
_SAME_M = 0.9 * MIN_APART_M


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
    start_finish = _gate(line, plane)
    if path is not None:
        # The file's corners count from the line, not from the path's first vertex.
        path = path.shifted(_station(path, start_finish, line, "the start/finish line"))
    sectors = _sectors(_in_order(by_role["sector"]), (start_finish, line), plane, path)
    corners, marks = corners_and_marks(_corners_in_order(by_role["corner"]), plane, path)
    track = Track(
        name=_text_member(document, "name"),
        plane=plane,
        start_finish=start_finish,
        sectors=sectors,
        path=path,
        corners=corners,
        corner_marks=marks,
        pit_lane=_points(pit_lanes[0], plane) if pit_lanes else None,
        direction=direction,
        length_sd_m=_length_sd_m(paths[0]) if paths else None,
        source="file",
        other_features=tuple(f for f in document["features"] if _is_foreign(f)),
        other_members={key: document[key] for key in document if key not in _MEMBERS},
    )
    if direction is not None and track.direction != direction:
        what = f"member 'direction' is '{direction}', but the path runs {track.direction}"
        raise FeatureError(what, "Correct one or turn the other round")
    return track


def _is_foreign(feature: dict[str, Any]) -> bool:
    """Whether a feature has no role, so that it is another program's or the user's."""
    return (feature.get("properties") or {}).get("role") is None


def _features_by_role(document: Any) -> dict[str, list[Feature]]:
    """Sort the features by role, leaving aside those without one."""
    if not isinstance(document, dict) or document.get("type") != "FeatureCollection":
        what = "member 'type' is not 'FeatureCollection'"
        raise FeatureError(what, "A track file is a GeoJSON FeatureCollection")
    features = document.get("features")
    if not isinstance(features, list):
        what = "member 'features' is missing or not a list"
        raise FeatureError(what)
    by_role: dict[str, list[Feature]] = {role: [] for role in ROLES}
    for number, feature in enumerate(features, start=1):
        if not isinstance(feature, dict) or feature.get("type") != "Feature":
            what = f"feature {number}: member 'type' is not 'Feature'"
            raise FeatureError(what)
        properties = feature.get("properties")
        if properties is None:
            continue
        if not isinstance(properties, dict):
            what = f"feature {number}: member 'properties' is {shown(properties)}, not an object"
            raise FeatureError(
                what, 'Give an object such as {"role": "sector", "order": 1}, or null'
            )
        role = properties.get("role")
        if role is None:
            continue
        if role not in ROLES:
            what = f"feature {number}: member 'role' is {shown(role)}"
            raise FeatureError(what, f"It may be {', '.join(ROLES)}")
        by_role[role].append(Feature(number, role, properties, feature.get("geometry")))
    for role in _ONCE:
        if len(by_role[role]) > 1:
            what = f"{by_role[role][1].where}: there is a second feature of the role '{role}'"
            raise FeatureError(what, "Keep one of them")
    return by_role


def _in_order(features: list[Feature]) -> list[Feature]:
    """Features by their ``order``, which must be there and differ where there are several."""
    orders = []
    for feature in features:
        order = feature.number("order")
        if order is None and len(features) == 1:
            order = 1.0
        if order is None or order != int(order) or order < 1:
            what = f"{feature.where}: member 'order' is {shown(feature.properties.get('order'))}"
            raise FeatureError(what, "Number them 1, 2, ... in driving order")
        if order in orders:
            what = f"{feature.where}: member 'order' is {int(order)} for the second time"
            raise FeatureError(what, "Number them 1, 2, ... in driving order")
        orders.append(order)
    return [features[i] for i in np.argsort(orders)]


def _corners_in_order(features: list[Feature]) -> list[Feature]:
    """Corners by their ``order``; a point that was added without one comes last until placed."""
    bare = [f for f in features if f.properties.get("order") is None and len(features) > 1]
    bare = [f for f in bare if f.properties.get("entry_m") is None]
    return [*_in_order([f for f in features if f not in bare]), *bare]


def _height(document: dict[str, Any], by_role: dict[str, list[Feature]]) -> float:
    """Height of the circuit: the member ``height_m``, or the median of the positions' heights."""
    stated = document.get("height_m")
    if stated is not None:
        number = isinstance(stated, int | float) and not isinstance(stated, bool)
        if not number or not LOWEST_M <= stated <= HIGHEST_M:
            what = f"member 'height_m' is {shown(stated)}"
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
    what = f"member 'direction' is {shown(value)}"
    raise FeatureError(what, "It may be 'clockwise' or 'anticlockwise', or be left out")


def _text_member(document: dict[str, Any], member: str) -> str:
    value = document.get(member)
    if value is not None and not isinstance(value, str):
        what = f"member '{member}' is {shown(value)}, not text"
        raise FeatureError(what, "Put it in quotes")
    return encodable(value or "")


def _points(feature: Feature, plane: Plane) -> Floats:
    """Positions of a line on the plane, (n, 2)."""
    places = feature.positions()
    east, north = plane.to_metres([p[1] for p in places], [p[0] for p in places])
    points = np.stack([east, north], axis=1)
    far = ~(np.hypot(east, north) < FARTHEST_M)
    if far.any():
        what = f"{feature.where}: coordinates[{np.argmax(far)}] is far from the start/finish line"
        raise FeatureError(what, "Check longitude and latitude")
    return points


def _gate(feature: Feature, plane: Plane) -> Gate:
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


def _sectors(
    features: list[Feature], line: tuple[Gate, Feature], plane: Plane, path: ReferencePath | None
) -> tuple[Gate, ...]:
    """Sector lines, each of which must be another line than those before it."""
    lines = [line]
    for number, feature in enumerate(features, start=1):
        gate = _gate(feature, plane)
        at = None if path is None else _station(path, gate, feature, f"sector line {number}")
        for other, its in lines:
            same = _ends_apart_m(gate, other) < _SAME_M
            if path is not None and at is not None:
                ahead = at - gate_station(path, other, its.where)
                same = abs(ahead - path.length_m * round(ahead / path.length_m)) < _SAME_M
            if same:
                what = f"{feature.where}: member 'coordinates' has the same line as {its.where}"
                raise FeatureError(what, "Move one of them or leave it out")
        lines.append((gate, feature))
    return tuple(gate for gate, _ in lines[1:])


def _ends_apart_m(one: Gate, other: Gate) -> float:
    """Return how far apart the ends of two lines are, whichever way round they are drawn."""
    ways = ((other.left_m, other.right_m), (other.right_m, other.left_m))
    return min(max(math.dist(one.left_m, a), math.dist(one.right_m, b)) for a, b in ways)


def _station(path: ReferencePath, gate: Gate, feature: Feature, what: str) -> float:
    """Station of a line, or an error that names its feature."""
    try:
        return gate_station(path, gate, what)
    except ValueError as error:
        problem, _, hint = str(error).partition(". ")
        what = f"{feature.where}: member 'coordinates': {problem}"
        raise FeatureError(what, hint) from error


def _length_sd_m(feature: Feature) -> float | None:
    """Return the stated standard deviation of the path's length [m]."""
    value = feature.number("length_sd_m")
    if value is not None and value < 0.0:
        what = f"{feature.where}: member 'length_sd_m' is {value:g}"
        raise FeatureError(what, "A standard deviation is 0 or more; it may be left out")
    return value


def _path(feature: Feature, plane: Plane) -> ReferencePath:
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
