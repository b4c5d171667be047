"""
Where a session lies on its track: two days can differ by metres.

A receiver's error of a whole session is nearly a constant, and so was that of the day the track's
path was made.  The distance of the usual line from the path, over all headings of a lap, shows the
constant difference; what is left of it is unsure and is carried into comparisons between sessions.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Track
from lapwright.ingest.fixes_on_plane import fixes_on_plane
from lapwright.ingest.log import Log
from lapwright.laps.track_mapping import map_positions, usual_pass
from lapwright.plane import Plane

Floats = npt.NDArray[np.float64]

# Before looking, a session's place is known to this, on each axis: two receivers' drifts.
PRIOR_SD_M = 2.5
# Two drivers' usual lines differ smoothly: over such a length they count as one difference.
_INDEPENDENT_M = 120.0
# Farther from the path than a track is wide is off it, or in the pits.
_FAR_M = 12.0


@dataclass(frozen=True, eq=False)
class SessionOffset:
    """
    Constant offset of a session from its track.

    Attributes
    ----------
    offset_m : ndarray, shape (2,)
        East and north, session minus track.
    cov_m2 : ndarray, shape (2, 2)
        What is left unsure.
    """

    offset_m: Floats
    cov_m2: Floats


def rough_motion(log: Log, plane: Plane) -> tuple[Floats, Floats, Floats]:
    """Times, positions on a plane, shape (n, 2), and rough speeds of the fixes as logged."""
    fixes = log.fixes
    position = np.stack(fixes_on_plane(log, plane), axis=-1)
    time = fixes["time_s"].to_numpy(dtype=np.float64)
    if "speed_mps" in fixes and fixes["speed_mps"].notna().mean() > 0.9:
        return time, position, np.nan_to_num(fixes["speed_mps"].to_numpy(dtype=np.float64))
    return time, position, np.linalg.norm(np.gradient(position, time, axis=0), axis=1)


def estimate_session_offset(
    track: Track, time_s: Floats, position_m: Floats, speed_mps: Floats
) -> SessionOffset:
    """
    Estimate a session's constant offset from its track.

    Parameters
    ----------
    track : Track
        With a path from elsewhere.
    time_s : ndarray, shape (n,)
    position_m : ndarray, shape (n, 2)
        On the track's plane.
    speed_mps : ndarray, shape (n,)

    Returns
    -------
    SessionOffset
        The prior where the session hardly touches the track.
    """
    prior = np.eye(2) * PRIOR_SD_M**2
    path = track.path
    if path is None:
        return SessionOffset(np.zeros(2), prior)
    followed = map_positions(path, time_s, position_m, None)
    offset, _, cell = usual_pass(followed.station_m, followed.offset_m, speed_mps, path.length_m)
    seen = np.zeros(len(offset), dtype=bool)
    moving = (speed_mps > 3.0) & ~followed.lost & (np.abs(followed.offset_m) < _FAR_M)
    seen[np.unique(cell[moving])] = True
    if seen.sum() < 8:
        return SessionOffset(np.zeros(2), prior)
    cell_m = path.length_m / len(offset)
    heading = path.at((np.flatnonzero(seen) + 0.5) * cell_m).heading_rad
    left = np.stack([-np.sin(heading), np.cos(heading)], axis=-1)
    return _fit(left, offset[seen], cell_m, prior)


def _fit(left: Floats, offset: Floats, cell_m: float, prior: Floats) -> SessionOffset:
    """Robust regression of offsets on the direction they are measured in, with the prior."""
    weight = np.ones(len(offset))
    each = max(1.0, _INDEPENDENT_M / cell_m)
    known = np.linalg.inv(prior)
    spread = float(np.sqrt(np.mean(offset**2))) + 0.05
    for _ in range(10):
        precision = weight / (each * spread**2)
        inner = known + (left * precision[:, None]).T @ left
        at = np.linalg.solve(inner, left.T @ (precision * offset))
        residual = offset - left @ at
        spread = float(np.sqrt(np.average(residual**2, weights=weight))) + 0.05
        weight = 1.0 / np.maximum(1.0, np.abs(residual) / (2.0 * spread)) ** 2
    return SessionOffset(np.asarray(at), np.asarray(np.linalg.inv(inner)))


def placed(track: Track, placing: SessionOffset) -> Track:
    """Return the track moved to where the session's receiver saw it, its metres unchanged."""
    east, north = placing.offset_m
    lat, lon = track.plane.to_degrees(np.array([east]), np.array([north]))
    plane = Plane(float(lat[0]), float(lon[0]), track.plane.height_m)
    return replace(track, plane=plane)
