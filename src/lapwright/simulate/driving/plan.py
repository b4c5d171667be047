"""What happens in a session: stints, stops and mishaps."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Traffic:
    """Be held up in one timed lap between two shares of its length."""

    timed_lap: int
    begins: float = 0.3
    ends: float = 0.75
    pace: float = 0.7


@dataclass(frozen=True, slots=True)
class Spin:
    """
    Spin and stand after a corner, roll back a little and drive on.

    With `station_m` the place is given instead, negative before the line.
    """

    timed_lap: int
    corner: int = 1
    stop_s: float = 6.0
    roll_back_m: float = 3.0
    station_m: float | None = None


@dataclass(frozen=True, slots=True)
class Off:
    """Run wide at the exit of a corner by `wide_m` beyond the usual line, and rejoin."""

    timed_lap: int
    corner: int
    wide_m: float = 12.0
    pace: float = 0.6


@dataclass(frozen=True, slots=True)
class ShortCut:
    """Go straight on from before a corner to after it or after a later one (a chicane)."""

    timed_lap: int
    corner: int
    last_corner: int | None = None


@dataclass(frozen=True, slots=True)
class HeldUp:
    """
    Be behind a slower car for a short way: no faster than `speed_mps`, beside the usual line.

    From `begins`, a share of the lap, for `length_m`; `aside_m` to the left of the usual line.
    """

    timed_lap: int
    begins: float
    length_m: float = 250.0
    speed_mps: float = 25.0
    aside_m: float = 0.0


Event = Traffic | Spin | Off | ShortCut | HeldUp


@dataclass(frozen=True, slots=True)
class Plan:
    """
    One session.

    Attributes
    ----------
    stints : tuple of int
        Timed laps between the out lap and the in lap of each stint.
    start : {"pits", "grid", "rolling"}
        ``"pits"``: from the box.  ``"grid"``: a slow lap from the box to the grid, then
        a standing start.  ``"rolling"``: the log begins at speed a third of a lap
        before the line.
    end : {"pits", "track"}
        ``"track"``: the log dies a third of a lap after the last timed lap.
    garage_s : float
        Standing in the box before and after. [s]
    stop_s : float
        A pit stop. [s]
    grid_s : float
        Standing on the grid. [s]
    grid_m : float
        The grid slot lies so far behind the line. [m]
    out_pace, in_pace : float
        Share of the usual speed on laps out of and into the pits.
    events : tuple
        Mishaps, by timed lap counted from 1 over the session.
    """

    stints: tuple[int, ...] = (12,)
    start: str = "pits"
    end: str = "pits"
    garage_s: float = 60.0
    stop_s: float = 35.0
    grid_s: float = 25.0
    grid_m: float = 14.0
    out_pace: float = 0.9
    in_pace: float = 0.85
    events: tuple[Event, ...] = ()

    def __post_init__(self) -> None:
        for value, allowed in (
            (self.start, ("pits", "grid", "rolling")),
            (self.end, ("pits", "track")),
        ):
            if value not in allowed:
                msg = f"a session cannot begin or end with {value!r}; allowed are {allowed}"
                raise ValueError(msg)
        if not self.stints or min(self.stints) < 0:
            msg = f"each stint needs zero or more timed laps, not {self.stints}"
            raise ValueError(msg)
