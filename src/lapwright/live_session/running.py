"""A session while it is driven: an engine, and one that has learned more when there is one."""

import threading
from dataclasses import replace

import numpy as np

from lapwright.live_session.engine import Engine
from lapwright.live_session.events import Event, LapTimed, Learned
from lapwright.live_session.learning import LEARN_AFTER, MOST_FIXES, Learning, Setting
from lapwright.live_session.receiving.fixes import Fix

# A lap time that moves by less is not told again. [s]
_TOLD_AGAIN_S = 0.0005


class Running:
    """
    Fixes in, what happened out.

    Parameters
    ----------
    setting : Setting
    at_once : bool
        Whether what is found out of the noise is waited for.  A replay as fast as it goes is so the
        same every time; while a car is driven nothing may wait.
    """

    def __init__(self, setting: Setting, *, at_once: bool) -> None:
        self._setting, self._at_once = setting, at_once
        self._engine = setting.first()
        self._fixes: list[tuple[Fix, bool]] | None = []
        self._learning: Learning | None = None
        self._learned_after = 0

    @property
    def laps(self) -> list[LapTimed]:
        """The laps so far, as last known."""
        return sorted(self._engine.laps, key=lambda lap: lap.lap)

    @property
    def engine(self) -> Engine:
        """What is known now."""
        return self._engine

    def take(self, fix: Fix, *, again: bool = False) -> list[Event]:
        """Take a fix; see `Engine.take`."""
        if self._fixes is not None:
            self._fixes.append((fix, again))
        out = self._engine.take(fix, again=again)
        if again and self._engine.fixes > 1:
            # What went before is of another time.
            self._fixes, self._learning = None, None
        if any(isinstance(one, LapTimed) and one.refined for one in out):
            self._learn()
        learned = self._handed_over()
        return [*out, *learned]

    def _learn(self) -> None:
        """Begin to find out what the laps so far show, if it is time."""
        if self._fixes is None or self._learning is not None:
            return
        count = sum(lap.kind == "timed" for lap in self._engine.laps)
        if count not in LEARN_AFTER or count <= self._learned_after:
            return
        self._learned_after = count
        self._learning = Learning(self._setting, self._fixes)
        if self._at_once:
            self._learning.run(yielding=False)
        else:
            work = threading.Thread(
                target=self._learning.run, kwargs={"yielding": True}, daemon=True
            )
            work.start()

    def _handed_over(self) -> list[Event]:
        """Go on with the engine that has learned, once it is there."""
        learning = self._learning
        if learning is None or not learning.done.is_set():
            self._forget()
            return []
        self._learning = None
        before = {lap.lap: lap for lap in self._engine.laps}
        engine = learning.caught_up()
        if engine is None:
            return []
        self._engine = engine
        noise = engine.known.noise
        out: list[Event] = []
        if engine.known.source == "this session":
            # Of a receiver that was known before only the place on the circuit is found out.
            out.append(Learned("this session", noise.white_m, noise.drift_m, engine.fixes))
        out += [
            replace(lap, refined=True)
            for lap in self.laps
            if lap.lap not in before or _moved(before[lap.lap], lap)
        ]
        self._forget()
        return out

    def _forget(self) -> None:
        """Let go of the fixes where no more is to be found out of them."""
        if self._fixes is not None and self._learning is None and len(self._fixes) > MOST_FIXES:
            self._fixes = None


def _moved(before: LapTimed, now: LapTimed) -> bool:
    one, other = (np.array([lap.time_s, lap.time_sd_s]) for lap in (before, now))
    same = (np.abs(one - other) <= _TOLD_AGAIN_S) | (np.isnan(one) & np.isnan(other))
    return before.kind != now.kind or before.flags != now.flags or not bool(same.all())
