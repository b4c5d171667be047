"""When a video begins: time stamps with their zone, and passages of the start line."""

from dataclasses import replace
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from worlds import World

from lapwright.captions import video_start_at_line, video_start_at_time
from lapwright.captions.video_start import video_time_s
from lapwright.errors import LapError, LogError
from lapwright.ingest import Log
from lapwright.notes.time_zone import TimeZone

SYDNEY = TimeZone("Australia/Sydney", ZoneInfo("Australia/Sydney"))


@pytest.fixture
def log(captioned: World) -> Log:
    """The log, begun at a time that is easy to count from."""
    return replace(captioned.log, start_utc=pd.Timestamp("2026-02-06T13:59:50Z"))


# Sydney is at UTC+11 in February (IANA time zone database).
@pytest.mark.parametrize(
    ("stamp", "since_s"),
    [
        ("2026-02-06T14:00:00Z", 10.0), ("2026-02-06T15:00:00+01:00", 10.0),
        ("2026-02-06 14:00:00 UTC", 10.0), ("2026-02-06 14:00:00.5utc", 10.5),
        ("2026-02-07 01:00:00 local", 10.0), ("01:00:00 local", 10.0), ("1:00:00 LOCAL", 10.0),
        ("14:00:00 UTC", 10.0), ("13:58:00Z", -110.0), ("15:00:00+01:00", 10.0),
        ("12.5", 12.5), ("-8", -8.0), (7, 7.0), (" +3 ", 3.0),
    ],
)  # fmt: skip
def test_time_stamps(log: Log, stamp: str | float, since_s: float) -> None:
    assert video_start_at_time(log, stamp, SYDNEY) == pytest.approx(since_s)


def test_a_clock_time_around_midnight_is_the_nearest(log: Log) -> None:
    late = replace(log, start_utc=pd.Timestamp("2026-02-06T00:00:05Z"))
    assert video_start_at_time(late, "23:59:55 UTC") == pytest.approx(-10.0)


def test_an_hour_that_comes_twice_is_the_one_of_the_log(log: Log) -> None:
    # Clocks in Sydney went back from 3:00 to 2:00 on 5 April 2026, at 16:00 UTC of the 4th (IANA
    # time zone database).
    for start in ("2026-04-04T15:29:50Z", "2026-04-04T16:29:50Z"):
        early_or_late = replace(log, start_utc=pd.Timestamp(start))
        stamp = "2026-04-05 02:30:00 local"
        assert video_start_at_time(early_or_late, stamp, SYDNEY) == pytest.approx(10.0)


@pytest.mark.parametrize(
    "stamp",
    ["14:00:00", "2026-02-06 14:00:00", "2026-02-06T14:00:00Z local", "noon", "2026-02-06 UTC",
     "25:00:00 UTC", "", "nan", "3:12.4"],
)  # fmt: skip
def test_what_does_not_say_its_zone_or_is_no_time(log: Log, stamp: str) -> None:
    with pytest.raises(ValueError, match=r"10:15:03 UTC, or 12:15:03 local"):
        video_start_at_time(log, stamp, SYDNEY)


def test_a_log_without_a_date(captioned: World) -> None:
    undated = replace(
        captioned.log, start_utc=None, time_scale="time_of_day", first_fix_s=3600.0 * 10
    )
    assert video_start_at_time(undated, "10:00:20.5") == pytest.approx(20.5)
    with pytest.raises(LogError, match="no date"):
        video_start_at_time(undated, "10:00:20 UTC")
    with pytest.raises(LogError, match="no date"):
        video_start_at_time(replace(undated, time_scale="relative"), "10:00:20")


def test_the_line(captioned: World) -> None:
    session = captioned.session
    first = session.timed_laps[0]
    start_s = float(session.row(first)["start_s"])
    assert video_start_at_line(session, "3:12.4") == pytest.approx(start_s - 192.4)
    last = session.timed_laps[-1]
    there_s = float(session.row(last)["start_s"])
    assert video_start_at_line(session, 60.0, last) == pytest.approx(there_s - 60.0)
    with pytest.raises(LapError, match="there is no lap 77"):
        video_start_at_line(session, 1.0, 77)


def test_a_lap_that_does_not_begin_at_the_line(captioned: World) -> None:
    # A log that begins in the middle of a lap.
    session = captioned.session
    from_s = float(session.row(session.timed_laps[0])["start_s"]) + 30.0
    fixes = captioned.log.fixes
    fixes = fixes[fixes["time_s"] > from_s].reset_index(drop=True)
    fixes["time_s"] -= fixes["time_s"].iloc[0]
    cut = type(session)(replace(captioned.log, fixes=fixes), captioned.track, repeat_line=False)
    number = int(cut.laps["lap"].iloc[0])
    with pytest.raises(LapError, match=f"lap {number} begins with the log"):
        video_start_at_line(cut, "0:10", number)
    start_s = float(cut.row(cut.timed_laps[0])["start_s"])
    assert video_start_at_line(cut, "0:10") == pytest.approx(start_s - 10.0)


@pytest.mark.parametrize(
    ("text", "time_s"),
    [("3:12.4", 192.4), ("03:12,4", 192.4), ("1:03:12.4", 3792.4), ("192.4", 192.4), (5, 5.0),
     ("100:00", 6000.0), ("0", 0.0)],
)  # fmt: skip
def test_times_of_a_player(text: str | float, time_s: float) -> None:
    assert video_time_s(text) == pytest.approx(time_s)


@pytest.mark.parametrize("text", ["", "3:61", "1:60:00", "-3", "three", "1:2:3:4", "nan"])
def test_what_is_no_time_of_a_player(text: str) -> None:
    with pytest.raises(ValueError, match="is not a time in a video"):
        video_time_s(text)
