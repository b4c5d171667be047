"""What happens while a lap is driven, one line each, where there is no screen to draw on."""

import math

from lapwright.live_session.events import Event, LapTimed, Learned, Receiving, SectorTimed
from lapwright.units import clock, error_bar
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.live import AT_FIRST, REFINED, STATES

_PM = "\N{PLUS-MINUS SIGN}"


class EventText:
    """Writes lines, and none twice."""

    def __init__(self) -> None:
        self._state = ""
        self._told: dict[tuple[int, int], str] = {}

    def line(self, event: Event) -> str | None:
        """
        Write one happening; None for what is not worth a line.

        Examples
        --------
        >>> print(EventText().line(SectorTimed(3, 1, 31.25, 0.04, 900.0, refined=False)))
        lap 3  sector 1  31.25 ± 0.04 s  (to be refined)
        """
        if isinstance(event, SectorTimed):
            time = clock(event.time_s, event.time_sd_s)
            said = f"lap {event.lap}  sector {event.sector}  {time} {_PM} "
            said += f"{error_bar(event.time_sd_s)} s"
            return self._news(event.lap, event.sector, said, refined=event.refined)
        if isinstance(event, LapTimed):
            return self._news(event.lap, 0, _lap_text(event), refined=event.refined)
        if isinstance(event, Learned):
            return (
                f"from now on the ± go by this receiver's own noise ({event.fixes} fixes): "
                f"{event.position_sd_m:.1f} m from fix to fix, {event.drift_sd_m:.1f} m slow"
            )
        if isinstance(event, Receiving):
            said = "  ".join(filter(None, (STATES[event.state], event.why, event.recording)))
            key = f"{event.state} {event.recording}"
            if key == self._state:
                return None
            self._state = key
            return said
        return None

    def _news(self, lap: int, sector: int, said: str, *, refined: bool) -> str | None:
        """Say it, with how sure it is, unless the very same was said before."""
        if self._told.get((lap, sector)) == said:
            return None
        # The laps before the last few are not spoken of again.
        self._told = {key: text for key, text in self._told.items() if key[0] > lap - 30}
        self._told[lap, sector] = said
        return f"{said}  ({REFINED if refined else AT_FIRST})"


def _lap_text(lap: LapTimed) -> str:
    if lap.kind != "timed" or math.isnan(lap.time_s):
        said = f"lap {lap.lap}  {KIND_WORDS[lap.kind]}"
    else:
        said = f"lap {lap.lap}  {clock(lap.time_s, lap.time_sd_s)} {_PM} {error_bar(lap.time_sd_s)}"
    remarks = f"  {flag_list(lap.flags)}" if lap.flags else ""
    return f"{said}{remarks}{'  best so far' if lap.best else ''}"
