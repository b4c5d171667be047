"""Times of day in UTC and on the clock of the paddock."""

import pandas as pd

from lapwright.notes.time_zone import TimeZone, named_zone
from lapwright.wording.time_of_day import utc_and_local

START = pd.Timestamp("2026-07-10T22:30:15.123456789Z")


def test_local_time_stands_beside_utc() -> None:
    # Two hours ahead in summer, one in winter (IANA time zone database, "europe").
    zone = named_zone("Europe/Berlin", "weekend.toml")
    assert utc_and_local(START, zone) == "2026-07-10 22:30 UTC (2026-07-11 00:30 CEST)"
    winter = pd.Timestamp("2026-02-06T10:12:04Z")
    assert utc_and_local(winter, zone, seconds=True) == "2026-02-06 10:12:04 UTC (11:12:04 CET)"


def test_a_zone_without_a_short_name_has_its_offset() -> None:
    # 3 hours behind UTC; the database gives it no letters ("southamerica").
    zone = named_zone("America/Sao_Paulo", "weekend.toml")
    assert utc_and_local(START, zone) == "2026-07-10 22:30 UTC (19:30 UTC-03)"


def test_utc_is_not_said_twice() -> None:
    # The tests run in UTC, see conftest.py at the root.
    assert utc_and_local(START, TimeZone()) == "2026-07-10 22:30 UTC"
