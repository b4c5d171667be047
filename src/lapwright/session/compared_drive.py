"""`ComparedDrive`: a drive whose laps are held against each other, or against another drive's."""

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.corners.causes import causes
from lapwright.discovery.discover import Discovery
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.ingest.log import Log
from lapwright.kept import USUAL, CacheChoice, Shelf
from lapwright.laps.comparison import CausesAndCov, ComparedNumbers, Comparison, compared_numbers
from lapwright.notes.noted import Noted
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session.cornered_drive import CorneredDrive
from lapwright.session.passes_compared import passes_compared

T = TypeVar("T")


class ComparedDrive(CorneredDrive):
    """
    A drive in laps and corners, and comparisons of its laps.

    Parameters
    ----------
    log, track, repeat_line, notes, cache, completed
        As for `lapwright.Session`.
    """

    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        notes: LogNotes | None = None, cache: CacheChoice = USUAL, completed: Track | None = None,
    ) -> None:  # fmt: skip
        self._notes = LogNotes() if notes is None else notes
        super().__init__(
            log, track, repeat_line=repeat_line, first_lap=self._notes.first_lap, cache=cache,
            completed=completed,
        )  # fmt: skip
        self._comparisons: dict[tuple[int, int, ComparedDrive, float], Comparison] = {}
        self._causes: dict[tuple[int, int, ComparedDrive], CausesAndCov] = {}

    @checked
    def compare(
        self,
        lap: int,
        reference: int | None = None,
        other: "ComparedDrive | None" = None,
        step_m: float = 5.0,
    ) -> Comparison:
        """
        Compare a lap with a reference lap.

        Parameters
        ----------
        lap : int
        reference : int, optional
            The best lap where not given.
        other : Session, optional
            The session the reference lap is from, on the same track; this one where not given.
        step_m : float
            Spacing of the delta's stations. [m]

        Returns
        -------
        Comparison
            Asked for again, the same one.

        Raises
        ------
        LapError
            If a lap is missing or has no times, or the sessions are on different tracks.

        References
        ----------
        F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM Journal on
        Numerical Analysis 17 (1980) 238-246: the time at a station between two of a lap's own.

        Examples
        --------
        >>> comparison = session.compare(session.typical_lap)
        >>> comparison.lap, comparison.reference
        (2, 5)
        >>> f"{comparison.time_difference_s:.2f} s slower"
        '0.84 s slower'
        """
        base = self if other is None else other
        if abs(base.path.length_m - self.path.length_m) > 1e-6:
            msg = "the two sessions are on different tracks; give both the same complete track"
            raise LapError(msg)
        number = base.best_lap if reference is None else reference
        if number is None:
            msg = "no lap counts as clean, so none can be the reference; name one of them"
            raise LapError(msg)
        key = lap, number, base, step_m
        if key not in self._comparisons:
            self._comparisons[key] = self._fresh_comparison(lap, number, base, step_m)
        return self._comparisons[key]

    def _fresh_comparison(
        self, lap: int, reference: int, base: "ComparedDrive", step_m: float
    ) -> Comparison:
        noted = self._noted(), base._noted()
        base, beside = self._drive_of(base)

        def kept(name: str, make: Callable[[], T]) -> T:
            return self.shelf.get(name, make, lap, reference, step_m, beside=beside)

        def numbers() -> ComparedNumbers:
            # The earlier slowing of the two, so that swapping the laps swaps nothing but the sign.
            sides = self._side(lap), base._side(reference)
            return compared_numbers(self.track, *sides, step_m, self._slowing_beside(base))

        found = kept("compared", numbers)
        return Comparison(
            lap, reference, found.time_difference_s, found.time_difference_sd_s, found.delta,
            found.ledger, found.ledger_cov_s2, self.trace(lap), base.trace(reference), self.track,
            self._log.path, base._log.path,
            lambda: kept("compared passes", lambda: self._passes_beside(lap, base, reference)),
            lambda: self.causes_between(lap, reference, base),
            *noted,
        )  # fmt: skip

    def _drive_of(self, other: "ComparedDrive") -> "tuple[ComparedDrive, Shelf | None]":
        """The session to take the other laps from, and where its results are kept if not here."""
        if other._one_drive is self._one_drive:
            # With other notes at most: the laps are of one motion, and share its errors.
            return self, None
        return other, other.shelf

    def _noted(self) -> Noted:
        return Noted(self._notes, self._log.start_utc)

    def _passes_beside(self, lap: int, base: "ComparedDrive", reference: int) -> pd.DataFrame:
        """Put the passes of a lap and of a reference lap side by side."""
        mine = self.passes[self.passes["lap"] == lap]
        other = base.passes[base.passes["lap"] == reference]
        if self is not base:
            place_cov_m2 = self.placing.cov_m2 + base.placing.cov_m2
            return passes_compared(self.track, mine, other, place_cov_m2)
        return passes_compared(self.track, mine, other, motion=self.motion)

    def _slowing_beside(self, base: "ComparedDrive") -> list[float]:
        """Where the cars of two sessions slow: the earlier, so that swapping them is the same."""
        mine, other = self.slowing_m, base.slowing_m
        earlier = np.minimum(mine, other) if len(mine) == len(other) else mine
        return [float(station) for station in earlier]

    @checked
    def causes_between(
        self, lap: int, reference: int, other: "ComparedDrive | None" = None
    ) -> CausesAndCov:
        """
        Charge the time lost to a reference lap to what it comes from, without a whole `compare`.

        Parameters
        ----------
        lap, reference : int
        other : Session, optional
            The session the reference lap is from, on the same track; this one where not given.

        Returns
        -------
        causes : DataFrame
        cov_s2 : ndarray, shape (rows, rows)
            See `lapwright.Comparison.causes`.

        Raises
        ------
        LapError
            If a lap is missing or has no times.

        References
        ----------
        See `lapwright.laps.lost_time`.

        Examples
        --------
        >>> causes, cov_s2 = session.causes_between(session.typical_lap, session.best_lap)
        >>> causes.equals(session.compare(session.typical_lap).causes)
        True
        """
        base, beside = self._drive_of(self if other is None else other)
        key = lap, reference, base
        if key not in self._causes:

            def make() -> CausesAndCov:
                return self._fresh_causes(lap, reference, base)

            self._causes[key] = self.shelf.get("causes", make, lap, reference, beside=beside)
        return self._causes[key]

    def _fresh_causes(self, lap: int, reference: int, base: "ComparedDrive") -> CausesAndCov:
        mine = self.bare_passes[self.bare_passes["lap"] == lap]
        theirs = base.bare_passes[base.bare_passes["lap"] == reference]
        sides = self._side(lap), base._side(reference)
        return causes(self.track, *sides, mine, theirs, self._slowing_beside(base))
