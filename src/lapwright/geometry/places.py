"""Places given as latitude and longitude, put on a track's plane."""

import numpy as np
from numpy.typing import NDArray

from lapwright.plane import Plane

Floats = NDArray[np.float64]
LatLon = tuple[float, float]

# A circuit is at most some tens of kilometres across. [m]
FARTHEST_M = 50_000.0


def near_point_m(plane: Plane, point_deg: LatLon) -> tuple[float, float]:
    """
    Return a place on a plane, which must be somewhere near the plane's origin.

    Parameters
    ----------
    plane : Plane
    point_deg : (float, float)
        Latitude and longitude. [deg]

    Returns
    -------
    (float, float)
        East and north. [m]

    Raises
    ------
    ValueError
        If it is no pair of numbers, or farther away than any circuit is large; it says whether
        the two are swapped.
    """
    try:
        lat, lon = (float(x) for x in point_deg)
    except (TypeError, ValueError):
        msg = f"a place is a pair (latitude, longitude) in degrees, not {point_deg!r}"
        raise ValueError(msg) from None
    if _is_near(plane, lat, lon):
        return plane.point_m((lat, lon))
    msg = f"latitude {lat} and longitude {lon} are not near the track"
    swapped = "; they look swapped: latitude comes first" if _is_near(plane, lon, lat) else ""
    raise ValueError(msg + swapped)


def _is_near(plane: Plane, lat_deg: float, lon_deg: float) -> bool:
    if not (abs(lat_deg) <= 90.0 and abs(lon_deg) <= 360.0):
        return False
    return bool(np.hypot(*plane.point_m((lat_deg, lon_deg))) < FARTHEST_M)


def convergence_rad(plane: Plane, point_m: tuple[float, float]) -> float:
    """Angle from a plane's north to true north, anticlockwise; up to a millirad [rad]."""
    lat, lon = plane.point_deg(point_m)
    east, north = plane.point_m((lat + 1e-4, lon))
    return float(-np.arctan2(east - point_m[0], north - point_m[1]))


def line_of_points(points_m: Floats, what: str) -> Floats:
    """
    Return a line as a read-only array, shape (n, 2) [m].

    Raises
    ------
    ValueError
        If it is not two or more points.
    """
    line = np.array(points_m, dtype=np.float64)
    if line.ndim != 2 or line.shape[1] != 2 or len(line) < 2:
        msg = f"{what} needs two or more (east, north) points, not {line.shape}"
        raise ValueError(msg)
    line.setflags(write=False)
    return line
