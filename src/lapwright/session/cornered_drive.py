"""
`CorneredDrive`: a drive cut into laps, and every lap's runs through the corners.

The upper half of a `lapwright.Session`; what follows from the runs for the driver is said there.
"""

from collections.abc import Sequence

import pandas as pd

from lapwright.coaching.coasting_cost import coasting_cost
from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.coaching.no_habit.variation import variation_table
from lapwright.columns import empty
from lapwright.columns.driver import COASTING, DRIVER
from lapwright.corners.driver_inputs import Channel, driver_channels
from lapwright.corners.driver_table import driver_inputs, driver_laps, driver_table
from lapwright.corners.grip import GripUse, grip_use
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import (
    POINT_SLOPES,
    corner_passes,
    corner_table,
    point_sds,
    with_error_bars,
)
from lapwright.kept import kept_property
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

    @kept_property
    def channels(self) -> dict[str, Channel]:
        """
        What the driver did, as logged: throttle, brake, steering and rpm, those there are.

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> list(practice.channels), practice.channels["brake"].unit
        (['throttle', 'brake', 'steering', 'rpm'], 'bar')
        >>> session.channels
        {}
        """
        return driver_channels(self.log)

    @kept_property
    def driver(self) -> pd.DataFrame:
        """
        What the driver did in every run through a corner; see `lapwright.columns.driver`.

        Braking and its release, coasting, throttle, steering and gear, each with its error bar.
        Empty where the log has neither pedals nor steering nor engine speed.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        References
        ----------
        Common practice, no source: the shares of a pedal's range that count as on (a tenth of the
        brake, a fifth of the throttle) and fully open (nine tenths).

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> run = practice.driver.set_index(["lap", "corner"]).loc[(practice.best_lap, 4)]
        >>> bool(0.0 <= run["coast_s"] < 2.0), bool(run["coast_sd_s"] < 0.1)
        (True, True)
        >>> session.driver.empty
        True
        """
        if not self.channels:
            return empty(DRIVER)
        traces = self._timed_traces()
        inputs = driver_inputs(self.channels, self.motion, traces)
        return driver_table(inputs, traces, self.passes)

    @kept_property
    def driver_laps(self) -> pd.DataFrame:
        """
        Shares of each timed lap at full throttle, coasting and braking, with their error bars.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        References
        ----------
        See `driver`.

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> shares = practice.driver_laps
        >>> bool(shares["full_throttle_share"].between(0.0, 1.0).all())
        True
        """
        return driver_laps(self.channels, self._timed_traces())

    @kept_property
    def coasting(self) -> pd.DataFrame:
        """
        Clean laps with more coasting in a corner against those with less: the time between them.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        References
        ----------
        See `lapwright.coaching.coasting_cost.coasting_cost`.

        Examples
        --------
        >>> session.coasting.empty
        True
        """
        if not {"brake", "throttle"} <= set(self.channels):
            return empty(COASTING)
        return coasting_cost(self.driver, self.evidence.passes)

    @kept_property
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
        brake, throttle = (self.channels.get(role) for role in ("brake", "throttle"))
        return corner_passes(self.track, traces, brake, throttle)

    @kept_property
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
        return self._with_bars(self.bare_passes)

    def _with_bars(self, bare: pd.DataFrame) -> pd.DataFrame:
        table = with_error_bars(self.track, self.motion, bare)
        traces = self._timed_traces()
        return with_details(self.track, self.motion, traces, self.clean_laps, table)

    def _bars_of(self, corners: Sequence[int], columns: Sequence[str]) -> pd.DataFrame:
        """Runs through some corners with what `passes` has more, worked out for these alone."""
        known = "passes" in self.__dict__
        table = self.passes if known else self.bare_passes
        table = table[table["corner"].isin(corners)]
        if known:
            return table
        if set(columns) <= set(POINT_SLOPES):
            return table.assign(**{c: point_sds(self.motion, table, c) for c in columns})
        return self._with_bars(table)

    def _timed_traces(self) -> dict[int, LapTrace]:
        return {n: self.trace(n) for n in self.timed_laps}

    def _clean_traces(self) -> list[LapTrace]:
        return [self.trace(n) for n in self.clean_laps]

    @kept_property
    def evidence(self) -> Evidence:
        """
        Clean passes with their times; see `lapwright.coaching.evidence`.

        Examples
        --------
        >>> set(session.evidence.passes["lap"]) <= set(session.clean_laps)
        True
        """
        traces = {t.lap: t for t in self._clean_traces()}
        return gather_evidence(
            self.track, self.motion, self.laps, self.bare_passes, traces, bars_of=self._bars_of
        )

    @kept_property
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

    @kept_property
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
