"""
`LappedDrive`: a drive cut into laps, and each lap along the track.

The middle of a `lapwright.Session`, between how the car moved and what the corners say of it.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import checked
from lapwright.discovery.discover import Discovery
from lapwright.discovery.library.line_use import check_line_driven
from lapwright.errors import LapError, LogError
from lapwright.geometry import Track
from lapwright.ingest.log import Log
from lapwright.kept import USUAL, CacheChoice, kept_property
from lapwright.laps.clean_laps import best_lap, theoretical_best
from lapwright.laps.comparison import Side, delta_sds
from lapwright.laps.gap_to_best import gaps_to_best
from lapwright.laps.lap_table import lap_table
from lapwright.laps.lap_trace import LapTrace, lap_trace
from lapwright.laps.slowing import usual_slowing
from lapwright.session.drive import Drive
from lapwright.session.typical_lap import typical_lap

Floats = npt.NDArray[np.float64]


class LappedDrive(Drive):
    """
    One log on one track, cut into laps.

    Parameters
    ----------
    log, track, repeat_line, first_lap, cache, completed
        As for `Drive`.
    """

    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        first_lap: int | None = None, cache: CacheChoice = USUAL,
        completed: Track | None = None,
    ) -> None:  # fmt: skip
        super().__init__(
            log, track, repeat_line=repeat_line, first_lap=first_lap, cache=cache,
            completed=completed,
        )  # fmt: skip
        self._traces: dict[int, LapTrace] = {}
        self._delta_sds: dict[tuple[int, ...], tuple[Floats, Floats]] = {}

    @kept_property
    def laps(self) -> pd.DataFrame:
        """
        One row a lap; see `lapwright.laps.lap_table`.

        Raises
        ------
        LogError
            If not even a part of a lap is in the log.
        TrackError
            If the log passes the start/finish line by, or only crosses it the other way.

        Examples
        --------
        >>> session.laps[["lap", "kind"]].head(3).to_dict("list")
        {'lap': [0, 1, 2], 'kind': ['out', 'timed', 'timed']}
        >>> best = session.row(session.best_lap)
        >>> f"{best['time_s']:.2f} s", bool(best["time_sd_s"] > 0.0)
        ('94.39 s', True)
        """
        table = lap_table(self.track, self.motion, self.mapped, self.cuts)
        timed = table.loc[table["kind"] == "timed", "lap"]
        if timed.empty:
            # A line that is passed by, or driven the other way, is not to be taken for no laps.
            check_line_driven(self.track, self.log)
        if table.empty:
            what = "the car stayed in the pit lane, so there is no lap in the log"
            raise LogError(what, self.log.path, hint="Give the log of a session on the circuit")
        first = self._first_lap
        if first is None or timed.empty:
            return table
        return table.assign(lap=table["lap"] + first - int(timed.iloc[0]))

    @property
    def best_lap(self) -> int | None:
        """
        Number of the fastest lap that counts, or None.

        Examples
        --------
        >>> session.best_lap
        5
        """
        return best_lap(self.laps)

    @property
    def typical_lap(self) -> int | None:
        """
        Number of the clean lap that shows how the driver usually went, or None.

        The one, other than the best, whose time is nearest the median of the others'.

        Examples
        --------
        >>> session.typical_lap
        2
        """
        return typical_lap(self.laps, self.best_lap)

    @kept_property
    def gaps(self) -> pd.DataFrame:
        """
        ``gap_s`` and ``gap_sd_s`` of every lap to the best one, with the index of the laps.

        Examples
        --------
        >>> gaps = session.gaps.set_index(session.laps["lap"])
        >>> float(gaps.loc[session.best_lap, "gap_s"])
        0.0
        """
        return gaps_to_best(self.laps, self.cuts, self.best_lap)

    @property
    def timed_laps(self) -> list[int]:
        """
        Numbers of the timed laps that go from line to line.

        Examples
        --------
        >>> session.timed_laps
        [1, 2, 3, 4, 5]
        """
        timed = (self.laps["kind"] == "timed") & self.laps["time_s"].notna()
        return [int(n) for n in self.laps.loc[timed, "lap"]]

    @property
    def clean_laps(self) -> list[int]:
        """
        Numbers of the clean laps.

        Examples
        --------
        >>> set(session.clean_laps) <= set(session.timed_laps)
        True
        """
        return [int(n) for n in self.laps.loc[self.laps["representative"], "lap"]]

    @kept_property
    def slowing_m(self) -> Floats:
        """
        Station from which the car usually slows for each corner, shape (corners,) [m].

        Raises
        ------
        LogError, TrackError
            As for `laps`.

        Examples
        --------
        >>> entries = [corner.entry_m for corner in session.track.corners]
        >>> bool((session.slowing_m <= entries).all())
        True
        """
        laps = self.clean_laps or self.timed_laps
        return usual_slowing(self.track, [self.trace(n) for n in laps])

    @kept_property
    def theoretical_best(self) -> tuple[float, float] | None:
        """
        Sum of the best sectors of clean laps and its sd [s], or None; nobody drove it.

        Examples
        --------
        >>> time_s, sd_s = session.theoretical_best
        >>> bool(time_s <= session.row(session.best_lap)["time_s"])
        True
        """
        return theoretical_best(self.laps, self.cuts)

    @checked
    def row(self, lap: int) -> pd.Series:
        """
        One row of the lap table.

        Parameters
        ----------
        lap : int

        Returns
        -------
        Series

        Raises
        ------
        LapError
            If there is no such lap.

        Examples
        --------
        >>> session.row(session.best_lap)["kind"]
        'timed'
        """
        rows = self.laps[self.laps["lap"] == lap]
        if rows.empty:
            there = ", ".join(str(n) for n in self.laps["lap"])
            msg = f"there is no lap {lap}; the laps are {there}"
            raise LapError(msg)
        return rows.iloc[0]

    @checked
    def trace(self, lap: int) -> LapTrace:
        """
        One lap along the reference path.

        Parameters
        ----------
        lap : int

        Returns
        -------
        LapTrace

        Raises
        ------
        LapError
            If there is no such lap, or a line is missing at either end of it.

        References
        ----------
        F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM Journal on
        Numerical Analysis 17 (1980) 238-246: the time at a station.

        Examples
        --------
        >>> trace = session.trace(session.best_lap)
        >>> first_km_s = trace.time_at(1000.0) - trace.time_at(0.0)
        >>> f"{float(first_km_s[0]):.1f} s"
        '28.2 s'
        """
        if lap not in self._traces:
            self._traces[lap] = self.shelf.get("trace", lambda: self._fresh_trace(lap), lap)
        return self._traces[lap]

    def _fresh_trace(self, lap: int) -> LapTrace:
        row = self.row(lap)
        if not np.isfinite(row["time_s"]):
            msg = f"lap {lap} is not a full lap, so there is nothing to compare"
            raise LapError(msg)
        i = int(np.argmin(np.abs(self.cuts.passages["time_s"] - row["start_s"])))
        marks = [(row["start_s"], 0.0)]
        marks += list(zip(self.cuts.sectors[i], self.track.gate_stations_m[1:], strict=True))
        marks.append((row["end_s"], self.track.length_m))
        return lap_trace(self.track, self.motion, self.mapped, lap, marks)

    @checked
    def delta_sds(self, laps: list[int]) -> tuple[Floats, Floats]:
        """
        Error bars of the deltas of several laps to the best lap, quicker than a `compare` each.

        Parameters
        ----------
        laps : list of int

        Returns
        -------
        station_m : ndarray, shape (k,)
        sd_s : ndarray, shape (laps, k)
            At the line they are those of the gaps between the lap times; zero without a best lap.

        Raises
        ------
        LapError
            If there is no such lap, or a line is missing at either end of it.

        Examples
        --------
        >>> station_m, sd_s = session.delta_sds([session.typical_lap])
        >>> sd_s.shape == (1, len(station_m))
        True
        """
        if tuple(laps) not in self._delta_sds:
            self._delta_sds[tuple(laps)] = self.shelf.get(
                "delta_sds", lambda: self._fresh_delta_sds(laps), tuple(laps)
            )
        return self._delta_sds[tuple(laps)]

    def _fresh_delta_sds(self, laps: list[int]) -> tuple[Floats, Floats]:
        best = self.best_lap
        if best is None:
            return np.array([0.0, self.track.length_m]), np.zeros((len(laps), 2))
        station, sd = delta_sds(self.track, [self._side(n) for n in laps], self._side(best))
        gap = self.gaps.set_index(self.laps["lap"])["gap_sd_s"]
        known = np.array([float(gap[n]) for n in laps])
        return station, sd * (known / np.where(sd[:, -1] > 0.0, sd[:, -1], 1.0))[:, None]

    def _side(self, lap: int) -> Side:
        return Side(self.trace(lap), self.motion, self.placing.cov_m2, self.log.path)
