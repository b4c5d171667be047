"""Leap seconds and GPS time against the published table and worked instants."""

import csv
from pathlib import Path

import numpy as np
import pytest

from lapwright.ingest.time import scales as ts

FIGURES = Path(__file__).parents[1] / "figures"


def rows(name: str) -> list[dict[str, str]]:
    lines = (FIGURES / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def ns(text: str) -> int:
    return int(np.datetime64(text.rstrip("Z"), "ns").astype(np.int64))


def test_the_table_holds_the_28_published_entries() -> None:
    # IERS leap-seconds.list as carried by the tz database; 28 entries, last 2017-01-01.
    published = rows("leap_seconds.csv")
    assert len(published) == 28
    from_ns, offset_s = ts.leap_table()
    assert [str(np.datetime64(int(t), "ns"))[:10] for t in from_ns] == [
        row["utc_from"] for row in published
    ]
    assert offset_s.tolist() == [int(row["tai_minus_utc_s"]) for row in published]


def test_offset_changes_at_the_instant_and_not_before() -> None:
    # Bulletin C 52: TAI - UTC = 37 s from 2017-01-01T00:00 UTC.
    instants = np.array([ns("2016-12-31T23:59:59"), ns("2017-01-01T00:00:00")])
    assert ts.tai_minus_utc_s(instants).tolist() == [36, 37]


@pytest.mark.parametrize("row", rows("gps_time_examples.csv"), ids=lambda row: row["utc"])
def test_gps_seconds_of_published_instants(row: dict[str, str]) -> None:
    # Recomputed with an astronomical library; rollovers as the operator of GPS states them.
    gps_ns = np.array([round(float(row["gps_seconds"]) * 1000) * 1_000_000])
    utc = row["utc"].replace(":60Z", ":59Z")
    want = ns(utc) + (1_000_000_000 if utc != row["utc"] else 0)
    assert ts.gps_ns_to_utc_ns(gps_ns)[0] == want
    got = ts.gps_to_utc(int(row["week"]), float(row["time_of_week_s"]))
    assert got.astype(np.int64) == want


@pytest.mark.parametrize(
    "row", [row for row in rows("leap_seconds.csv") if row["gps_s_of_inserted_second"]]
)
def test_gps_second_of_every_inserted_second(row: dict[str, str]) -> None:
    # Column gps_s_of_inserted_second of the same list: the second before the new offset.
    inside = np.array([int(row["gps_s_of_inserted_second"])]) * ts.NANO
    after = ns(row["utc_from"])
    assert ts.gps_ns_to_utc_ns(inside + ts.NANO)[0] == after
    assert ts.gps_ns_to_utc_ns(inside - ts.NANO)[0] == after - ts.NANO


def test_a_clock_goes_on_while_a_leap_second_is_inserted() -> None:
    # 23:59:59, 23:59:60, 00:00:00 are a second apart each (2016-12-31, Bulletin C 52).
    midnight = ns("2017-01-01")
    utc = np.array([midnight - ts.NANO, midnight, midnight])
    steady = ts.continuous_ns(utc, np.array([False, True, False]))
    assert np.diff(steady).tolist() == [ts.NANO, ts.NANO]
    assert steady[0] == utc[0]


def test_ten_bit_weeks_are_the_latest_that_is_not_in_the_future() -> None:
    # 1024 weeks a turn; week 2318 is 2024-06-09, in ten bits 270 (gps_time_examples.csv).
    today = ns("2026-07-04")
    week, turned = ts.full_week(np.array([270, 270]), today)
    assert week.tolist() == [2318, 2318]
    assert turned
    assert ts.full_week(np.array([2318]), today) == (np.array([2318]), False)
