"""Which time zone a log's times of day are shown in, and what is said where it cannot be had."""

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfoNotFoundError

import pytest

from lapwright.notes import time_zone
from lapwright.notes.check import notes_oddities
from lapwright.notes.time_zone import TimeZone, named_zone, time_zone_for

# No summer time there: 9 hours ahead of UTC all the year (IANA time zone database, "asia").
ZONE = "Asia/Tokyo"
NOON = datetime(2026, 2, 6, 12, 0, tzinfo=UTC)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    file = tmp_path / "a.csv"
    file.touch()
    return file


def notes(log: Path, text: str) -> Path:
    path = log.parent / "weekend.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_notes_come_before_the_track_file_and_that_before_the_computer(log: Path) -> None:
    members = {"timezone": "Asia/Kolkata"}
    assert time_zone_for(log) == TimeZone()
    assert time_zone_for(log, {"other": 1}) == TimeZone()
    assert time_zone_for(log, members).name == "Asia/Kolkata"
    path = notes(log, f'timezone = "{ZONE}"\n[logs."b.csv"]\ntimezone = "Etc/GMT+3"\n')
    found = time_zone_for(log, members)
    assert (found.name, found.odd) == (ZONE, "")
    assert found.local(NOON).hour == 21
    assert found.name_at(NOON) == ZONE
    # Of one log only, as where the line was written at the end of the file.
    assert time_zone_for(log.with_name("b.csv"), members).name == "Etc/GMT+3"
    (log.parent / "b.csv").touch()
    assert notes_oddities(path) == ()


def test_a_key_that_is_nearly_timezone(log: Path) -> None:
    path = notes(log, f'# where we are\ntime_zone = "{ZONE}"\n')
    assert notes_oddities(path) == ("weekend.toml:2: 'time_zone' is not read; write 'timezone'.",)


@pytest.mark.parametrize("name", ["Asia/Tokio", "", "../x", "/etc/passwd", 9, "a\0b"])
def test_a_name_that_is_no_zone_is_said(name: object) -> None:
    zone = named_zone(name, "weekend.toml")
    assert zone.zone is None
    assert zone.odd.startswith(f"weekend.toml: timezone = {name!r} is no time zone")
    assert "this computer's own time zone" in zone.odd
    assert zone.local(NOON) == NOON


def test_a_computer_without_zone_data(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise ZoneInfoNotFoundError(name)

    monkeypatch.setattr(time_zone, "ZoneInfo", missing)
    monkeypatch.setattr(time_zone, "available_timezones", set)
    zone = named_zone(ZONE, "weekend.toml")
    assert zone.zone is None
    assert "this computer has no time zone data" in zone.odd
    assert "this computer's own time zone" in zone.odd


def test_notes_that_cannot_be_read_leave_the_computers_zone(log: Path) -> None:
    notes(log, "timezone = \n")
    assert time_zone_for(log) == TimeZone()
