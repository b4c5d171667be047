from dataclasses import replace

from lapwright.cli.live.event_text import EventText
from lapwright.live_session.events import LapGoing, LapTimed, Learned, Receiving, SectorTimed

LAP = LapTimed(3, "timed", (), 94.812, 0.018, (), (), 0.0, 94.0, refined=False, best=True)


def test_a_line_each_and_none_twice() -> None:
    text = EventText()
    assert text.line(LAP) == "lap 3  1:34.812 ± 0.018  best so far  (to be refined)"
    assert text.line(replace(LAP, refined=True)) is None
    moved = replace(LAP, refined=True, time_s=94.8, flags=("spin",), best=False)
    assert text.line(moved) == "lap 3  1:34.800 ± 0.018  spin  (refined)"
    sector = SectorTimed(3, 1, 31.25, 0.04, 900.0, refined=False)
    assert text.line(sector) == "lap 3  sector 1  31.25 ± 0.04 s  (to be refined)"


def test_laps_without_a_time() -> None:
    out = replace(LAP, kind="out", time_s=float("nan"), best=False)
    assert EventText().line(out) == "lap 3  out lap  (to be refined)"


def test_the_state_of_the_fixes_is_said_when_it_changes() -> None:
    text = EventText()
    said = text.line(Receiving("nothing", "nothing has come for 3 s", 3.0, "recording to r.nmea"))
    assert said == "NO FIXES  nothing has come for 3 s  recording to r.nmea"
    assert (
        text.line(Receiving("nothing", "nothing has come for 4 s", 4.0, "recording to r.nmea"))
        is None
    )
    full = Receiving("nothing", "", 5.0, "NOT RECORDING: No space left on device (r.nmea)")
    assert "NOT RECORDING" in (text.line(full) or "")


def test_every_fix_is_no_line_and_what_is_learned_is() -> None:
    nan = float("nan")
    assert EventText().line(LapGoing(1, "out", 0.0, nan, nan, 3.0, nan, nan, nan, nan, "")) is None
    assert "0.4 m from fix to fix" in (
        EventText().line(Learned("this session", 0.4, 1.2, 900)) or ""
    )
