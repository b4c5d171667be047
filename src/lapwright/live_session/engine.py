"""
From fixes to lap times, delta and prediction, one fix at a time.

An `Engine` is a plain function of the fixes it was given, of the track and of the noise: given the
same again it says the same again, to the last bit.
"""

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Gate, Track
from lapwright.live_session.events import Event, LapGoing, LapTimed
from lapwright.live_session.forward.filter import ForwardFilter, Measured
from lapwright.live_session.forward.follow import Follower
from lapwright.live_session.forward.known_noise import KnownNoise
from lapwright.live_session.forward.lines import (
    PIT_REACH_M,
    Crossed,
    Moving,
    crossed,
    crossing,
    may_reach,
)
from lapwright.live_session.forward.measuring import Measuring
from lapwright.live_session.forward.trail import Trail
from lapwright.live_session.lap_book import Lap
from lapwright.live_session.lap_keeper import LapKeeper
from lapwright.live_session.receiving.fixes import NAN, Fix
from lapwright.live_session.reference import (
    Reference,
    pinned,
    station_weight,
)
from lapwright.numerics.cyclic import cyclic_difference

Floats = npt.NDArray[np.float64]

# A line is crossed once a visit; elsewhere on the circuit it is not crossed. [m]
_VISIT_M, _NEAR_LINE_M = 100.0, 80.0
# A fix farther away is none of this circuit. [m]
_FAR_M = 50_000.0
# Longer than a stop in the pits without a fix. [s]
_LONG_HOLE_S = 600.0


class Engine:
    """
    What is known of a session so far.

    Parameters
    ----------
    track : Track
        With a path, where this session's receiver sees it.
    known : KnownNoise
    reference : Reference, optional
        A lap of another log; the best so far where not given.

    Attributes
    ----------
    fixes : int
        How many were taken.
    """

    def __init__(self, track: Track, known: KnownNoise, reference: Reference | None = None) -> None:
        assert track.path is not None
        self.track, self.known = track, known
        self.fixes = 0
        self._path = track.path
        self._given = reference
        self._gates: tuple[Gate, ...] = (track.start_finish, *track.sectors)
        noise = known.noise
        self._slack_m = 3.0 * float(np.hypot(noise.drift_m, noise.white_m))
        self._before: list[LapTimed] = []
        self._begin()

    def _begin(self) -> None:
        """Begin with nothing known of the car."""
        self._motion = ForwardFilter(self.known.noise, self.known.latency_s)
        self._measuring = Measuring(self.track.plane)
        self._follow = Follower(self._path)
        self._trail = Trail(self._path)
        self._keeper: LapKeeper | None = None
        self._driven_at = [-np.inf] * len(self._gates)

    @property
    def reference(self) -> Reference | None:
        """What the delta is taken against."""
        if self._given is not None:
            return self._given
        return None if self._keeper is None else self._keeper.own

    @property
    def laps(self) -> list[LapTimed]:
        """The laps that are over, as last known."""
        return self._before if self._keeper is None else self._keeper.laps

    def take(self, fix: Fix, *, again: bool = False) -> list[Event]:
        """
        Take a fix.

        Parameters
        ----------
        fix : Fix
            Later than the one before.
        again : bool
            Whether the receiver began again with it, so that the time before is another one.

        Returns
        -------
        list of Event
            The last is a `LapGoing`; nothing for a place that is not near the circuit at all.
        """
        measured = self._measuring.of(fix)
        if not float(np.abs(measured.position_m).max()) < _FAR_M:
            # NaN and infinity too: a place on the other side of the earth has none on this plane.
            return []
        # Over a long hole nothing is known of the car, and the numbers run out of digits.
        hole = measured.time_s - self._motion.time_s > _LONG_HOLE_S
        if (again or hole) and self.fixes:
            self._before = self.laps
            self._begin()
        self.fixes += 1
        crossings = self._step(measured)
        now = self._now()
        self._follow.step(now.time_s, now.position_m, now.velocity_mps)
        speed = float(np.hypot(*now.velocity_mps))
        if self._keeper is None:
            self._keeper = LapKeeper(
                self.track, self._motion, self._follow, self._trail, self._before,
                compared=self._given is None,
            )  # fmt: skip
        keeper = self._keeper
        self._trail.add(
            now.time_s, now.position_m, speed, self._follow.station_m, self._follow.offset_m,
            lost=self._follow.lost,
        )  # fmt: skip
        out: list[Event] = []
        for k, line in crossings:
            self._driven_at[k] = self._follow.driven_m
            out += keeper.passed(k, line)
        out += keeper.go_on(speed)
        return [*out, self._going(keeper.lap, now, speed)]

    def _now(self) -> Moving:
        motion = self._motion
        return Moving(motion.time_s, motion.position_m, motion.velocity_mps)

    def _step(self, measured: Measured) -> list[tuple[int, Crossed]]:
        """Go on to a fix; keep the moments at which lines were crossed on the way."""
        motion = self._motion
        if np.isnan(motion.time_s):
            motion.step(measured)
            return []
        before = self._now()
        if not any(may_reach(gate, before, measured.time_s) for gate in self._gates):
            motion.step(measured)
            return []
        saved = motion.saved()
        motion.step(measured)
        after = self._now()
        hits = []
        for k, gate in enumerate(self._gates):
            hit = crossing(gate, before, after)
            if hit is not None and self._is_there(k, gate, hit[1]):
                hits.append((hit[0], k))
        if not hits:
            return []
        # Once more, with a stop at each line to keep its moment.
        motion.restore(saved)
        kept = []
        for time_s, k in sorted(hits):
            motion.go_to(time_s)
            kept.append((k, crossed(self._gates[k], motion.mark())))
        motion.step(measured)
        return kept

    def _is_there(self, k: int, gate: Gate, offset_m: float) -> bool:
        """Whether a crossing is on the line, and the first of this visit."""
        if self._follow.driven_m - self._driven_at[k] < _VISIT_M:
            return False
        station = self._follow.station_m
        reach = _NEAR_LINE_M + (200.0 if self._follow.lost else 0.0)
        if np.isfinite(station):
            away = cyclic_difference(station, self.track.gate_stations_m[k], self._path.length_m)
            if abs(float(away)) > reach:
                return False
        if abs(offset_m) <= 0.5 * gate.width_m + self._slack_m:
            return True
        # Beside the line only the pit lane counts, and only for the start/finish line.
        return k == 0 and abs(offset_m) <= PIT_REACH_M and self._in_pit()

    def _in_pit(self) -> bool:
        return self._keeper is not None and self._keeper.in_pit_now()

    def _going(self, lap: Lap, now: Moving, speed_mps: float) -> LapGoing:
        """Say how the lap is going."""
        follow = self._follow
        since_s, delta, predicted = NAN, (NAN, NAN), (NAN, NAN)
        reference = self.reference
        if lap.start is not None:
            since_s = now.time_s - lap.start.time_s(self._motion)
            at_m = float(pinned(np.array(follow.station_m - lap.station_m), lap.pin_m))
            fits = lap.kind == "timed" and not follow.lost and 0.0 < at_m < self._path.length_m
            if reference is not None and fits:
                delta = self._delta(reference, lap.start, now, at_m, since_s)
                sd = float(np.hypot(delta[1], reference.lap_time_sd_s))
                predicted = (reference.lap_time_s + delta[0], sd)
        return LapGoing(
            lap.number, lap.kind, now.time_s, since_s,
            float(np.mod(follow.station_m, self._path.length_m)), speed_mps, *delta, *predicted,
            "" if reference is None else reference.words,
        )  # fmt: skip

    def _delta(
        self, reference: Reference, start: Crossed, now: Moving, at_m: float, since_s: float
    ) -> tuple[float, float]:
        """Time lost to the reference at this place and its standard deviation."""
        weight = station_weight(self._path, self._follow.station_m, now.velocity_mps)
        rows = [(None, weight), (start.mark, -start.weight), *reference.shared(at_m)]
        variance = self._motion.variance(rows)
        variance += reference.variance(at_m, weight - start.weight)
        return since_s - reference.time_at(at_m), float(np.sqrt(variance))
