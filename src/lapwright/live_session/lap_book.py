"""The laps while they are driven: where each began, its sectors, its kind, its places kept."""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from lapwright.discovery.loop.usual_pace import usual_time_s
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.laps.cutting.standing_start import got_away_s
from lapwright.laps.lap_flags import SLOW_FACTOR, lap_flags
from lapwright.laps.track_mapping import TrackMapping
from lapwright.live_session.events import LapTimed
from lapwright.live_session.forward.filter import ForwardFilter, Mark
from lapwright.live_session.forward.lines import Crossed, between
from lapwright.live_session.reference import Place


@dataclass(eq=False)
class Lap:
    """
    One lap, going or gone.

    Attributes
    ----------
    number : int
    kind : str
    start, end : Crossed or None
        None where the lap does not begin or end at the line.
    start_s, end_s : float
        About when; of a lap without a line the first fix or the stop. [s]
    sectors : list of Crossed or None
        One a sector line.
    places : list of Place
    flags : tuple of str
    station_m : float
        Unwrapped station of its line. [m]
    pin_m : float
        Station of the crossing, which is not quite that of the line. [m]
    """

    number: int
    kind: str
    start: Crossed | None
    start_s: float
    station_m: float
    sectors: list[Crossed | None]
    pin_m: float = 0.0
    end: Crossed | None = None
    end_s: float = np.nan
    places: list[Place] = field(default_factory=list)
    flags: tuple[str, ...] = ()

    def marks(self) -> list[Mark]:
        """All its marks in the filter but those of its ends."""
        return [s.mark for s in self.sectors if s is not None] + [p.mark for p in self.places]

    def timed(self, motion: ForwardFilter, *, refined: bool) -> LapTimed:
        """Work out its times, as known now."""
        lines = [self.start, *self.sectors, self.end]
        spans = [
            (np.nan, np.nan) if one is None or other is None else between(motion, one, other)
            for one, other in pairwise(lines)
        ]
        whole = (np.nan, np.nan)
        start_s, end_s = self.start_s, self.end_s
        if self.start is not None:
            start_s = self.start.time_s(motion)
        if self.end is not None:
            end_s = self.end.time_s(motion)
        if self.start is not None and self.end is not None:
            whole = between(motion, self.start, self.end)
        return LapTimed(
            self.number, self.kind, self.flags, *whole, tuple(s for s, _ in spans),
            tuple(sd for _, sd in spans), start_s, end_s, refined,
        )  # fmt: skip


def kind_of(lap: Lap, end_s: float, pits: tuple[PitStretch, ...]) -> str:
    """Whether a lap is an out lap, an in lap or a timed one, as in the lap table."""
    if lap.kind == "out" or lap.start is None or in_pit(pits, lap.start_s):
        return "out"
    return "in" if in_pit(pits, end_s) else "timed"


def in_pit(pits: tuple[PitStretch, ...], time_s: float) -> bool:
    """Whether a moment lies in one of the stretches in the pit lane."""
    return any(p.start_s <= time_s <= p.end_s for p in pits)


def stop_without_line(
    pits: tuple[PitStretch, ...], start_s: float, end_s: float
) -> PitStretch | None:
    """The visit to a pit lane that does not pass the line, within a stretch of time."""
    inner = [p for p in pits if p.stands and p.start_s > start_s and p.end_s < end_s]
    return inner[0] if inner else None


def flags_of(
    mapped: TrackMapping | None, kind: str, start_s: float, end_s: float, time_s: float,
    times_s: list[float],
) -> tuple[str, ...]:  # fmt: skip
    """
    Flags of a lap, by the rules of the lap table.

    Parameters
    ----------
    mapped : TrackMapping or None
    kind : str
    start_s, end_s, time_s : float
    times_s : list of float
        Times of the timed laps so far, this one among them.
    """
    if mapped is None:
        return ("gap",)
    flags = lap_flags(mapped, start_s, end_s, pit_lap=kind != "timed")
    if kind != "timed":
        return tuple(f for f in flags if f in ("gap", "spin"))
    if got_away_s(mapped, start_s) is not None:
        return (*flags, "standing_start")
    if times_s and time_s > SLOW_FACTOR * usual_time_s(np.array(times_s)):
        flags.insert(0, "slow")
    return tuple(flags)
