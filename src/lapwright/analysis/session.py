"""
`Session`: one log on one track, cut into laps.

The class only wires rooms together; the work is in plain functions, done when asked for.
"""

from functools import cached_property

import numpy as np
import pandas as pd

from lapwright.analysis.lap_table import Cuts, best_lap, find_cuts, lap_table
from lapwright.analysis.mapped import Mapped, map_motion
from lapwright.analysis.road import DriverLevels, repeats_for_noise, with_road
from lapwright.discovery.discover import discover_track
from lapwright.discovery.reference import complete_track
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.geometry.path import ReferencePath
from lapwright.ingest.log import Log
from lapwright.motion import Motion, Repeats, estimate_motion


class Session:
    """
    One log on one track.

    Parameters
    ----------
    log : Log
    track : Track, optional
        Found in the log where not given; what a given one lacks is filled in from the log.
    road : bool
        Whether to use the repeated line as a sensor where there are three laps or more.
    """

    def __init__(self, log: Log, track: Track | None = None, *, road: bool = True) -> None:
        self.log = log
        self._given_track = track
        self._road_wanted = road

    @cached_property
    def track(self) -> Track:
        """The track, complete: path, corners, lines."""
        if self._given_track is None:
            return discover_track(self.log).track
        return complete_track(self._given_track, self.log)

    @property
    def path(self) -> ReferencePath:
        """The track's reference path, from the start/finish line."""
        path = self.track.path
        if path is None:
            msg = "the track has no path"
            raise LapError(msg)
        return path

    @cached_property
    def _repeats(self) -> Repeats | None:
        fixes = self.log.fixes
        east, north = self.track.plane.to_metres(
            fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy()
        )
        position = np.stack([east, north], axis=-1)
        time = fixes["time_s"].to_numpy()
        if "speed_mps" in fixes and fixes["speed_mps"].notna().mean() > 0.9:
            speed = np.nan_to_num(fixes["speed_mps"].to_numpy())
        else:
            speed = np.linalg.norm(np.gradient(position, time, axis=0), axis=1)
        return repeats_for_noise(self.path, time, position, speed)

    @cached_property
    def motion_without_road(self) -> Motion:
        """The motion from the receiver alone."""
        return estimate_motion(self.log, self.track.plane, self._repeats)

    @cached_property
    def _with_road(self) -> tuple[Motion, DriverLevels | None]:
        if not self._road_wanted:
            return self.motion_without_road, None
        return with_road(self.path, self.motion_without_road)

    @property
    def motion(self) -> Motion:
        """How the car moved."""
        return self._with_road[0]

    @property
    def driver_levels(self) -> DriverLevels | None:
        """How the driver's line varies; None where the road was not used as a sensor."""
        return self._with_road[1]

    @cached_property
    def mapped(self) -> Mapped:
        """Station and offset of every fix."""
        return map_motion(self.track, self.motion)

    @cached_property
    def cuts(self) -> Cuts:
        """Passages of the lines and their joint posterior."""
        return find_cuts(self.track, self.motion, self.mapped)

    @cached_property
    def laps(self) -> pd.DataFrame:
        """One row a lap; see `lapwright.analysis.lap_table`."""
        return lap_table(self.track, self.motion, self.mapped, self.cuts)

    @property
    def best_lap(self) -> int | None:
        """Number of the fastest lap that counts, or None."""
        return best_lap(self.laps)
