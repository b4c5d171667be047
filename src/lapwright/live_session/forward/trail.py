"""The last laps' fixes on the circuit, so that a lap is judged as in the lap table."""

import numpy as np
import numpy.typing as npt

from lapwright.geometry.path import ReferencePath
from lapwright.laps.track_mapping import TrackMapping

Floats = npt.NDArray[np.float64]

# Time, east, north, speed, station, offset, lost.
_COLUMNS = 7
# Half an hour at 20 fixes a second; older ones are let go of.
_MOST = 36_000


class Trail:
    """
    Fixes on the circuit, newest last, in bounded memory.

    Parameters
    ----------
    path : ReferencePath
    """

    def __init__(self, path: ReferencePath) -> None:
        self._path = path
        self._rows = np.empty((1024, _COLUMNS))
        self._first = 0
        self._end = 0

    def add(
        self, time_s: float, position_m: Floats, speed_mps: float, station_m: float,
        offset_m: float, *, lost: bool,
    ) -> None:  # fmt: skip
        """Add the newest fix."""
        if self._end == len(self._rows):
            self._make_room()
        self._rows[self._end] = (time_s, *position_m, speed_mps, station_m, offset_m, lost)
        self._end += 1

    def forget_before(self, time_s: float) -> None:
        """Let go of what is older."""
        times = self._rows[self._first : self._end, 0]
        self._first += int(np.searchsorted(times, time_s))

    def since(self, start_s: float, end_s: float) -> Floats:
        """Rows from one time to another, shape (n, 7)."""
        rows = self._rows[self._first : self._end]
        first, last = np.searchsorted(rows[:, 0], [start_s, end_s])
        return rows[int(first) : int(last) + 1]

    def mapped(self, start_s: float, end_s: float, usual: Floats | None) -> TrackMapping | None:
        """
        Return a stretch as the lap table's rules take it.

        Parameters
        ----------
        start_s, end_s : float
        usual : ndarray, shape (3, k), or None
            Station, offset and speed of the usual line; the path itself where there is none yet.

        Returns
        -------
        TrackMapping or None
            None where there is next to nothing.
        """
        rows = self.since(start_s, end_s)
        rows = rows[np.isfinite(rows[:, 4])]
        if len(rows) < 3:
            return None
        station, offset, speed = rows[:, 4], rows[:, 5], rows[:, 3]
        aside, slowness = offset, np.ones(len(rows))
        if usual is not None:
            at = np.mod(station, self._path.length_m)
            aside = offset - np.interp(at, usual[0], usual[1])
            slowness = speed / np.maximum(np.interp(at, usual[0], usual[2]), 1.0)
        return TrackMapping(
            self._path, rows[:, 0], rows[:, 1:3], speed, station, offset, aside, slowness,
            rows[:, 6] > 0.0,
        )  # fmt: skip

    def _make_room(self) -> None:
        kept = self._rows[max(self._first, self._end - _MOST) : self._end].copy()
        # As much again, so that this is seldom done.
        self._rows = np.empty((max(1024, 2 * len(kept)), _COLUMNS))
        self._rows[: len(kept)] = kept
        self._first, self._end = 0, len(kept)
