"""One fix at a time, and the same from a log that is replayed."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from lapwright.ingest.log import Log

NAN = math.nan


@dataclass(frozen=True, slots=True)
class Fix:
    """
    One fix as it came.

    Attributes
    ----------
    time_s : float
        On the receiver's axis: since 1970 (UTC), or since a midnight where no date is sent. [s]
    lat_deg, lon_deg : float
    speed_mps, course_deg : float
        NaN where not sent; clockwise from north.
    position_sd_m : float
        The receiver's own word on its accuracy, NaN where it says nothing. [m]
    dated : bool
        Whether ``time_s`` counts from 1970.
    hdop : float
        NaN where not sent.
    """

    time_s: float
    lat_deg: float
    lon_deg: float
    speed_mps: float = NAN
    course_deg: float = NAN
    position_sd_m: float = NAN
    dated: bool = True
    hdop: float = NAN

    @property
    def usable(self) -> bool:
        """Whether there is a time and a place on the earth in it."""
        return (
            math.isfinite(self.time_s) and abs(self.lat_deg) <= 90.0 and abs(self.lon_deg) <= 180.0
        )


def fixes_of(log: Log) -> Iterator[Fix]:
    """
    Give the fixes of a log one by one, as if they came now.

    Parameters
    ----------
    log : Log

    Yields
    ------
    Fix
    """
    fixes = log.fixes
    n = len(fixes)

    def column(name: str) -> list[float]:
        if name not in fixes:
            return [NAN] * n
        values: list[float] = fixes[name].to_numpy(dtype=np.float64).tolist()
        return values

    columns = (
        column("time_s"), column("lat_deg"), column("lon_deg"), column("speed_mps"),
        column("course_deg"), column("position_sd_m"), column("hdop"),
    )  # fmt: skip
    dated = log.start_utc is not None
    for time_s, lat, lon, speed, course, sd, hdop in zip(*columns, strict=True):
        yield Fix(log.first_fix_s + time_s, lat, lon, speed, course, sd, dated, hdop)


@dataclass(slots=True)
class InOrder:
    """
    Let fixes through whose times go forward, and count the others.

    One odd time is left out.  A jump that the next fix confirms is taken for what it is: a gap, or
    a receiver that began again.

    Attributes
    ----------
    repeated, odd : int
        Fixes left out: the same moment again, and times that jump and come back.
    """

    repeated: int = 0
    odd: int = 0
    _last_s: float = NAN
    _held: Fix | None = None

    def take(self, fix: Fix) -> list[tuple[Fix, bool]]:
        """
        Take one fix.

        Returns
        -------
        list of (Fix, bool)
            What goes on, and whether time begins again with it.
        """
        if math.isnan(self._last_s):
            self._last_s = fix.time_s
            return [(fix, True)]
        if 0.0 < fix.time_s - self._last_s <= JUMP_S:
            self.odd += self._held is not None
            self._held, self._last_s = None, fix.time_s
            return [(fix, False)]
        if fix.time_s == self._last_s:
            self.repeated += 1
            return []
        held = self._held
        if held is None or not 0.0 < fix.time_s - held.time_s <= JUMP_S:
            self.odd += held is not None
            self._held = fix
            return []
        again = held.time_s < self._last_s
        self._held, self._last_s = None, fix.time_s
        return [(held, again), (fix, False)]


# Longer than a tunnel or a bridge takes a car at speed, shorter than anybody's stop. [s]
JUMP_S = 10.0
