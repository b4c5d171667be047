"""What can be said while a lap is being driven: one small value a happening."""

from dataclasses import dataclass

import numpy as np

from lapwright.laps.clean_laps import NOT_FOR_BEST


@dataclass(frozen=True, slots=True)
class SectorTimed:
    """
    A sector is over.

    Attributes
    ----------
    lap, sector : int
        Sectors count from 1.
    time_s, time_sd_s : float
        [s]
    end_s : float
        When its line was crossed, on the receiver's axis. [s]
    refined : bool
        False right after the line (the filter's word), True once the fixes of the next second are
        taken into account (the smoothed value).
    """

    lap: int
    sector: int
    time_s: float
    time_sd_s: float
    end_s: float
    refined: bool


@dataclass(frozen=True, slots=True)
class LapTimed:
    """
    A lap is over; the last one with a lap's number is the last word on it.

    Attributes
    ----------
    lap : int
    kind : {"out", "timed", "in"}
    flags : tuple of str
        As in the lap table, as far as they are known yet.
    time_s, time_sd_s : float
        NaN where a line is missing. [s]
    sectors_s, sector_sds_s : tuple of float
    start_s, end_s : float
        On the receiver's axis. [s]
    refined : bool
        As for `SectorTimed`.
    best : bool
        Whether it is the quickest so far that counts.
    """

    lap: int
    kind: str
    flags: tuple[str, ...]
    time_s: float
    time_sd_s: float
    sectors_s: tuple[float, ...]
    sector_sds_s: tuple[float, ...]
    start_s: float
    end_s: float
    refined: bool
    best: bool = False

    @property
    def counts(self) -> bool:
        """Whether it may be the best lap."""
        return (
            self.kind == "timed"
            and bool(np.isfinite(self.time_s))
            and NOT_FOR_BEST.isdisjoint(self.flags)
        )


@dataclass(frozen=True, slots=True)
class LapGoing:
    """
    How the lap is going.

    Attributes
    ----------
    lap : int
    kind : str
        ``"out"`` before the first line and after a stop in the pits, else ``"timed"``.
    time_s : float
        Of the fix, on the receiver's axis. [s]
    since_line_s : float
        Time since the line; NaN on a lap that did not begin at it. [s]
    station_m : float
        NaN where the car is not found on the circuit. [m]
    speed_mps : float
    delta_s, delta_sd_s : float
        Against the reference at this place, + is slower; NaN where there is none. [s]
    predicted_s, predicted_sd_s : float
        Lap time if the rest takes as long as on the reference lap. [s]
    reference : str
        Which lap that is, in words; empty where there is none.
    """

    lap: int
    kind: str
    time_s: float
    since_line_s: float
    station_m: float
    speed_mps: float
    delta_s: float
    delta_sd_s: float
    predicted_s: float
    predicted_sd_s: float
    reference: str


@dataclass(frozen=True, slots=True)
class Learned:
    """
    The noise of the receiver was found out from the laps so far; the bars go by it from now on.

    Attributes
    ----------
    source : {"this session"}
    position_sd_m, drift_sd_m : float
        White and slow error of a position on one axis. [m]
    fixes : int
        From how many.
    """

    source: str
    position_sd_m: float
    drift_sd_m: float
    fixes: int


@dataclass(frozen=True, slots=True)
class Receiving:
    """
    How the fixes come in: told when it changes, and every second.

    Attributes
    ----------
    state : {"waiting", "fixes", "poor", "late", "no position", "nothing", "no circuit", "ended"}
        Nothing has come yet; all is well; the receiver is unsure; the fixes come late; it has no
        position; nothing comes any more; the circuit is not known; the end.
    why : str
        In words, where there is more to say.
    age_s : float
        Since the last fix came; NaN where none has come yet. [s]
    recording : str
        Where what comes is recorded, or why it is not; empty for a replay.
    damaged, left_out : int
        Damaged lines, and fixes whose time was odd or came again.
    """

    state: str
    why: str
    age_s: float
    recording: str = ""
    damaged: int = 0
    left_out: int = 0


Event = SectorTimed | LapTimed | LapGoing | Learned | Receiving
