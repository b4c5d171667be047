"""A good log with one seam keeps its laps, but for the one across the seam."""

import pytest
from damage.good_logs import good_log
from damage.lies import told, truth
from damage.seams import at_speed, clock_set, line_to_line, lost_and_new, twice

DAY_S = 86_400.0
CSV, GPX, NMEA = "kart 10 Hz utc", "kart 5 Hz gpx", "kart 10 Hz nmea"


@pytest.mark.parametrize(
    ("kind", "share", "by_s"),
    [
        (GPX, 0.5, 3600.0), (GPX, 0.3, -3600.0), (NMEA, 0.5, -3600.0), (CSV, 0.3, 900.0),
        (GPX, 0.5, -3 * DAY_S),
    ],
)  # fmt: skip
def test_a_clock_set_once_costs_the_lap_it_was_set_in(kind, share, by_s) -> None:
    good = good_log(kind)
    now = told(good, clock_set(good, share, by_s))
    lost, new = lost_and_new([truth(kind)], truth(kind), now)
    assert lost <= 1
    assert new == []
    assert len(now.log.fixes) == len(truth(kind).log.fixes)
    assert "gap" in now.codes


@pytest.mark.parametrize(
    ("cut", "kind", "pause_s"),
    [
        ("at speed", GPX, 900.0), ("at speed", GPX, 14 * 3600.0), ("line to line", CSV, 900.0),
        ("line to line", GPX, 3600.0), ("line to line", GPX, 3 * DAY_S),
    ],
)  # fmt: skip
def test_two_sessions_in_one_file_have_the_laps_of_both(cut, kind, pause_s) -> None:
    good = good_log(kind)
    session = at_speed(good) if cut == "at speed" else line_to_line(good, kind)
    alone = told(good, session)
    assert alone.laps["representative"].sum() >= 3
    now = told(good, twice(good, session, pause_s))
    lost, new = lost_and_new([alone, alone], truth(kind), now)
    assert lost <= 1
    assert new == []
    assert len(now.log.fixes) == 2 * len(alone.log.fixes)
    assert "gap" in now.codes
