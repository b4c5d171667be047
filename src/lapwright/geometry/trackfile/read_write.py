"""
Track files: GeoJSON by RFC 7946, written so that a person can edit them.

Every feature says in its property ``role`` what it is: ``start_finish``,
``sector``, ``corner``, ``path`` or ``pit_lane``.  Only the start/finish line
must be there.  What other programs add is read over in peace, and features
without a role and top-level members of theirs are written again.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapwright.arguments import checked
from lapwright.errors import TrackError
from lapwright.escaping.json_text import json_text
from lapwright.geometry.corner import Corner
from lapwright.geometry.gate import Gate
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.geometry.trackfile.lines import FeatureError, cut_at_antimeridian
from lapwright.geometry.trackfile.track_features import track_from_features
from lapwright.outputs import whole_file
from lapwright.plane import Plane

Floats = NDArray[np.float64]

# Nine decimals of a degree are a tenth of a millimetre: no error that matters, short to read.
_DECIMALS = 9
_EXTENT = ("entry_m", "apex_m", "exit_m", "radius_m")


@checked
def read_track(path: str | Path) -> Track:
    """
    Read a track file.

    Parameters
    ----------
    path : str or Path
        A GeoJSON FeatureCollection.

    Returns
    -------
    track : Track
        On a plane around the start/finish line; ``track.path`` is None where the
        file has no path.

    Raises
    ------
    TrackError
        If the file cannot be read, is not GeoJSON, or a feature is wrong; it names
        the feature and the member.

    References
    ----------
    RFC 7946, "The GeoJSON Format", 2016.

    Examples
    --------
    >>> import lapwright as lw
    >>> track = lw.read_track("sample_sessions/wren_hollow.geojson")
    >>> track.name, track.path is None  # lines only: a log fills in the rest
    ('Wren Hollow', True)
    """
    file = Path(path)
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        what = f"cannot be read ({error.strerror})"
        raise TrackError(what, file) from error
    except UnicodeDecodeError as error:
        what = "is not UTF-8 text"
        raise TrackError(what, file, hint="Save it as UTF-8") from error
    try:
        document = json.loads(text, parse_int=_whole_number)
    except json.JSONDecodeError as error:
        what = f"is not JSON ({error.msg})"
        hint = "Look for a missing comma or bracket there"
        raise TrackError(what, file, error.lineno, hint) from error
    except RecursionError as error:
        what = "is nested too deeply to be a track file"
        raise TrackError(what, file) from error
    try:
        return track_from_features(document)
    except FeatureError as error:
        raise TrackError(error.what, file, hint=error.hint) from error


def _whole_number(digits: str) -> int | float:
    """Read a whole number; one too long for any use becomes a float, which may be infinite."""
    return int(digits) if len(digits) < 16 else float(digits)


@checked
def write_track(track: Track, path: str | Path) -> None:
    """
    Write a track file, whole or not at all.

    Parameters
    ----------
    track : Track
        The circuit.
    path : str or Path
        Where to; an existing file is replaced.

    Raises
    ------
    OutputError
        If the file cannot be written.

    References
    ----------
    RFC 7946, "The GeoJSON Format", 2016.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> track = lw.read_track("sample_sessions/wren_hollow.geojson")
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder, "mine.geojson")
    ...     lw.write_track(track.renamed("Mine"), file)
    ...     lw.read_track(file).name
    'Mine'
    """
    text = track_geojson(track)
    with whole_file(Path(path)) as part:
        part.write_text(text, encoding="utf-8", newline="\n")


def track_geojson(track: Track) -> str:
    """Return the text of a track file."""
    features = [_feature(_gate_geometry(track, track.start_finish), role="start_finish")]
    for order, gate in enumerate(track.sectors, start=1):
        features.append(_feature(_gate_geometry(track, gate), role="sector", order=order))
    features += [_corner_feature(track, corner) for corner in track.corners]
    marks = track.corner_marks if track.path is None else track.marks_without_corner
    features += [
        _feature(
            {"type": "Point", "coordinates": _coordinates(track.plane, [mark.apex_m])[0]},
            role="corner",
            order=mark.order if not track.corners else len(track.corners) + k,
            name=mark.name,
        )
        for k, mark in enumerate(marks, start=1)
    ]
    if track.pit_lane is not None:
        line = _coordinates(track.plane, track.pit_lane)
        features.append(_feature(_line_geometry(line), role="pit_lane"))
    if track.path is not None:
        sd = {} if track.length_sd_m is None else {"length_sd_m": round(track.length_sd_m, 3)}
        features.append(_feature(_path_geometry(track, track.path), role="path", **sd))
    head: dict[str, Any] = {"type": "FeatureCollection", "name": track.name}
    if track.direction is not None:
        head["direction"] = track.direction
    if track.plane.height_m:
        head["height_m"] = round(track.plane.height_m, 3)
    head.update(track.other_members)
    lines = [f" {json_text(key)}: {json_text(head[key], finite=False)}," for key in head]
    texts = [_feature_text(feature) for feature in features]
    texts += ["  " + json_text(other, finite=False) for other in track.other_features]
    body = ",\n".join(texts)
    return "{\n" + "\n".join(lines) + '\n "features": [\n' + body + "\n ]\n}\n"


def _feature(geometry: dict[str, Any], **properties: object) -> dict[str, Any]:
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _feature_text(feature: dict[str, Any]) -> str:
    """One line for what a feature is and one for each position, so that both are easy to edit."""
    properties = json_text(feature["properties"])
    geometry = feature["geometry"]
    kind, places = geometry["type"], geometry["coordinates"]
    if kind == "Point":
        text = json.dumps(places)
    elif kind == "LineString":
        text = _positions_text(places)
    else:
        text = "[" + ",\n   ".join(_positions_text(part) for part in places) + "]"
    return (
        f'  {{"type": "Feature", "properties": {properties},\n'
        f'   "geometry": {{"type": "{kind}", "coordinates": {text}}}}}'
    )


def _positions_text(places: list[list[float]]) -> str:
    return "[" + ",\n    ".join(json.dumps(place) for place in places) + "]"


def _coordinates(plane: Plane, points_m: Any) -> list[list[float]]:
    """Positions as GeoJSON has them: longitude first."""
    east, north = np.asarray(points_m, dtype=np.float64).T
    lat, lon = (np.round(angle, _DECIMALS) for angle in plane.to_degrees(east, north))
    # A point on the 180 degree meridian itself would be taken for a cut when it is read again:
    # it goes a tenth of a millimetre to the side.
    lon = np.where(np.abs(lon) == 180.0, -180.0 + 10.0**-_DECIMALS, lon)
    places: list[list[float]] = np.stack([lon, lat], axis=1).tolist()
    return places


def _line_geometry(line: list[list[float]]) -> dict[str, Any]:
    parts = cut_at_antimeridian(line)
    if len(parts) == 1:
        return {"type": "LineString", "coordinates": parts[0]}
    return {"type": "MultiLineString", "coordinates": parts}


def _gate_geometry(track: Track, gate: Gate) -> dict[str, Any]:
    return _line_geometry(_coordinates(track.plane, [gate.left_m, gate.right_m]))


def _path_geometry(track: Track, path: ReferencePath) -> dict[str, Any]:
    """Vertices from the first one after the line on, closed."""
    first = int(np.argmin(path.vertex_stations_m))
    vertices = np.roll(np.stack([path.east_m, path.north_m], axis=1), -first, axis=0)
    line = _coordinates(track.plane, vertices)
    return _line_geometry([*line, line[0]])


def _corner_feature(track: Track, corner: Corner) -> dict[str, Any]:
    lat, lon = track.apex_deg(corner)
    return _feature(
        {"type": "Point", "coordinates": [round(lon, _DECIMALS), round(lat, _DECIMALS)]},
        role="corner",
        order=corner.order,
        name=corner.name,
        direction=corner.direction,
        **{key: round(getattr(corner, key), 3) for key in _EXTENT},
        **({} if corner.run_up_m is None else {"run_up_m": round(corner.run_up_m, 3)}),
    )
