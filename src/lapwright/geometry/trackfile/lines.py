"""
Lines in GeoJSON: positions checked, and cut at the 180 degree meridian or joined again.

RFC 7946 section 3.1.9 asks that a line which crosses the antimeridian be cut
in two, so that no program draws it all the way round the earth.
"""

import math
from itertools import pairwise
from typing import Any, TypeAlias

from lapwright.errors import shown

Position: TypeAlias = list[float]


class FeatureError(ValueError):
    """What is wrong in a track file, and what to do, before the file's name is put to it."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what, hint)
        self.what, self.hint = what, hint


def line_positions(geometry: Any, where: str) -> list[Position]:
    """
    Return the positions of a line, its parts joined where it was cut at the antimeridian.

    Parameters
    ----------
    geometry : object
        The geometry member of a feature: a LineString, MultiLineString or, as
        some editors close lines that way, a Polygon's outer ring.
    where : str
        How to name the feature in an error.

    Returns
    -------
    positions : list of [lon_deg, lat_deg] or [lon_deg, lat_deg, height_m]
        Two or more.

    Raises
    ------
    FeatureError
        If the geometry is another one, or a position is wrong.
    """
    kind, places = _kind_and_coordinates(geometry, where)
    parts: list[Any]
    if kind == "LineString":
        parts = [places]
    elif kind == "MultiLineString":
        parts = places
    elif kind == "Polygon":
        parts = places[:1]
    else:
        what = f"{where}: member 'geometry' is a {kind}, not a LineString"
        raise FeatureError(what, "Draw it as a line")
    joined: list[Position] = []
    for part in parts:
        if not isinstance(part, list):
            what = f"{where}: member 'coordinates' holds {shown(part)}, not a list of positions"
            raise FeatureError(what)
        checked = [
            _position(place, f"{where}: coordinates[{number}]") for number, place in enumerate(part)
        ]
        if joined and checked and _is_cut(joined[-1], checked[0]):
            # Neither side of the cut is a point that anybody chose.
            joined.pop()
            checked = checked[1:]
        joined += checked
    if len(joined) < 2:
        what = f"{where}: member 'coordinates' has {len(joined)} positions"
        raise FeatureError(what, "A line needs two or more")
    return joined


def point_position(geometry: Any, where: str) -> Position:
    """Return the position of a Point, or raise a FeatureError that names the feature."""
    kind, place = _kind_and_coordinates(geometry, where)
    if kind != "Point":
        what = f"{where}: member 'geometry' is a {kind}, not a Point"
        raise FeatureError(what, "Put one point at the apex")
    return _position(place, f"{where}: coordinates")


def cut_at_antimeridian(line: list[Position]) -> list[list[Position]]:
    """
    Cut a line where it crosses the 180 degree meridian, as RFC 7946 section 3.1.9 asks.

    Parameters
    ----------
    line : list of [lon_deg, lat_deg]
        A step of more than 180 degrees of longitude is taken as one across the meridian.

    Returns
    -------
    parts : list of lines
        The line itself where it does not cross.
    """
    parts: list[list[Position]] = [[line[0]]]
    for before, after in pairwise(line):
        step = after[0] - before[0]
        if abs(step) > 180.0:
            edge = math.copysign(180.0, before[0])
            whole = 360.0 - abs(step)
            share = abs(edge - before[0]) / whole
            # A tenth of a millimetre is as fine as positions are written.
            lat = round(before[1] + share * (after[1] - before[1]), 9)
            # A point on the meridian itself is the cut; it needs no second one.
            if abs(before[0]) != 180.0:
                parts[-1].append([edge, lat])
            elif len(parts[-1]) == 1:
                parts.pop()
            parts.append([[-edge, lat]] if abs(after[0]) != 180.0 else [])
        parts[-1].append(after)
    return [part for part in parts if len(part) > 1]


def _is_cut(end: Position, begin: Position) -> bool:
    """Tell whether two positions are the same point on either side of the antimeridian."""
    return abs(end[0]) == 180.0 and begin[0] == -end[0] and abs(end[1] - begin[1]) < 1e-9


def _kind_and_coordinates(geometry: Any, where: str) -> tuple[str, Any]:
    if not isinstance(geometry, dict):
        what = f"{where}: member 'geometry' is missing"
        raise FeatureError(what)
    places = geometry.get("coordinates")
    if not isinstance(places, list) or not places:
        what = f"{where}: member 'coordinates' is missing or empty"
        raise FeatureError(what)
    return str(geometry.get("type")), places


def _position(place: Any, where: str) -> Position:
    """Check one position: [longitude, latitude] and perhaps a height."""
    numbers = isinstance(place, list) and all(
        isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        for value in place
    )
    if not numbers or len(place) < 2:
        what = f"{where} is {shown(place)}, not [longitude, latitude]"
        raise FeatureError(what)
    lon, lat = float(place[0]), float(place[1])
    if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):
        what = f"{where} has longitude {lon} and latitude {lat}"
        raise FeatureError(what, "GeoJSON puts longitude first")
    return [lon, lat, *(float(value) for value in place[2:3])]
