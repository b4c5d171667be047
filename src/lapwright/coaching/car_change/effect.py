"""What came of a change, as numbers: the lap, each corner, and how many laps would settle it."""

from dataclasses import dataclass

# With fewer clean laps on one side their scatter itself is hardly known.
MIN_LAPS = 4


@dataclass(frozen=True, slots=True)
class MoreLaps:
    """
    How many more laps would make the interval as narrow as asked for.

    Attributes
    ----------
    settle_s : float
        The 95 % interval is then at most this far on either side. [s]
    sessions : int or None
        So many more sessions, with and without the change in turn, the first one without it if
        the last one had it; None where 20 would not do.  Zero where nothing is missing.
    laps : int
        Clean laps in each of them, as many as the sessions so far have.
    """

    settle_s: float
    sessions: int | None
    laps: int


@dataclass(frozen=True, slots=True)
class CornerChange:
    """
    What a change did to one corner's part of the lap.

    Attributes
    ----------
    corner : int
    change_s : float
        After minus before. [s]
    sd_s : float
    low95_s, high95_s : float
        Simultaneous: all corners' intervals hold the truth at once with 95 %, so that one that
        leaves out zero is no find of looking at many. [s]
    """

    corner: int
    change_s: float
    sd_s: float
    low95_s: float
    high95_s: float

    @property
    def resolved(self) -> bool:
        """Whether the interval leaves out zero."""
        return self.low95_s > 0.0 or self.high95_s < 0.0


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """
    What a change to the car did, after minus before: negative where laps got quicker.

    Attributes
    ----------
    change_s, sd_s : float
        Of a clean lap, at the same lap of a session. [s]
    low95_s, high95_s : float
        95 % interval; infinite where the laps do not leave a degree of freedom. [s]
    before_s, after_s : float
        Plain means of the clean laps. [s]
    laps_before, laps_after : int
        Clean laps.
    sessions_before, sessions_after : int
        Sessions with a clean lap.
    between_sd_s : float
        By how much sessions differ for no known reason, as estimated. [s]
    lap_sd_s : float
        Scatter from lap to lap within a session. [s]
    lap_correlation : float
        Of a lap with the next.
    trend_s, trend_sd_s : float
        From one session to the next, track and driver together. [s]
    told_apart : bool
        Whether there are enough sessions to tell that trend from the change; where not, the
        interval holds what is usual.
    more : MoreLaps
    corners : tuple of CornerChange
        In the order of the lap; empty where no corners' times are known.
    expected_trend_s : float
        What was expected of that trend before looking: sessions of one day get quicker. [s]

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> laps = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2, 95.1], "representative": True})
    >>> change = lw.before_after([laps, laps], [laps, laps])
    >>> round(abs(change.change_s), 3), change.told_apart, change.resolved
    (0.0, True, False)
    """

    change_s: float
    sd_s: float
    low95_s: float
    high95_s: float
    before_s: float
    after_s: float
    laps_before: int
    laps_after: int
    sessions_before: int
    sessions_after: int
    between_sd_s: float
    lap_sd_s: float
    lap_correlation: float
    trend_s: float
    trend_sd_s: float
    told_apart: bool
    more: MoreLaps
    corners: tuple[CornerChange, ...] = ()
    expected_trend_s: float = 0.0

    @property
    def too_few(self) -> bool:
        """
        Whether one side has too few laps for the interval to be trusted.

        Examples
        --------
        >>> import pandas as pd
        >>> import lapwright as lw
        >>> laps = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2], "representative": True})
        >>> lw.before_after(laps, laps[:3]).too_few
        True
        """
        return min(self.laps_before, self.laps_after) < MIN_LAPS

    @property
    def resolved(self) -> bool:
        """
        Whether the interval leaves out zero.

        Examples
        --------
        >>> import pandas as pd
        >>> import lapwright as lw
        >>> laps = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2], "representative": True})
        >>> lw.before_after(laps, laps).resolved
        False
        """
        return self.low95_s > 0.0 or self.high95_s < 0.0
