"""
`CorneredDrive`: a drive cut into laps, and every lap's runs through the corners.

The upper half of a `lapwright.Session`; what follows from the runs for the driver is said there.
"""

from functools import cached_property

import pandas as pd

from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.coaching.no_habit.variation import variation_table
from lapwright.corners.driver_inputs import driver_channel
from lapwright.corners.grip import GripUse, grip_use
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import corner_passes, corner_table, with_error_bars
from lapwright.laps.lap_trace import LapTrace
from lapwright.session.lapped_drive import LappedDrive


class CorneredDrive(LappedDrive):
    """One log on one track, cut into laps and corners; made like a `LappedDrive`."""

    @property
    def corners(self) -> pd.DataFrame:
        """
        The corners of the track; see `lapwright.corners.pass_table.corner_table`.

        Examples
        --------
        >>> session.corners[["corner", "direction"]].head(3).to_dict("list")
        {'corner': [1, 2, 3], 'direction': ['right', 'right', 'left']}
        """
        return corner_table(self.track)

    @cached_property
    def bare_passes(self) -> pd.DataFrame:
        """
        Every timed lap's way through every corner, without error bars: quicker.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> {"min_speed_mps", "time_s"} <= set(session.bare_passes)
        True
        """
        traces = [self.trace(n) for n in self.timed_laps]
        brake, throttle = (driver_channel(self.log, role) for role in ("brake", "throttle"))
        return corner_passes(self.track, traces, brake, throttle)

    @cached_property
    def passes(self) -> pd.DataFrame:
        """
        Every timed lap's way through every corner; see `lapwright.columns.corners`.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> passes = session.passes
        >>> fourth = passes[(passes["corner"] == 4) & (passes["lap"] == session.best_lap)].iloc[0]
        >>> f"{fourth['min_speed_mps']:.1f} m/s"
        '22.3 m/s'
        >>> bool(0.0 < fourth["min_speed_sd_mps"] < 1.0)
        True
        """
        table = with_error_bars(self.track, self.motion, self.bare_passes)
        traces = {n: self.trace(n) for n in self.timed_laps}
        return with_details(self.track, self.motion, traces, self.clean_laps, table)

    def _clean_traces(self) -> list[LapTrace]:
        return [self.trace(n) for n in self.clean_laps]

    @cached_property
    def evidence(self) -> Evidence:
        """
        Clean passes with their times; see `lapwright.coaching.evidence`.

        Examples
        --------
        >>> set(session.evidence.passes["lap"]) <= set(session.clean_laps)
        True
        """
        traces = {t.lap: t for t in self._clean_traces()}
        return gather_evidence(self.track, self.motion, self.laps, self.passes, traces)

    @cached_property
    def variation(self) -> pd.DataFrame:
        """
        How much each corner's time varies over the clean laps, the receiver's error taken out.

        One row a corner; see `lapwright.columns.variation` for the columns.

        References
        ----------
        See `lapwright.coaching.no_habit.variation`.

        Examples
        --------
        >>> varies = session.variation.set_index("corner")
        >>> most = varies["varies_s"].idxmax()
        >>> f"corner {most} varies by {varies.at[most, 'varies_s']:.2f} s from lap to lap"
        'corner 2 varies by 0.19 s from lap to lap'
        """
        return variation_table(self.evidence)

    @cached_property
    def grip(self) -> GripUse:
        """
        How much of the driver's own envelope each corner used.

        Examples
        --------
        >>> used = session.grip.corners
        >>> bool(used["corner"].is_unique)
        True
        """
        return grip_use(self._clean_traces(), self.passes, self.corners)
