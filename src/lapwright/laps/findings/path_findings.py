"""Where the path of a track file and the way the car went disagree: said, before it misleads."""

import numpy as np
import numpy.typing as npt

from lapwright.geometry import MapMatch
from lapwright.ingest.log import Finding
from lapwright.laps.track_mapping import usual_pass
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A road that so few passes of a stretch were on is not the one the session drove; of four laps of
# which three go to the pits, one is on it.
_ON_SHARE = 0.2
# Wide tracks are 15 m, and two receivers may differ by several: a usual line farther from the path
# than this is not on the same road.
_FAR_M = 20.0
# So many passes show where a session's road is.
_PASSES = 3.0
# Slower, a car is parked or pushed, and its place says nothing of the road.
_MOVING_MPS = 3.0


def path_findings(followed: MapMatch, speed_mps: Floats, length_m: float) -> tuple[Finding, ...]:
    """
    Say where the usual line is not on the path of the track file.

    Parameters
    ----------
    followed : MapMatch
        The fixes along the path, the session's own offset taken out.
    speed_mps : ndarray, shape (n,)
    length_m : float
        Of the path. [m]

    Returns
    -------
    tuple of Finding
        One, ``"path_differs"``, where there is such a stretch.
    """
    away, offset = _disagreeing(followed, speed_mps, length_m)
    stretches = _stretches(away)
    if not stretches:
        return ()
    cell_m = length_m / len(away)
    said = ", ".join(f"{a * cell_m:.0f} to {b * cell_m:.0f} m" for a, b in stretches)
    farthest = float(np.abs(offset[away]).max())
    # Where the path doubles back, the station is lost and the distance says nothing.
    how = f"up to {farthest:.0f} m off" if farthest > _FAR_M else "not on"
    message = (
        f"the car was {how} the track file's path from {said} after the start line: another "
        "layout, or wrong points in the path. Lap and sector times hold; corners and the delta "
        "there do not. Take another track file, or have the circuit found in the log"
    )
    return (Finding("path_differs", message, count=len(stretches)),)


def _disagreeing(followed: MapMatch, speed_mps: Floats, length_m: float) -> tuple[Flags, Floats]:
    """Cells of the lap where hardly a pass is near the path."""
    offset, _, cell = usual_pass(followed.station_m, followed.offset_m, speed_mps, length_m)
    passes = (followed.station_m[-1] - followed.station_m[0]) / length_m
    if passes < _PASSES:
        return np.zeros(len(offset), dtype=bool), offset
    moving = speed_mps > _MOVING_MPS
    on = moving & ~followed.lost & (np.abs(followed.offset_m) <= _FAR_M)
    # By metres driven: a car that crawls leaves more fixes.
    driven_m = np.clip(np.diff(followed.station_m, prepend=followed.station_m[0]), 0.0, 200.0)
    seen_m, on_m = (
        np.bincount(cell[which], driven_m[which], len(offset)) for which in (moving, on)
    )
    # At one fix a second some cells have none; there the usual line of their neighbours counts.
    return np.where(seen_m > 0.0, on_m < _ON_SHARE * seen_m, np.abs(offset) > _FAR_M), offset


def _stretches(away: Flags) -> list[tuple[int, int]]:
    """First and one past the last cell of each run round the lap."""
    if away.all() or not away.any():
        return [(0, len(away))] if away.all() else []
    start = int(np.flatnonzero(~away)[0])
    turned = np.roll(away, -start)
    return sorted(
        ((first + start) % len(away), (last + start) % len(away) + 1)
        for first, last in flag_runs(turned)
    )
