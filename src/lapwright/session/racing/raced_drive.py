"""
`RacedDrive`: what a race is made of, in a session: launches, stints, pit stops, gaps to a car.

A part of `lapwright.Session`; most of it holds for a test or a practice as well.
"""

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.coaching.conditions import changing
from lapwright.columns import empty
from lapwright.columns.race import HELD_UP
from lapwright.errors import LapError
from lapwright.kept import kept_property
from lapwright.race.car_gaps import LoggedCar, car_gaps
from lapwright.race.held_up import MIN_OTHERS, held_up, profiles
from lapwright.race.launch import launches
from lapwright.race.pit_stops import pit_stops
from lapwright.race.stints import stints
from lapwright.session.compared_drive import ComparedDrive

# Enough for a median.
_LOOKS = 25
# A lap with one of these lost its time by something else.
_OTHERWISE = frozenset(
    {"gap", "bridged", "spin", "stop", "off_path", "short_cut", "reversed", "standing_start"}
)


class RacedDrive(ComparedDrive):
    """One log on one track, and what a race is made of; made like a `ComparedDrive`."""

    @kept_property
    def launches(self) -> pd.DataFrame:
        """
        Standing starts: time from rest to 60 and 100 km/h; see `lapwright.columns.race`.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> race = lw.open_session("sample_sessions/sunday_race.csv")
        >>> start = race.launches.iloc[0]
        >>> f"{start['to_100_kmh_s']:.2f} s", bool(start["to_100_kmh_sd_s"] > 0.0)
        ('6.07 s', True)
        >>> len(session.launches)
        0
        """
        return launches(self.motion, self.mapped, self.laps, self.track.start_finish.forward)

    @kept_property
    def pit_stops(self) -> pd.DataFrame:
        """
        Visits to the pits: time in the pit lane and standing; see `lapwright.columns.race`.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> friday = lw.open_session("sample_sessions/friday_test.csv")
        >>> stop = friday.pit_stops.iloc[0]
        >>> int(stop["lap"]), f"{stop['standing_s']:.1f} s standing"
        (7, '45.0 s standing')
        """
        return pit_stops(self.track, self.motion, self.mapped, self.cuts.pits, self.laps)

    @kept_property
    def held_up(self) -> pd.DataFrame:
        """
        Laps that look held up, with what shows it; see `lapwright.columns.race`.

        A log sees one car: what held it up, or whether the driver made a mistake, is not in it.
        The laps count as they did.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> session.held_up["lap"].tolist()  # its third lap was driven behind another car
        [3]
        """
        if len(self.clean_laps) < MIN_OTHERS:
            return empty(HELD_UP)
        table = self.laps
        timed = table[(table["kind"] == "timed") & table["time_s"].notna()]
        driven = timed[timed["flags"].map(_OTHERWISE.isdisjoint)]
        # The lap after an out lap begins on cold tyres, or in the pack of a rolling start.
        after_out = set(table.loc[table["kind"] == "out", "lap"] + 1)
        traces = [self.trace(int(n)) for n in driven["lap"]]
        clean, sd_m = set(self.clean_laps), self._usual_position_sd_m()
        return held_up(profiles(traces, clean, self.track.length_m, sd_m), after_out)

    def _usual_position_sd_m(self) -> float:
        """How unsure the position usually is, the mean of both axes."""
        time_s = np.linspace(self.motion.start_s, self.motion.end_s, _LOOKS)
        north_east = np.full((_LOOKS, 2), np.sqrt(0.5))
        return float(np.median(self.motion.position_sd_m(time_s, north_east)))

    @property
    def stints(self) -> pd.DataFrame:
        """
        Stints between visits to the pits: pace, and its fade; see `lapwright.columns.race`.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        References
        ----------
        P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Amer.
        Statist. Assoc. 63 (1968) 1379-1389, doi:10.1080/01621459.1968.10480934: the fade.

        Examples
        --------
        >>> friday = lw.open_session("sample_sessions/friday_test.csv")
        >>> friday.stints[["first_lap", "last_lap", "clean_laps"]].to_dict("list")
        {'first_lap': [1, 9], 'last_lap': [6, 14], 'clean_laps': [6, 5]}
        """
        laps_held_up = set(self.held_up["lap"].tolist())
        return stints(self.laps, laps_held_up, changing=changing(self._notes.conditions))

    @checked
    def gaps_to(self, other: "RacedDrive") -> pd.DataFrame:
        """
        Gap to another logged car at each passage of a line; see `lapwright.columns.race`.

        Parameters
        ----------
        other : Session
            Of the other car's log, on the same track.

        Returns
        -------
        DataFrame
            ``gap_s`` is how much later this car passed, so positive where the other was ahead.

        Raises
        ------
        LapError
            If a log has no absolute time, or one of its own clock's, the two do not overlap, or
            they are on different tracks.

        Examples
        --------
        >>> from datetime import timedelta
        >>> from dataclasses import replace
        >>> later = session.log.start_utc + timedelta(seconds=2.5)  # as a car 2.5 s behind
        >>> behind = lw.Session(replace(session.log, start_utc=later), session.shared_track)
        >>> gaps = behind.gaps_to(session)
        >>> f"{gaps['gap_s'].mean():.2f} s", set(gaps["ahead"])
        ('2.50 s', {'other'})
        """
        if abs(other.path.length_m - self.path.length_m) > 1e-6:
            msg = "the two sessions are on different tracks; give both the same complete track"
            raise LapError(msg)
        zero = self._utc()
        late_s = (other._utc() - zero).total_seconds()
        if late_s > self.log.duration_s or late_s + other.log.duration_s < 0.0:
            msg = (
                f"the two logs do not overlap in time: {self.log.path.name} begins "
                f"{zero:%Y-%m-%d %H:%M} UTC, {other.log.path.name} "
                f"{other._utc():%Y-%m-%d %H:%M} UTC"
            )
            raise LapError(msg)
        starts = self.launches["start_s"]
        begins_s = float(starts.iloc[0]) if len(starts) else None
        return car_gaps(self._logged_car(0.0), other._logged_car(late_s), begins_s)

    def _utc(self) -> pd.Timestamp:
        """Return when the log began, by the satellites' time."""
        start = self.log.start_utc
        if start is None:
            msg = f"{self.log.path.name} has no absolute time, so no gap to another car is known"
            raise LapError(msg)
        if self.log.own_clock:
            msg = (
                f"{self.log.path.name} has the time of the logger's own clock, not the satellites' "
                "time, so no gap to another car is known"
            )
            raise LapError(msg)
        return start

    def _logged_car(self, late_s: float) -> LoggedCar:
        cov_m2 = np.asarray(self.placing.cov_m2)
        return LoggedCar(self.track, self.mapped, self.cuts, self.laps, cov_m2, late_s)
