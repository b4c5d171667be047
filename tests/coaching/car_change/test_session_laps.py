"""Clean laps out of a lap table."""

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.car_change.session_laps import from_table
from lapwright.errors import LapError


def _table() -> pd.DataFrame:
    return pd.DataFrame({
        "lap": [0, 1, 2, 3, 4], "kind": ["out", "timed", "timed", "timed", "in"],
        "time_s": [np.nan, 91.0, 95.0, 90.5, np.nan],
        "representative": [False, True, False, True, False],
        "start_utc": pd.to_datetime(["2031-06-07T08:01Z", *["2031-06-07T08:03Z"] * 4]),
    })  # fmt: skip


def test_clean_laps_only_counted_from_the_first_timed_one() -> None:
    corners = pd.DataFrame({1: [40.0, 41.0, 42.0]}, index=[1, 2, 3])
    found = from_table(_table(), "friday", corners)
    assert found.time_s.tolist() == [91.0, 90.5]
    assert found.lap.tolist() == [0.0, 2.0]
    assert found.corner_s is not None
    assert found.corner_s[1].tolist() == [40.0, 42.0]
    assert found.start_utc == pd.Timestamp("2031-06-07T08:01Z")
    assert len(found) == 2


def test_a_table_in_any_order_and_with_official_numbers() -> None:
    found = from_table(_table().assign(lap=lambda t: t["lap"] + 10).iloc[::-1])
    assert (found.lap.tolist(), found.time_s.tolist()) == ([0.0, 2.0], [91.0, 90.5])


def test_times_alone_are_enough() -> None:
    found = from_table(_table()[["time_s", "representative"]])
    assert found.lap.tolist() == [1.0, 3.0]
    assert (found.start_utc, found.conditions) == (None, "")


@pytest.mark.parametrize("column", ["time_s", "representative"])
def test_a_column_that_is_missing_is_named(column: str) -> None:
    with pytest.raises(LapError, match=f"needs the column '{column}'"):
        from_table(_table().drop(columns=column))
