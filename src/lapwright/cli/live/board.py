"""
What there is to be seen of a lap that is being driven: a few short texts, the same for every view.

A number that is too old to be a live one is a dash here, with its age in words, so that no view can
show a stale one.
"""

import math
from dataclasses import dataclass, field

from lapwright.live_session.events import Event, LapGoing, LapTimed, Learned, Receiving, SectorTimed
from lapwright.live_session.receiving.health import STALE_S
from lapwright.units import Units, clock, error_bar, number, signed
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.live import HEADS, NOT_YET, STATES, against, age

_PM = "\N{PLUS-MINUS SIGN}"
_RECENT_LAPS = 6


@dataclass(frozen=True, slots=True)
class Shown:
    """
    The texts of one moment.

    Attributes
    ----------
    state, why : str
        How the fixes come in, and more of it.
    live : bool
        Whether the lap's own numbers are live ones; else they are dashes.
    lap : str
        Which lap it is.
    delta, delta_bar, against : str
    running, predicted, predicted_bar, speed : str
    last, best, sectors : str
    recording : str
    laps : tuple of str
        The last few laps, newest first.
    """

    state: str
    why: str
    live: bool
    lap: str
    delta: str
    delta_bar: str
    against: str
    running: str
    predicted: str
    predicted_bar: str
    speed: str
    last: str
    best: str
    sectors: str
    recording: str
    laps: tuple[str, ...] = ()


@dataclass(eq=False)
class Board:
    """
    Takes what happens and says what is to be seen.

    Attributes
    ----------
    units : Units
    """

    units: Units
    _going: LapGoing | None = None
    _going_at_s: float = -math.inf
    _state: Receiving = field(
        default_factory=lambda: Receiving("waiting", "nothing has come yet", math.nan)
    )
    _laps: dict[int, LapTimed] = field(default_factory=dict)
    _sectors: dict[int, SectorTimed] = field(default_factory=dict)
    _sectors_of: int = -1

    def take(self, event: Event, now_s: float) -> None:
        """
        Take what happened.

        Parameters
        ----------
        event : Event
        now_s : float
            Monotonic. [s]
        """
        if isinstance(event, LapGoing):
            self._going, self._going_at_s = event, now_s
            if self._state.state in ("waiting", "nothing", "no position"):
                self._state = Receiving("fixes", "", 0.0, self._state.recording)
        elif isinstance(event, LapTimed):
            if event.best:
                self._laps = {n: _not_best(lap) for n, lap in self._laps.items()}
            self._laps[event.lap] = event
            # An unending session is not kept: the best and the last few are.
            keep = [*sorted(self._laps)[-20:], *(n for n, lap in self._laps.items() if lap.best)]
            self._laps = {n: self._laps[n] for n in sorted({*keep})}
        elif isinstance(event, SectorTimed):
            if event.lap > self._sectors_of:
                self._sectors, self._sectors_of = {}, event.lap
            if event.lap == self._sectors_of:
                self._sectors[event.sector] = event
        elif not isinstance(event, Learned):
            self._state = event

    def shown(self, now_s: float) -> Shown:
        """Return what is to be seen at a moment."""
        going, state = self._going, self._state
        age_s = now_s - self._going_at_s
        live = going is not None and age_s <= STALE_S and state.state != "ended"
        name, why = state.state, state.why
        if going is not None and not live and name in ("fixes", "poor", "late"):
            name = "nothing"
        if going is not None and not live and name != "ended":
            why = f"last fix {age(age_s)}" + (f"; {why}" if why else "")
        best = next((lap for lap in self._laps.values() if lap.best), None)
        last = self._laps[max(self._laps)] if self._laps else None
        return Shown(
            STATES[name], why, live, _which(going), *_delta(going, live=live),
            "" if going is None else against(going.reference),
            _running(going, live=live), *_predicted(going, live=live),
            self._speed(going, live=live), _lap_text(last), _lap_text(best), self._sector_text(),
            state.recording,
            tuple(_lap_text(self._laps[n]) for n in sorted(self._laps)[::-1][:_RECENT_LAPS]),
        )  # fmt: skip

    def _speed(self, going: LapGoing | None, *, live: bool) -> str:
        if going is None or not live:
            return NOT_YET
        return f"{number(self.units.speed_of(going.speed_mps), most=0)} {self.units.speed}"

    def _sector_text(self) -> str:
        said = [
            f"S{one.sector} {clock(one.time_s, one.time_sd_s, most=2)} {_PM} "
            f"{error_bar(one.time_sd_s)}"
            for one in sorted(self._sectors.values(), key=lambda one: one.sector)
        ]
        return f"lap {self._sectors_of}: " + "  ".join(said) if said else NOT_YET


def _not_best(lap: LapTimed) -> LapTimed:
    return LapTimed(
        lap.lap, lap.kind, lap.flags, lap.time_s, lap.time_sd_s, lap.sectors_s,
        lap.sector_sds_s, lap.start_s, lap.end_s, lap.refined,
    )  # fmt: skip


def _which(going: LapGoing | None) -> str:
    if going is None:
        return NOT_YET
    return f"lap {going.lap}" if going.kind == "timed" else f"{KIND_WORDS[going.kind]}"


def _delta(going: LapGoing | None, *, live: bool) -> tuple[str, str]:
    if going is None or not live or math.isnan(going.delta_s):
        return NOT_YET, ""
    sd = going.delta_sd_s
    # As many digits as can be read at a glance and the bar allows.
    return signed(going.delta_s, sd, most=2), f"{_PM} {error_bar(sd, most=2)}"


def _running(going: LapGoing | None, *, live: bool) -> str:
    if going is None or not live or math.isnan(going.since_line_s):
        return NOT_YET
    return clock(going.since_line_s, most=1)


def _predicted(going: LapGoing | None, *, live: bool) -> tuple[str, str]:
    if going is None or not live or math.isnan(going.predicted_s):
        return NOT_YET, ""
    sd = going.predicted_sd_s
    return clock(going.predicted_s, sd, most=2), f"{_PM} {error_bar(sd, most=2)}"


def _lap_text(lap: LapTimed | None) -> str:
    if lap is None:
        return NOT_YET
    name = f"lap {lap.lap}" if lap.kind == "timed" else f"{KIND_WORDS[lap.kind]} ({lap.lap})"
    said = [name]
    if lap.kind == "timed" and math.isfinite(lap.time_s):
        said.append(f"{clock(lap.time_s, lap.time_sd_s)} {_PM} {error_bar(lap.time_sd_s)}")
    if lap.flags:
        said.append(flag_list(lap.flags))
    if lap.best:
        said.append("best")
    return "  ".join(said)


def head(name: str) -> str:
    """Return the words above one of the texts."""
    return HEADS[name]
