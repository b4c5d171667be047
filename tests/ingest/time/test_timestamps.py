"""Dates and times as text: published examples, many notations, many rows."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright.ingest.time.scales import NO_TIME
from lapwright.ingest.time.timestamps import cells_from_texts, days_from_civil, parse

FIGURES = Path(__file__).parents[1] / "figures"
DAY_NS = 86_400 * 10**9


def published() -> list[dict[str, str]]:
    lines = (FIGURES / "timestamps.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def ns(text: str) -> int:
    return int(np.datetime64(text.rstrip("Z"), "ns").astype(np.int64))


def one(text: str) -> int:
    stamps = parse(cells_from_texts([text]))
    return NO_TIME if stamps is None else int(stamps.value_ns[0])


@pytest.mark.parametrize("row", published(), ids=lambda row: row["text"])
def test_published_examples(row: dict[str, str]) -> None:
    # RFC 3339 sections 4.3, 5.6 to 5.8 and ISO 8601; reading is more forgiving than RFC 3339 in
    # two ways: ISO notations are taken, and so is hour 24, which XML Schema allows.
    got = one(row["text"])
    if row["text"] == "2024-06-15T24:00:00Z":
        assert got == ns("2024-06-16T00:00:00")
    elif row["verdict"] == "invalid":
        assert got == NO_TIME
    elif row["utc"].startswith("leap second"):
        day = np.datetime64(row["text"][:10], "D") + np.timedelta64(1, "D")
        assert got == int(day.astype("datetime64[ns]").astype(np.int64))
    elif row["verdict"] == "no offset":
        assert got == ns(row["text"])
    else:
        assert got == ns(row["utc"])


def test_the_zone_is_told_apart() -> None:
    for text, zone in (
        ("2024-06-15T12:34:56Z", "utc"),
        ("2024-06-15T12:34:56+02:00", "offset"),
        ("2024-06-15T12:34:56", ""),
    ):
        stamps = parse(cells_from_texts([text]))
        assert stamps is not None
        assert stamps.zone == zone


@pytest.mark.parametrize(
    "text",
    [
        "2024-06-15 09:05:07.25",
        "2024/06/15 09:05:07.25",
        "15.06.2024 09:05:07.25",
        "15.06.2024 09:05:07,25",
        "15/06/2024 09:05:07.25",
        "15.06.24 09:05:07.25",
        "15.6.2024 9:05:07.25",
        "06/15/2024 9:05:07.25 AM",
        "15-Jun-2024 09:05:07.25",
        "15. Juni 2024 09:05:07.25",
        "Jun 15, 2024 9:05:07.25",
        "15 giugno 2024 09:05:07.25",
        "20240615T090507.25",
        "20240615 090507.25",
        "2024-06-15_09:05:07:250",
        "2024-06-15T09:05:07.250000000",
        "2024-06-15 09:05:07.25 UTC",
        "2024-06-15 11:05:07.25 GMT+02:00",
    ],
)
def test_notations_of_one_instant(text: str) -> None:
    assert one(text) == ns("2024-06-15T09:05:07.25")


def test_afternoon_and_noon_of_the_twelve_hour_clock() -> None:
    texts = ["12:00:00 AM", "1:30:00 am", "12:00:00 PM", "1:30:00 p.m."]
    stamps = parse(cells_from_texts(texts))
    assert stamps is not None
    hours = stamps.value_ns / 3.6e12
    assert hours.tolist() == [0.0, 1.5, 12.0, 13.5]


def test_minutes_and_seconds_of_a_running_time() -> None:
    stamps = parse(cells_from_texts(["05:12.300", "59:59.9"]))
    assert stamps is not None
    assert stamps.value_ns.tolist() == [312_300_000_000, 3_599_900_000_000]


def test_what_comes_first_shows_in_the_dates() -> None:
    # 13 can only be a day.
    stamps = parse(cells_from_texts(["03/13/2024", "03/14/2024"]))
    assert stamps is not None
    assert stamps.value_ns[0] == ns("2024-03-13")
    assert stamps.order == ""
    # The one that moves on at midnight is the day.
    stamps = parse(cells_from_texts(["03/04/2024", "03/05/2024"]))
    assert stamps is not None
    assert stamps.value_ns[0] == ns("2024-03-04")
    stamps = parse(cells_from_texts(["03/04/2024", "03/04/2024"]))
    assert stamps is not None
    assert stamps.order == "day first"
    assert stamps.value_ns[0] == ns("2024-04-03")
    stamps = parse(cells_from_texts(["03/04/2024"]), month_first=True)
    assert stamps is not None
    assert stamps.value_ns[0] == ns("2024-03-04")


def test_two_digit_years_turn_in_1969() -> None:
    # POSIX strptime %y: 69-99 are 1969-1999, 00-68 are 2000-2068.
    assert one("01.02.69") == ns("1969-02-01")
    assert one("01.02.68") == ns("2068-02-01")


def test_words_and_numbers_are_no_stamps() -> None:
    for text in ("hello", "12.5", "north", "-", ""):
        assert parse(cells_from_texts([text])) is None


def test_rows_that_differ_are_read_one_by_one() -> None:
    texts = ["2024-06-15T09:05:07Z", "", "junk", "2024-06-15T09:05:07.5Z", "2024-02-30T00:00:00Z"]
    stamps = parse(cells_from_texts(texts))
    assert stamps is not None
    first = ns("2024-06-15T09:05:07")
    assert stamps.value_ns.tolist() == [first, NO_TIME, NO_TIME, first + 5 * 10**8, NO_TIME]


@given(st.lists(st.integers(-(10**18), 4 * 10**18), min_size=1, max_size=30))
def test_iso_text_comes_back_to_the_nanosecond(values: list[int]) -> None:
    texts = [str(np.datetime64(value, "ns")) + "Z" for value in values]
    stamps = parse(cells_from_texts(texts))
    assert stamps is not None
    assert stamps.value_ns.tolist() == values


@given(st.integers(1900, 2200), st.integers(-2, 15), st.integers(-2, 33))
def test_days_agree_with_the_calendar_of_numpy(year: int, month: int, day: int) -> None:
    days, exists = days_from_civil(np.array([year]), np.array([month]), np.array([day]))
    try:
        want = np.datetime64(f"{year:04d}-{month:02d}-{day:02d}", "D").astype(int)
    except ValueError:
        assert not exists[0]
    else:
        assert exists[0]
        assert days[0] == want
