"""
The receiver's noise and its place on the circuit, found out from the laps so far.

That takes seconds, and the lap that is going must not wait for it: another process works them out
(`lapwright.live_session.what_fixes_show`), a thread lets the fixes so far run through a new
`Engine` and hands it over once it has caught up.
"""

import threading
import time
from dataclasses import dataclass, field

import numpy as np

from lapwright.errors import LapwrightError
from lapwright.geometry import Track
from lapwright.kept.arrays import CannotKeep
from lapwright.laps.session_offset import (
    PRIOR_SD_M,
    SessionOffset,
    placed,
)
from lapwright.live_session.engine import Engine
from lapwright.live_session.forward.known_noise import KnownNoise, default_noise
from lapwright.live_session.receiving.fixes import Fix
from lapwright.live_session.reference import lap_of
from lapwright.live_session.what_fixes_show import in_another_process, what_fixes_show
from lapwright.session import Session

# Looked at again after so many timed laps: later ones would change little.
LEARN_AFTER = (1, 2, 4, 8)
# More fixes than these are not kept: a quarter of an hour at ten a second.
MOST_FIXES = 9000
# So near to the newest fix the rest is taken at once, without anybody noticing.
_NEAR = 3


@dataclass(eq=False)
class Setting:
    """
    What engines of one session are made of.

    Attributes
    ----------
    track : Track
        With a path, as its file has it.
    carried : KnownNoise or None
        From an earlier session of the same receiver; then only the place is found out.
    reference : Session or None
    reference_lap : int or None
    last_time : KnownNoise or None
        To begin with, until the laps have shown more.
    """

    track: Track
    carried: KnownNoise | None = None
    reference: Session | None = None
    reference_lap: int | None = None
    last_time: KnownNoise | None = None

    def engine(self, known: KnownNoise, placing: SessionOffset) -> Engine:
        """Make one, with nothing taken yet."""
        given = None
        if self.reference is not None and self.reference_lap is not None:
            given = lap_of(self.reference, self.reference_lap, placing.cov_m2)
        return Engine(placed(self.track, placing), known, given)

    def first(self) -> Engine:
        """Make the one to begin with."""
        nowhere = SessionOffset(np.zeros(2), np.eye(2) * PRIOR_SD_M**2)
        return self.engine(self.carried or self.last_time or default_noise(), nowhere)

    def learned(self, fixes: list[Fix], *, elsewhere: bool) -> Engine:
        """Make one that knows what the fixes show; none of them taken yet."""
        if elsewhere:
            return self.engine(*in_another_process(self.track, self.carried, fixes))
        return self.engine(*what_fixes_show(self.track, self.carried, fixes))


@dataclass(eq=False)
class Learning:
    """
    One time of finding out; `engine` is there when `done` is set.

    Attributes
    ----------
    fixes : list of (Fix, bool)
        Grows while the thread works.
    """

    setting: Setting
    fixes: list[tuple[Fix, bool]]
    done: threading.Event = field(default_factory=threading.Event)
    engine: Engine | None = None
    taken: int = 0

    def run(self, *, yielding: bool) -> None:
        """Find out, and catch up; lets others run in between where they are waiting."""
        try:
            fixes = [fix for fix, _ in self.fixes]
            engine = self.setting.learned(fixes, elsewhere=yielding)
            while self.taken < len(self.fixes) - (_NEAR if yielding else 0):
                self._take(engine)
                if yielding:
                    # A millisecond's rest for each half of work: the lap that is going comes first.
                    time.sleep(0.001)
            self.engine = engine
        except (ValueError, np.linalg.LinAlgError, LapwrightError, CannotKeep):
            # Fixes that say nothing of the noise: what was known goes on to hold.
            self.engine = None
        finally:
            self.done.set()

    def caught_up(self) -> Engine | None:
        """Take what has come since, and hand the engine over; None where nothing came of it."""
        if self.engine is not None:
            while self.taken < len(self.fixes):
                self._take(self.engine)
        return self.engine

    def _take(self, engine: Engine) -> None:
        fix, again = self.fixes[self.taken]
        engine.take(fix, again=again)
        self.taken += 1
