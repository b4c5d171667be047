"""
Positions further from the rest than any car drives in a session: a digit lost, a sign turned.

Nearer ones are left to the findings on spikes and impossible speeds, which keep them.
"""

from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.invariants import MAX_EXTENT_M
from lapwright.ingest.log import Finding
from lapwright.ingest.oddities import METRES_PER_DEGREE, rough_metres
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import Bools, Floats

# Fewer than this share near each other: the columns are no positions.
_MIN_SHARE = 0.1
_SHRINK, _MAX_TRIES = 0.8, 20


def without_far_places(
    recording: Recording, usable: Bools, path: Path, notes: list[Finding]
) -> Bools:
    """
    Leave out fixes that are far from the rest.

    Parameters
    ----------
    recording : Recording
    usable : ndarray of bool, shape (n,)
        Which records are fixes.
    path : Path
    notes : list of Finding
        One is added for what is left out.

    Returns
    -------
    usable : ndarray of bool, shape (n,)

    Raises
    ------
    LogError
        If the positions are scattered over the globe.
    """
    row = np.flatnonzero(usable)
    if len(row) < 2:
        return usable
    lat_deg, lon_deg = recording.lat_deg[row], recording.lon_deg[row]
    if max(np.ptp(lat_deg), np.ptp(lon_deg)) * METRES_PER_DEGREE <= MAX_EXTENT_M:
        return usable
    place_m = rough_metres(lat_deg, lon_deg)
    if np.ptp(place_m, axis=0).max() <= MAX_EXTENT_M:
        return usable
    near = _near_the_most(lat_deg, lon_deg)
    if near.sum() < max(2, _MIN_SHARE * len(row)):
        few = f"only {near.sum()} lie" if near.sum() > 1 else "almost no two lie"
        what = (
            f"the positions of its {len(row)} fixes are scattered: {few} within "
            f"{MAX_EXTENT_M / 1000:.0f} km of each other"
        )
        hint = "Name the columns of latitude and longitude, and their unit, in a column map"
        raise LogError(what, path, int(recording.line[0]), hint)
    text = (
        f"positions more than {MAX_EXTENT_M / 2000:.0f} km from the rest; left out. Look at the "
        "latitude and longitude in these lines"
    )
    notes.append(finding("far_position", text, recording.line[row[~near]]))
    left = usable.copy()
    left[row[~near]] = False
    return left


def _near_the_most(lat_deg: Floats, lon_deg: Floats) -> Bools:
    """Tell the fixes around the degree of latitude and longitude in which most of them lie."""
    cell = (np.floor(lat_deg) + 90) * 360 + np.floor(lon_deg) + 180
    cells, count = np.unique(cell, return_counts=True)
    most = cell == cells[np.argmax(count)]
    lat0, lon0 = float(np.median(lat_deg[most])), float(np.median(lon_deg[most]))
    north_m = np.abs(lat_deg - lat0) * METRES_PER_DEGREE
    across = METRES_PER_DEGREE * np.cos(np.radians(lat0))
    east_m = np.abs((lon_deg - lon0 + 180.0) % 360.0 - 180.0) * across
    reach_m = MAX_EXTENT_M / 2
    for _ in range(_MAX_TRIES):
        near = (north_m <= reach_m) & (east_m <= reach_m)
        # The metres of a degree change with the latitude, near the poles by much.
        if np.ptp(rough_metres(lat_deg[near], lon_deg[near]), axis=0).max() <= MAX_EXTENT_M:
            break
        reach_m *= _SHRINK
    return np.asarray(near, np.bool_)
