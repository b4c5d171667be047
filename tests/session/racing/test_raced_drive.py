"""What a session says of a race: notes, other cars, and what it refuses."""

import math
from dataclasses import replace

import pandas as pd
import pytest
from race_worlds import ZERO_UTC, mine, theirs

from lapwright.errors import LapError
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session


def _other(**changes: object) -> Session:
    log = replace(theirs().session.log, **changes)  # type: ignore[arg-type]
    return Session(log, mine().session.shared_track)


def test_wet_and_dry_are_not_mixed_in_a_fade() -> None:
    session = mine().session
    stops = session.pit_stops
    assert math.isfinite(session.stints["fade_s_per_lap"].iloc[0])
    drying = session.with_notes(LogNotes(conditions="damp, then dry"))
    assert math.isnan(drying.stints["fade_s_per_lap"].iloc[0])
    # The laps, and what else is not a trend, stay.
    assert drying.stints["median_s"].iloc[0] == session.stints["median_s"].iloc[0]
    assert drying.pit_stops is stops


def test_the_laps_count_as_before() -> None:
    session = mine().session
    (lap,) = session.held_up["lap"].tolist()
    row = session.row(int(lap))
    assert row["flags"] == ()
    assert bool(row["representative"]) == (int(lap) in session.clean_laps)


def test_a_log_without_absolute_time_has_no_gap() -> None:
    with pytest.raises(LapError, match="has no absolute time, so no gap"):
        mine().session.gaps_to(_other(start_utc=None))
    with pytest.raises(LapError, match="logger's own clock, not the satellites' time"):
        mine().session.gaps_to(_other(own_clock=True))


def test_logs_of_different_hours_have_no_gap() -> None:
    later = ZERO_UTC + pd.Timedelta(5, unit="h")
    with pytest.raises(
        LapError, match=r"do not overlap in time: car_1\.csv begins 2026-03-01 02:00"
    ):
        mine().session.gaps_to(_other(start_utc=later))


def test_other_tracks_have_no_gap() -> None:
    # Each with a path of its own, from its own log: their stations do not agree.
    track = mine().session.shared_track
    apart = Session(theirs().session.log, replace(track, path=None, corners=(), pit_lane=None))
    assert abs(apart.path.length_m - mine().session.path.length_m) > 1e-6
    with pytest.raises(LapError, match="on different tracks"):
        mine().session.gaps_to(apart)


def test_a_clock_that_is_late_shows_as_it_is() -> None:
    # The other log's clock moved by two seconds moves every gap by two seconds.
    gaps = mine().session.gaps_to(theirs().session)
    start = theirs().session.log.start_utc
    assert start is not None
    moved = mine().session.gaps_to(_other(start_utc=start + pd.Timedelta(2, unit="s")))
    shift = moved["gap_s"].to_numpy() - gaps["gap_s"].to_numpy()[: len(moved)]
    assert shift == pytest.approx(-2.0, abs=1e-3)
