"""
`Drive`: one log on one track as one movement, not yet cut into laps.

The lower half of a `lapwright.Session`: where the track is, how the car moved along it, when it
crossed its lines.
"""

from dataclasses import replace
from functools import cached_property
from pathlib import Path

import numpy as np

from lapwright.discovery.discover import Discovery, discover_track
from lapwright.discovery.loop.reference import complete_track
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.geometry.path import ReferencePath
from lapwright.ingest.log import Finding, Log
from lapwright.kept import USUAL, CacheChoice, Shelf, kept_property, store_of
from lapwright.laps.cutting.cuts import Cuts, find_cuts
from lapwright.laps.findings.path_findings import path_findings
from lapwright.laps.findings.receiver_findings import receiver_findings
from lapwright.laps.findings.receiver_noise import ReceiverNoise, receiver_noise
from lapwright.laps.repeated_line import DriverNoise, repeats_for_noise, with_road
from lapwright.laps.session_offset import (
    SessionOffset,
    estimate_session_offset,
    placed,
    rough_motion,
)
from lapwright.laps.track_mapping import TrackMapping, map_motion, map_positions
from lapwright.motion import Motion, RepeatedMeasures, estimate_motion


class Drive:
    """
    One log on one track.

    Parameters
    ----------
    log, track, repeat_line, cache, completed
        As for `lapwright.Session`.
    first_lap : int, optional
        Number of the first timed lap on an official sheet.
    """

    def __init__(
        self, log: Log, track: Track | Discovery | None = None, *, repeat_line: bool = True,
        first_lap: int | None = None, cache: CacheChoice = USUAL,
        completed: Track | None = None,
    ) -> None:  # fmt: skip
        self._log = log
        self._given_track = track.track if isinstance(track, Discovery) else track
        self._repeat_line = repeat_line
        self._completed = completed
        self._first_lap = first_lap
        # Shared by the copies of a session that have other notes: their laps are of one drive.
        self._one_drive = object()
        # By content: a log that was copied or renamed is still the same log.
        nameless = replace(log, path=Path())
        self._shelf = Shelf(
            store_of(cache), nameless, self._given_track, self._repeat_line, self._first_lap
        )

    @property
    def shelf(self) -> Shelf:
        """
        Where the results are kept, see `lapwright.kept`.

        Examples
        --------
        >>> lw.Session(session.log, cache=None).shelf.store is None
        True
        """
        return self._shelf

    @property
    def log(self) -> Log:
        """
        The log, as read.

        Examples
        --------
        >>> session.log.path.name
        'saturday_qualifying.gpx'
        """
        return self._log

    @property
    def repeat_line(self) -> bool:
        """
        Whether the repeated line may be used as a sensor.

        Examples
        --------
        >>> session.repeat_line
        True
        """
        return self._repeat_line

    @cached_property
    def track(self) -> Track:
        """
        The track, complete: path, corners, lines, where this session's receiver saw it.

        Raises
        ------
        TrackError
            If no circuit is found in the log, or the log does not fit the given one.

        Examples
        --------
        >>> f"{session.track.length_m:.0f} m", len(session.track.corners)
        ('3108 m', 10)
        """
        given = self._given_track
        if given is None or given.path is None:
            return self.shared_track
        return self._placed_track

    @kept_property
    def _placed_track(self) -> Track:
        return placed(self.shared_track, self.placing)

    @kept_property
    def discovery(self) -> Discovery | None:
        """
        How the track was found in the log; None where one was given.

        Raises
        ------
        TrackError
            If there is no circuit in the log.

        Examples
        --------
        >>> session.discovery is None  # the track file was there
        True
        """
        return discover_track(self.log) if self._given_track is None else None

    @kept_property
    def shared_track(self) -> Track:
        """
        The complete track as other sessions can be given it, to compare laps with these.

        Raises
        ------
        TrackError
            If no circuit is found in the log, or the log does not fit the given one.

        Examples
        --------
        >>> name = "sample_sessions/saturday_practice.csv"
        >>> practice = lw.open_session(name, track=session.shared_track)
        >>> practice.track.length_m == session.track.length_m
        True
        """
        if self.discovery is not None:
            return self.discovery.track
        assert self._given_track is not None
        if self._completed is not None:
            return self._completed
        return complete_track(self._given_track, self.log)

    @kept_property
    def placing(self) -> SessionOffset:
        """
        Constant offset of the session from its track; none where the track is its own.

        Examples
        --------
        >>> session.placing.offset_m  # the path is from this log
        array([0., 0.])
        """
        track = self._given_track
        if track is None or track.path is None:
            return SessionOffset(np.zeros(2), np.zeros((2, 2)))
        return estimate_session_offset(track, *rough_motion(self.log, track.plane))

    @property
    def path(self) -> ReferencePath:
        """
        The track's reference path, from the start/finish line.

        Raises
        ------
        LapError
            If the track has no path.

        Examples
        --------
        >>> session.path.direction
        'clockwise'
        """
        path = self.track.path
        if path is None:
            msg = "the track has no path"
            raise LapError(msg)
        return path

    @cached_property
    def _repeats(self) -> RepeatedMeasures | None:
        return repeats_for_noise(self.path, *rough_motion(self.log, self.track.plane))

    @cached_property
    def motion_without_road(self) -> Motion:
        """
        The motion from the receiver alone.

        References
        ----------
        See `Session.motion`.

        Examples
        --------
        >>> alone = session.motion_without_road
        >>> alone.at_fixes.position_m.shape == session.motion.at_fixes.position_m.shape
        True
        """
        return estimate_motion(self.log, self.track.plane, lambda: self._repeats, self.shelf.get)

    @kept_property
    def findings(self) -> tuple[Finding, ...]:
        """
        What is odd: the log's own findings, and what the motion showed of receiver and track.

        Examples
        --------
        >>> {finding.code for finding in session.findings} >= {f.code for f in session.log.findings}
        True
        """
        return (
            *self.log.findings, *receiver_findings(self.motion_without_road), *self._path_findings
        )  # fmt: skip

    @property
    def _path_findings(self) -> tuple[Finding, ...]:
        """Where a path from elsewhere is not where the car went."""
        if self._given_track is None or self._given_track.path is None:
            return ()
        time, position, speed = rough_motion(self.log, self.track.plane)
        followed = map_positions(self.path, time, position, None)
        return path_findings(followed, speed, self.path.length_m)

    @cached_property
    def _with_road(self) -> tuple[Motion, DriverNoise | None]:
        if not self._repeat_line:
            return self.motion_without_road, None
        return with_road(self.path, self.motion_without_road, self.shelf.get)

    @property
    def motion(self) -> Motion:
        """
        How the car moved.

        References
        ----------
        1. R. A. Singer, "Estimating optimal tracking filter performance for manned maneuvering
           targets", IEEE Transactions on Aerospace and Electronic Systems AES-6 (1970) 473-483: how
           a car may move.
        2. H. E. Rauch, F. Tung and C. T. Striebel, "Maximum likelihood estimates of linear dynamic
           systems", AIAA Journal 3 (1965) 1445-1450: the smoother.
        3. S. Sarkka and A. F. Garcia-Fernandez, "Temporal Parallelization of Bayesian Smoothers",
           IEEE Transactions on Automatic Control 66 (2021) 299-306, doi:10.1109/TAC.2020.2976316:
           the same for all fixes at once.
        4. P. J. Huber and E. M. Ronchetti, "Robust Statistics", 2nd ed., Wiley, 2009, ch. 7: a wild
           fix has less say.

        Examples
        --------
        >>> state = session.motion.at([300.0])
        >>> f"{3.6 * float(state.speed_mps[0]):.0f} km/h"
        '87 km/h'
        """
        return self._with_road[0]

    @kept_property
    def driver_noise(self) -> DriverNoise | None:
        """
        How the driver's line varies; None where the road was not used as a sensor.

        Examples
        --------
        >>> bool(session.driver_noise.spread_m > 0.0)
        True
        """
        return self._with_road[1]

    @cached_property
    def mapped(self) -> TrackMapping:
        """
        Station and offset of every fix.

        Raises
        ------
        TrackError
            As `track`.

        References
        ----------
        A. J. Viterbi, "Error bounds for convolutional codes and an asymptotically optimum decoding
        algorithm", IEEE Trans. Inf. Theory 13 (1967), doi:10.1109/TIT.1967.1054010: which leg of a
        hairpin a fix belongs to follows from all of them.

        Examples
        --------
        >>> type(session.mapped).__name__
        'TrackMapping'
        """
        return map_motion(self.track, self.motion)

    @kept_property
    def cuts(self) -> Cuts:
        """
        Passages of the lines and their joint posterior.

        Examples
        --------
        >>> len(session.cuts.passages) > len(session.timed_laps)
        True
        """
        return find_cuts(self.track, self.motion, self.mapped)

    @kept_property
    def noise(self) -> ReceiverNoise:
        """
        What the receiver's noise was found to be; None for what does not apply.

        References
        ----------
        1. E. Veach and L. J. Guibas, "Optimally combining sampling techniques for Monte Carlo
           rendering", SIGGRAPH 1995, 419-428: all levels the log allows are weighed, not one alone.
        2. "Sensors" 20 (2020) 6050: errors of stationary receivers drift.

        Examples
        --------
        >>> session.noise.position_sd_m > 0.0
        True
        """
        return receiver_noise(self.motion, repeat_line=self.driver_noise is not None)
