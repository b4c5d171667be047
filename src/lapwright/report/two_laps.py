"""
What the figures along the lap and the ledger are drawn from, be it a report or one comparison.

A `ReportData` has all of it.  A `Comparison` that is shown alone knows no session; `LapsCompared`
puts it into the same form, so that both go through the same figures.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pass_table import corner_table
from lapwright.geometry import Track
from lapwright.laps.comparison import Comparison
from lapwright.laps.lap_trace import LapTrace

Floats = npt.NDArray[np.float64]


class TwoLaps(Protocol):
    """
    Laps of one circuit, one of which (``usual``) is held against another (``best``).

    Each attribute is that of `lapwright.report.report_data.ReportData`.
    """

    @property
    def track(self) -> Track: ...  # noqa: D102
    @property
    def corners(self) -> pd.DataFrame: ...  # noqa: D102
    @property
    def best(self) -> int | None: ...  # noqa: D102
    @property
    def usual(self) -> int | None: ...  # noqa: D102
    @property
    def traces(self) -> Mapping[int, LapTrace]: ...  # noqa: D102
    @property
    def delta_sds(self) -> Mapping[int, Floats]: ...  # noqa: D102
    @property
    def sd_station_m(self) -> Floats: ...  # noqa: D102
    @property
    def comparison(self) -> Comparison | None: ...  # noqa: D102
    @property
    def channels(self) -> Mapping[str, Channel]: ...  # noqa: D102
    @property
    def length_m(self) -> float: ...  # noqa: D102
    @property
    def best_is(self) -> str: ...  # noqa: D102
    @property
    def usual_is(self) -> str: ...  # noqa: D102
    @property
    def usual_word(self) -> str: ...  # noqa: D102

    def named(self, lap: int) -> int | str:
        """What stands after the word lap."""
        ...


# Two laps of two logs may have the same number, so these are what they go by inside.
_REFERENCE, _LAP = 0, 1


@dataclass(frozen=True, eq=False)
class LapsCompared:
    """
    The two laps of one comparison.

    Attributes
    ----------
    comparison : Comparison
    """

    comparison: Comparison
    best: int = _REFERENCE
    usual: int = _LAP
    best_is: str = "the reference"
    usual_is: str = ""
    usual_word: str = "compared"

    @property
    def track(self) -> Track:
        """The circuit."""
        return self.comparison.track

    @property
    def corners(self) -> pd.DataFrame:
        """Its corners."""
        return corner_table(self.track)

    @property
    def length_m(self) -> float:
        """Length of a lap. [m]."""
        return self.track.length_m

    @property
    def traces(self) -> Mapping[int, LapTrace]:
        """Both laps."""
        c = self.comparison
        return {_REFERENCE: c.reference_trace, _LAP: c.lap_trace}

    @property
    def channels(self) -> Mapping[str, Channel]:
        """None: a comparison knows the laps' motion, not the channels of their logs."""
        return {}

    @property
    def sd_station_m(self) -> Floats:
        """Both ends of the lap; the compared lap has the error bars of its own delta. [m]."""
        return np.array([0.0, self.length_m])

    @property
    def delta_sds(self) -> Mapping[int, Floats]:
        """None of the reference to itself. [s]."""
        return {_REFERENCE: np.zeros(2)}

    def named(self, lap: int) -> int | str:
        """Number of the lap, and the log it is from where that is another one."""
        c = self.comparison
        if lap == _LAP:
            return c.lap
        return f"{c.reference} of {c.reference_log.name}" if c.other_log else c.reference
