"""
The laps as they are driven: when one ends, what kind it was, what is kept of it.

The rules are those of the lap table; what they can only know later (the pit box beyond the line) is
put right as soon as it shows.
"""

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Track
from lapwright.laps.cutting.pit_stretches import PitStretch, pit_stretches
from lapwright.laps.cutting.standing_start import BEFORE_S
from lapwright.live_session.events import Event, LapTimed, SectorTimed
from lapwright.live_session.forward.filter import ForwardFilter, Mark
from lapwright.live_session.forward.follow import Follower
from lapwright.live_session.forward.lines import Crossed, between
from lapwright.live_session.forward.trail import Trail
from lapwright.live_session.lap_book import Lap, flags_of, in_pit, kind_of, stop_without_line
from lapwright.live_session.receiving.fixes import NAN
from lapwright.live_session.reference import OwnLap, own_lap, place_now

Floats = npt.NDArray[np.float64]

# So long after a line its time is given again, refined: more would add little (docs), and less
# would be the filter's word. [s]
LAG_S = 1.0
_LAG_FIXES = 3
# Places of a lap that are kept in the filter: about one every 100 m of a usual circuit.
_PLACES = 32
# The line crossed this far from where the path crosses it is another matter. [m]
_MOST_PIN_M = 10.0
# A car that stands so long may be in the pits. [s]
_STANDS_S, _STANDING_MPS = 3.0, 1.0


class LapKeeper:
    """
    The laps of one stretch of fixes.

    Parameters
    ----------
    track : Track
    motion : ForwardFilter
    follow : Follower
    trail : Trail
    laps : list of LapTimed
        Those from before, if the receiver began again.
    compared : bool
        Whether laps are compared with the best so far, so that their places are kept.
    """

    def __init__(
        self, track: Track, motion: ForwardFilter, follow: Follower, trail: Trail,
        laps: list[LapTimed], *, compared: bool,
    ) -> None:  # fmt: skip
        self.track, self._motion, self._follow, self._trail = track, motion, follow, trail
        self.laps = laps
        self.own: OwnLap | None = None
        self.fixes = 0
        self._length_m = track.length_m
        self.lap = self.new_lap(laps[-1].lap + 1 if laps else 0, "out", None, motion.time_s)
        self._compared = compared
        self._last: Lap | None = None
        self._usual: Floats | None = None
        self._pending: list[tuple[float, int, Lap, int]] = []
        self._standing_since_s = NAN
        self._looked_for_pits = False

    def in_pit_now(self) -> bool:
        """Whether the way until now ends in the pit lane."""
        end_s = self._motion.time_s
        pits = self._pits(self.lap.start_s, end_s)
        return bool(pits) and pits[-1].end_s > end_s - 3.0

    def go_on(self, speed_mps: float) -> list[Event]:
        """Go on to the newest fix, after the lines it has passed."""
        self.fixes += 1
        self._keep_place()
        now_s = self._motion.time_s
        return [*self._stands(now_s, speed_mps), *self._refined(now_s)]

    def passed(self, k: int, line: Crossed) -> list[Event]:
        """Take in that a line was crossed: 0 is the start/finish line, then the sector lines."""
        lap = self.lap
        if k > 0:
            if lap.sectors[k - 1] is None:
                lap.sectors[k - 1] = line
            self._pending.append((self._motion.time_s + LAG_S, self.fixes + _LAG_FIXES, lap, k))
            return self._sector(lap, k, refined=False)
        return self._lap_over(lap, line)

    def new_lap(self, number: int, kind: str, start: Crossed | None, start_s: float) -> Lap:
        """Begin a lap where the car is now."""
        station, pin = self._follow.station_m, 0.0
        if start is not None and np.isfinite(station):
            length = self._length_m
            whole = length * round(station / length)
            at, _, _ = self._follow.path.foot(start.mark.position_m[None], np.array([whole]))
            pin = float(at[0]) - whole
            station = whole
        lap = Lap(number, kind, start, start_s, station, [None] * len(self.track.sectors))
        # Farther off it is no matter of how square the line is.
        lap.pin_m = pin if abs(pin) < _MOST_PIN_M else 0.0
        return lap

    def _pits(self, start_s: float, end_s: float) -> tuple[PitStretch, ...]:
        mapped = self._trail.mapped(start_s, end_s, self._usual)
        return () if mapped is None else pit_stretches(mapped)

    def _sector(self, lap: Lap, k: int, *, refined: bool) -> list[Event]:
        """Time the sector that ends at sector line k."""
        first = lap.start if k == 1 else lap.sectors[k - 2]
        last = lap.sectors[k - 1]
        if first is None or last is None:
            return []
        time_s, sd_s = between(self._motion, first, last)
        return [SectorTimed(lap.number, k, time_s, sd_s, last.time_s(self._motion), refined)]

    def _lap_over(self, lap: Lap, line: Crossed) -> list[Event]:
        """The start/finish line was crossed: a lap ends and the next begins."""
        at_s = line.time_s(self._motion)
        begun_s = lap.start_s
        # What was not to be seen at the line before may be by now: the box lay beyond it.
        out = self._correct_last(at_s)
        if self._last is not None:
            # Both its lines are smoothed by now: the last word on it.
            out.append(self._noted(self._last, refined=True))
            self._motion.drop(self._done_with(self._last))
        pits = self._pits(begun_s, self._motion.time_s)
        if lap.start is None and any(
            p.start_s <= begun_s + 1.0 and p.end_s >= at_s - 1.0 for p in pits
        ):
            # From the box along the pit lane to the line is not a lap yet.
            self.lap = self.new_lap(lap.number, "out", line, at_s)
            return out
        missed = stop_without_line(pits, begun_s + 1.0, at_s - 1.0)
        number = lap.number
        if missed is not None and not in_pit(pits, at_s):
            lap.kind = "in" if lap.kind == "timed" else lap.kind
            lap.end_s = missed.stop_s
            out.append(self._noted(lap, refined=True))
            self._motion.drop(self._done_with(lap))
            number += 1
            lap = self.new_lap(number, "out", None, missed.stop_s)
        lap.end, lap.end_s = line, at_s
        lap.kind = kind_of(lap, at_s, pits)
        ends_in_pit = in_pit(pits, at_s)
        out.append(self._noted(lap, refined=False))
        # The next one has no sector of this line's mark, but its start.
        self._pending.append((self._motion.time_s + LAG_S, self.fixes + _LAG_FIXES, lap, 0))
        self._last = lap
        self.lap = self.new_lap(number + 1, "out" if ends_in_pit else "timed", line, at_s)
        return out

    def _correct_last(self, until_s: float) -> list[Event]:
        """Call the lap before an in lap where it turns out that it ended in the pit lane."""
        last, lap = self._last, self.lap
        if last is None or lap.kind == "out":
            return []
        pits = self._pits(last.start_s, until_s)
        if not in_pit(pits, lap.start_s):
            return []
        lap.kind = "out"
        if last.kind != "timed":
            return []
        last.kind = "in"
        return [self._noted(last, refined=True)]

    def _noted(self, lap: Lap, *, refined: bool) -> LapTimed:
        """Time a lap that is over and write it down."""
        timed = lap.timed(self._motion, refined=refined)
        others = [one for one in self.laps if one.lap != lap.number]
        times = [one.time_s for one in others if one.kind == "timed" and np.isfinite(one.time_s)]
        if lap.kind == "timed":
            times.append(timed.time_s)
        # From the grid on, for a standing start shows before the line.
        mapped = self._trail.mapped(timed.start_s - BEFORE_S, timed.end_s + 2.0, self._usual)
        lap.flags = flags_of(mapped, lap.kind, timed.start_s, timed.end_s, timed.time_s, times)
        timed = _flagged(timed, lap.flags)
        best = [one.time_s for one in others if one.counts]
        if timed.counts and all(timed.time_s < other for other in best):
            timed = _flagged(timed, lap.flags, best=True)
            self.laps = [_flagged(one, one.flags) for one in self.laps]
        self.laps = [one for one in self.laps if one.lap != lap.number] + [timed]
        return timed

    def _refined(self, now_s: float) -> list[Event]:
        """Give again what the last second has refined."""
        out: list[Event] = []
        due = [p for p in self._pending if now_s >= p[0] and self.fixes >= p[1]]
        self._pending = [p for p in self._pending if p not in due]
        for _, _, lap, k in due:
            if k > 0:
                out += self._sector(lap, k, refined=True)
                continue
            timed = self._noted(lap, refined=True)
            out.append(timed)
            self._let_go(lap, timed)
        return out

    def _let_go(self, lap: Lap, timed: LapTimed) -> None:
        """Keep the places of the best lap so far; let go of those of any other."""
        start, end = lap.start, lap.end
        if not timed.best or start is None or end is None:
            self._motion.drop([place.mark for place in lap.places])
            return
        rows = self._trail.since(lap.start_s, lap.end_s)
        length = self._length_m
        old = self.own
        self.own = own_lap(
            self._motion, lap.number, (timed.time_s, timed.time_sd_s), start, end,
            lap.places, rows, length, lap.pin_m,
        )  # fmt: skip
        on_way = rows[np.argsort(np.mod(rows[:, 4], length))]
        self._usual = np.stack([np.mod(on_way[:, 4], length), on_way[:, 5], on_way[:, 3]])
        if old is not None:
            # The old one's end may be this one's start.
            used = {id(start.mark), id(end.mark)}
            gone = [old.start.mark, *(p.mark for p in old.places)]
            self._motion.drop([m for m in gone if id(m) not in used])
        self._trail.forget_before(lap.start_s - 10.0)

    def _done_with(self, lap: Lap) -> list[Mark]:
        """Marks of a lap that is over that nothing rests on any more."""
        own = self.own
        used = set() if own is None else {id(own.start.mark), *(id(p.mark) for p in own.places)}
        ends = [] if lap.start is None else [lap.start.mark]
        return [m for m in (*lap.marks(), *ends) if id(m) not in used]

    def _keep_place(self) -> None:
        """Keep the place where the car is, about every hundred metres of a lap from the line."""
        lap, follow = self.lap, self._follow
        if lap.start is None or lap.kind == "out" or follow.lost:
            return
        if not self._compared:
            return
        length = self._length_m
        station = follow.station_m - lap.station_m
        wanted = (len(lap.places) + 1) * length / _PLACES
        if not wanted <= station < length - 0.5 * length / _PLACES:
            return
        if len(lap.places) < _PLACES - 1:
            lap.places.append(place_now(self._motion, follow.path, follow.station_m, station))

    def _stands(self, now_s: float, speed_mps: float) -> list[Event]:
        """Look once whether a car that stands stands in the pits."""
        if speed_mps > _STANDING_MPS:
            self._standing_since_s, self._looked_for_pits = NAN, False
            return []
        if np.isnan(self._standing_since_s):
            self._standing_since_s = now_s
        if self._looked_for_pits or now_s - self._standing_since_s < _STANDS_S:
            return []
        self._looked_for_pits = True
        return self._correct_last(now_s)


def _flagged(timed: LapTimed, flags: tuple[str, ...], *, best: bool = False) -> LapTimed:
    return LapTimed(
        timed.lap, timed.kind, flags, timed.time_s, timed.time_sd_s, timed.sectors_s,
        timed.sector_sds_s, timed.start_s, timed.end_s, timed.refined, best,
    )  # fmt: skip
