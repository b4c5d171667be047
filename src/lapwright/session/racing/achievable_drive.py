"""
`AchievableDrive`: a compared drive, and the lap that the driver's own envelope allows.

A part of `lapwright.Session`.
"""

import numpy as np
import numpy.typing as npt

from lapwright.achievable import Achievable, achievable_lap
from lapwright.coaching.conditions import changing
from lapwright.errors import LapError
from lapwright.session.compared_drive import ComparedDrive

Floats = npt.NDArray[np.float64]


class AchievableDrive(ComparedDrive):
    """One log on one track, and what its driver could do; made like a `ComparedDrive`."""

    @property
    def achievable(self) -> Achievable:
        """
        How quick the driver could be with what they already do: calculated, not advice.

        The lap on the session's usual line with the cornering, braking and acceleration that the
        driver usually reaches, all on one lap; see `lapwright.Achievable`.

        Raises
        ------
        LapError
            If there are fewer than five clean laps, the notes say that conditions changed, or the
            car hardly slowed or accelerated.
        LogError, TrackError
            As `laps`.

        References
        ----------
        See `lapwright.achievable.achievable_lap`.

        Examples
        --------
        >>> practice = lw.open_session("sample_sessions/saturday_practice.csv")
        >>> found = practice.achievable
        >>> f"{found.time_s:.1f} s, {found.time_low95_s:.1f} to {found.time_high95_s:.1f} s"
        '94.6 s, 93.9 to 95.3 s'
        """
        if changing(self._notes.conditions):
            msg = (
                "the notes say that conditions changed in this session, so its laps show no one "
                "envelope. Log wet and dry laps apart"
            )
            raise LapError(msg)
        return self.shelf.get("achievable", self._fresh_achievable)

    def _fresh_achievable(self) -> Achievable:
        evidence = self.evidence
        time_sd_s = evidence.passes.set_index(["lap", "corner"])["span_sd_s"]
        return achievable_lap(self._clean_traces(), evidence.spans, time_sd_s, self._speed_sds)

    def _speed_sds(self, time_s: Floats) -> Floats:
        rows = np.zeros((len(time_s), 6))
        rows[:, 2:4] = self.motion.at(time_s).direction
        return self.motion.sds(time_s, rows)
