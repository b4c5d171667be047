"""
A lap cut into one part for each corner, at the same places in every session.

From half way between two corners to half way to the next, so that the parts add up to the lap and
nothing about a lap decides where it is cut.  What a corner's exit gains on a long straight is
shared with the next corner.
"""

from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Track
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]


class _Session(Protocol):
    """What is needed of a session."""

    @property
    def track(self) -> Track: ...
    @property
    def clean_laps(self) -> list[int]: ...
    def trace(self, lap: int) -> LapTrace: ...


def corner_parts(session: _Session) -> pd.DataFrame | None:
    """
    Time the parts of every clean lap.

    Parameters
    ----------
    session : Session

    Returns
    -------
    DataFrame or None
        One row for each clean lap (index ``lap``), one column for each corner's number. [s]
        None where the track has fewer than two corners.
    """
    cuts = part_ends_m(session.track)
    if cuts is None:
        return None
    rows = [np.diff(session.trace(lap).time_at(cuts)) for lap in session.clean_laps]
    return pd.DataFrame(
        np.array(rows).reshape(-1, len(cuts) - 1),
        index=pd.Index(session.clean_laps, name="lap", dtype=np.int64),
        columns=[corner.order for corner in session.track.corners],
    )


def part_ends_m(track: Track) -> Floats | None:
    """
    Where the parts begin and end, after the start line.

    Parameters
    ----------
    track : Track

    Returns
    -------
    ndarray, shape (corners + 1,), or None
        None where the track has no path, or fewer than two corners. [m]
    """
    corners = track.corners
    if track.path is None or len(corners) < 2:
        return None
    ends = np.array([corner.exit_m for corner in corners[:-1]])
    begins = np.array([corner.entry_m for corner in corners[1:]])
    return np.array([0.0, *(0.5 * (ends + begins)), track.length_m])
