"""Logs and tracks of plain paths, for tests of what is found in a log."""

from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.discovery.corner_search.corners import find_corners
from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.ingest.log import Log
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)


def log_of(trace, plane: Plane = PLANE) -> Log:
    lat_deg, lon_deg = plane.to_degrees(trace.east_m, trace.north_m)
    fixes = pd.DataFrame(
        {
            "line": np.arange(len(trace.time_s)) + 2,
            "time_s": trace.time_s,
            "lat_deg": lat_deg,
            "lon_deg": lon_deg,
            "frozen": False,
        }
    )
    channels = pd.DataFrame({"line": fixes["line"], "time_s": fixes["time_s"]})
    return Log(Path("a.csv"), "csv", fixes, channels, "relative", 0.0, None, 5.0)


def track_of(path: ReferencePath, name: str, station_m: float) -> Track:
    point = path.at(station_m)
    gate = Gate.across((float(point.east_m), float(point.north_m)), float(point.heading_rad), 20.0)
    track = Track(name, PLANE, gate, path=path)
    return track.with_corners(find_corners(track.path))


def path_ends(path: ReferencePath, station_m: float, left_m: float, right_m: float):
    """Points so far to the left of a path at a station."""
    return [
        tuple(float(v[0]) for v in path.beside(np.array([station_m]), np.array([side_m])))
        for side_m in (left_m, right_m)
    ]
