"""How the fixes come in: whether at all, whether late, whether the receiver is sure of them."""

import math
from dataclasses import dataclass

from lapwright.live_session.events import Receiving
from lapwright.live_session.receiving.epochs import Epochs
from lapwright.live_session.receiving.fixes import Fix, InOrder

# After so long without a fix no number is a live one any more. [s]
STALE_S = 2.0
# Later than the promptest fix of the session by this is late. [s]
_LATE_S = 1.0
# The promptest is forgotten slowly, for two clocks drift apart: so much a second. [s/s]
_DRIFT = 1e-4
# A receiver is unsure of itself from here on (common practice, no source). [1], [m]
_POOR_HDOP, _POOR_SD_M = 4.0, 5.0
_TELL_S = 1.0


@dataclass(eq=False)
class Health:
    """
    Watches what comes in.

    Attributes
    ----------
    epochs, order
        What counts the damage.
    """

    epochs: Epochs
    order: InOrder
    _begun_s: float = math.nan
    _byte_s: float = math.nan
    _fix_s: float = math.nan
    _fix: Fix | None = None
    _prompt_s: float = math.inf
    _late_s: float = 0.0
    _waited_s: float = 0.0
    _without: int = 0
    _told: tuple[str, float] = ("", -math.inf)

    def got_bytes(self, now_s: float) -> None:
        """Something came."""
        self._byte_s = now_s

    def got_fix(self, fix: Fix, came_s: float, now_s: float) -> None:
        """A fix came, and has been taken in by now."""
        behind_s = now_s - fix.time_s
        passed_s = 0.0 if math.isnan(self._fix_s) else now_s - self._fix_s
        self._waited_s = now_s - came_s
        self._prompt_s = min(behind_s, self._prompt_s + _DRIFT * passed_s)
        self._late_s = behind_s - self._prompt_s
        self._fix_s, self._fix = now_s, fix
        self._without = self.epochs.without_position

    def tell(self, now_s: float, why: str, recording: str) -> Receiving | None:
        """Say how it is, if that has changed or a second has gone by."""
        state, said = self._state(now_s, why)
        if state == self._told[0] and now_s - self._told[1] < _TELL_S:
            return None
        self._told = state, now_s
        age_s = now_s - self._fix_s
        left_out = self.order.repeated + self.order.odd
        return Receiving(state, said, age_s, recording, self.epochs.damaged, left_out)

    def _state(self, now_s: float, why: str) -> tuple[str, str]:
        if why:
            return "nothing" if math.isfinite(self._fix_s) else "waiting", why
        if math.isnan(self._byte_s):
            return "waiting", "nothing has come yet"
        if math.isnan(self._fix_s) or now_s - self._fix_s > STALE_S:
            return self._without_fixes(now_s)
        fix = self._fix
        if self._waited_s > _LATE_S:
            return "late", f"this computer is {self._waited_s:.0f} s behind what has come"
        if self._late_s > _LATE_S:
            return "late", f"fixes come {self._late_s:.1f} s late"
        if fix is not None and fix.hdop > _POOR_HDOP:
            return "poor", f"the receiver sees satellites badly placed (HDOP {fix.hdop:.1f})"
        if fix is not None and fix.position_sd_m > _POOR_SD_M:
            return "poor", f"the receiver says it is good to {fix.position_sd_m:.0f} m"
        return "fixes", ""

    def _without_fixes(self, now_s: float) -> tuple[str, str]:
        if now_s - self._byte_s > STALE_S:
            return "nothing", f"nothing has come for {now_s - self._byte_s:.0f} s"
        if self.epochs.without_position > self._without:
            return "no position", "the receiver has no position"
        return "no position", "what comes holds no position; is it NMEA 0183 with RMC or GGA?"
