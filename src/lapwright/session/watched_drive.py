"""
`WatchedDrive`: a compared drive, and what the car's own sensors said on it.

Between what compares laps and a `lapwright.Session`.
"""

import copy
from collections.abc import Sequence
from functools import cached_property
from typing import Self

import pandas as pd

from lapwright.arguments import checked
from lapwright.car.limits_held import car_table, hold
from lapwright.car.places import Places
from lapwright.car.watch import CarWarning, look_over
from lapwright.car.watched import Watched, watched
from lapwright.notes.limits import Limit
from lapwright.session.compared_drive import ComparedDrive


class WatchedDrive(ComparedDrive):
    """One log on one track, with what it tells of the car; made like a `ComparedDrive`."""

    _limits: tuple[Limit, ...] = ()

    @property
    def limits(self) -> tuple[Limit, ...]:
        """
        The limits that the racer set for the car.

        Examples
        --------
        >>> [limit.channel for limit in session.limits]
        ['oil_pressure', 'water_temperature']
        """
        return self._limits

    @checked
    def with_limits(self, limits: Sequence[Limit]) -> Self:
        """
        Return the same session with other limits; all else is kept.

        Parameters
        ----------
        limits : sequence of Limit

        Returns
        -------
        Session

        Examples
        --------
        >>> cooler = session.with_limits([lw.Limit("oil_temperature", high=110.0)])
        >>> cooler.limits[0].high
        110.0
        """
        other = copy.copy(self)
        other._limits = tuple(limits)
        for name in ("car", "car_warnings", "limits_not_held"):
            other.__dict__.pop(name, None)
        return other

    @cached_property
    def _watched(self) -> tuple[Watched, ...]:
        return watched(self.log)

    @property
    def _places(self) -> Places:
        return Places(self.laps, self.mapped, self.track.corners, self.track.length_m)

    @cached_property
    def car(self) -> pd.DataFrame:
        """
        What the car's sensors said on each lap: lowest, highest, where, and time beyond limits.

        One row a lap and channel, out and in laps too; see `lapwright.columns.car`.  Empty where
        the log tells nothing of the car.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> oil = practice.car[practice.car["kind"] == "oil_pressure"].set_index("lap")
        >>> lap = oil.loc[practice.best_lap]
        >>> f"lowest {lap['lowest']:.2f} {lap['unit']} near corner {lap['lowest_corner']}"
        'lowest 2.70 bar near corner 5'
        >>> session.car.empty
        True
        """
        return self.shelf.get("car", self._fresh_car, self.limits)

    def _fresh_car(self) -> pd.DataFrame:
        held, _ = hold(self._watched, self.limits)
        return car_table(self._watched, held, self._places)

    @cached_property
    def limits_not_held(self) -> tuple[str, ...]:
        """
        Which limits could not be held against anything in this log, and why.

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> practice.limits_not_held
        ()
        """
        # A log without any sensor of the car is not to be reminded of limits each time.
        return hold(self._watched, self.limits)[1] if self._watched else ()

    @cached_property
    def car_warnings(self) -> tuple[CarWarning, ...]:
        """
        What of the car deserves a look: it warns, it does not diagnose.

        A limit passed, oil pressure that is lower in long corners than on straights at the same
        engine speed, a temperature that still rose at the end, a sensor that died.

        Raises
        ------
        LogError, TrackError
            As `laps`.

        References
        ----------
        See `lapwright.car.oil_in_corners`.

        Examples
        --------
        >>> session.car_warnings  # this log tells nothing of the car
        ()
        """
        if not self._watched:
            return ()
        return self.shelf.get("car warnings", self._fresh_warnings, self.limits)

    def _fresh_warnings(self) -> tuple[CarWarning, ...]:
        return look_over(self._watched, self.limits, self.motion, self._places)
