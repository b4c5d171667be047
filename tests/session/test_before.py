"""Which session is the one before."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from worlds import World

import lapwright as lw
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.session.before import Span, log_before, same_driver

TRIED = ("corner 1, braking: later",)
FOUND = (WorthTryingInWords(1, "braking"),)


def no_dates(_: str) -> Span:
    """Logs without a date."""
    return None


def days(**starts: int) -> dict[str, Span]:
    """Logs of half an hour, each from so many hours after one moment."""
    zero = pd.Timestamp("2026-02-06", tz="UTC")
    spans: dict[str, Span] = {}
    for name, start in starts.items():
        begun = zero + pd.Timedelta(hours=start)
        spans[f"{name}.csv"] = begun, begun + pd.Timedelta(minutes=30)
    return spans


@pytest.fixture
def now(tmp_path: Path) -> Path:
    for name in ("friday.csv", "other.csv", "saturday.csv", "sunday.csv"):
        (tmp_path / name).touch()
    return tmp_path / "saturday.csv"


def test_the_last_session_of_the_same_driver_where_something_was_tried(now: Path) -> None:
    notes = {
        "friday.csv": LogNotes(driver="Runa"),
        "other.csv": LogNotes(driver="Ivo"),
        "gone.csv": LogNotes(driver="Runa"),
        "saturday.csv": LogNotes(driver="Runa"),
        "sunday.csv": LogNotes(driver="Runa"),
    }
    # Nothing was to be tried and nothing was: no session is asked for.
    assert log_before(now, notes, no_dates) is None
    tried = notes | {"saturday.csv": LogNotes(driver="Runa", tried=TRIED)}
    assert log_before(now, tried, no_dates) == "friday.csv"
    changed = notes | {"saturday.csv": LogNotes(driver=" runa", changes=("softer bar",))}
    assert log_before(now, changed, no_dates) == "friday.csv"
    anyone = notes | {"saturday.csv": LogNotes(tried=TRIED)}
    assert log_before(now, anyone, no_dates) == "other.csv"


def test_time_counts_and_not_the_order_of_the_notes(now: Path) -> None:
    notes = {
        "sunday.csv": LogNotes(worth_trying=FOUND),
        "friday.csv": LogNotes(worth_trying=FOUND),
        "saturday.csv": LogNotes(),
        "other.csv": LogNotes(worth_trying=FOUND),
    }
    spans = days(friday=0, other=2, saturday=24, sunday=48)
    assert log_before(now, notes, spans.get) == "other.csv"
    spans = days(friday=2, other=0, saturday=24, sunday=48)
    assert log_before(now, notes, spans.get) == "friday.csv"
    # A later session is never compared with, be it the only one.
    assert log_before(now, {"sunday.csv": notes["sunday.csv"]}, spans.get) is None
    # Another logger in the same car at the same time is no session before.
    assert log_before(now, notes, days(friday=24, other=24, saturday=24).get) == "sunday.csv"
    assert log_before(now, notes, days(friday=24, other=24, saturday=24, sunday=30).get) is None


def test_a_log_without_a_date_goes_by_the_order_of_the_notes(now: Path) -> None:
    notes = {
        "friday.csv": LogNotes(worth_trying=FOUND),
        "other.csv": LogNotes(worth_trying=FOUND),
        "saturday.csv": LogNotes(),
        "sunday.csv": LogNotes(worth_trying=FOUND),
    }
    assert log_before(now, notes, days(friday=0, saturday=24, sunday=48).get) == "other.csv"
    assert log_before(now, notes, days(friday=0, other=2, sunday=48).get) == "other.csv"


def test_a_session_known_to_be_the_same_drivers_comes_first(now: Path) -> None:
    notes = {
        "friday.csv": LogNotes(driver="Runa", worth_trying=FOUND),
        "other.csv": LogNotes(worth_trying=FOUND),
        "saturday.csv": LogNotes(driver="Runa"),
    }
    spans = days(friday=0, other=2, saturday=24)
    assert log_before(now, notes, spans.get) == "friday.csv"
    unknown = {k: LogNotes(worth_trying=n.worth_trying) for k, n in notes.items()}
    assert log_before(now, unknown, spans.get) == "other.csv"


def test_drivers_are_the_same_only_where_both_are_noted() -> None:
    assert same_driver(LogNotes(driver="Runa  Tidewell"), LogNotes(driver="runa tidewell")) is True
    assert same_driver(LogNotes(driver="Runa"), LogNotes(driver="Ivo")) is False
    assert same_driver(LogNotes(driver="Runa"), LogNotes()) is None
    assert same_driver(LogNotes(), LogNotes()) is None


def test_where_no_driver_is_noted_what_was_tried_was_found_somewhere(now: Path) -> None:
    notes = {
        "friday.csv": LogNotes(worth_trying=FOUND),
        "other.csv": LogNotes(),
        "saturday.csv": LogNotes(tried=TRIED),
    }
    assert log_before(now, notes, no_dates) == "friday.csv"
    # What was changed on the car is to be seen against the session just before.
    changed = notes | {"saturday.csv": LogNotes(changes=("softer bar",))}
    assert log_before(now, changed, no_dates) == "other.csv"


def test_another_spelling_is_another_driver(now: Path) -> None:
    notes = {
        "friday.csv": LogNotes(driver="Runa Tidewel", worth_trying=FOUND),
        "other.csv": LogNotes(driver="Ivo Marlen", worth_trying=FOUND),
        "saturday.csv": LogNotes(driver="Runa Tidewell", tried=TRIED),
    }
    assert log_before(now, notes, no_dates) is None


def test_the_session_before_is_opened_on_the_same_track(
    world: World, pit_world: World, tmp_path: Path
) -> None:
    # The first log as CSV; this session as if it were read a day later.
    rows = pit_world.log.fixes[["time_s", "lat_deg", "lon_deg", "speed_mps"]]
    heads = ["time (s)", "latitude", "longitude", "speed (m/s)"]
    rows.to_csv(tmp_path / "friday.csv", index=False, header=heads)
    (tmp_path / "weekend.toml").write_text(
        '[logs."friday.csv"]\ndriver = "Runa"\n'
        '[logs."saturday.csv"]\ndriver = "Runa"\nchanges = ["softer bar"]\n'
    )
    log = replace(world.log, path=tmp_path / "saturday.csv")
    session = lw.Session(log, world.session.shared_track, repeat_line=False)
    before = lw.session_before(session)
    assert before is not None
    assert before.log.path.name == "friday.csv"
    assert before.notes.driver == "Runa"
    assert before.shared_track is session.shared_track
    assert not before.repeat_line
    # The other way there is none, and without notes neither.
    first = lw.Session(before.log, session.shared_track)
    assert lw.session_before(first) is None
    (tmp_path / "weekend.toml").unlink()
    assert lw.session_before(session) is None
