"""A session in one row, and what the engine did."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.batch.tables.engine import engine_channels, engine_table, session_summary
from lapwright.ingest.log import Log


def _laps(times: list[float], clean: list[bool] | None = None) -> pd.DataFrame:
    n = len(times)
    start = np.concatenate([[0.0], np.cumsum(times)[:-1]])
    return pd.DataFrame(
        {
            "lap": np.arange(1, n + 1), "kind": "timed", "time_s": times, "start_s": start,
            "end_s": start + times, "representative": [True] * n if clean is None else clean,
            "top_speed_mps": np.linspace(50.0, 52.0, n),
        }
    )  # fmt: skip


def test_one_row() -> None:
    row = session_summary(_laps([92.0, 91.0, 90.0, 110.0], [True, True, True, False]))
    assert (row["laps"], row["clean_laps"]) == (4, 3)
    assert (row["best_s"], row["median_s"]) == (90.0, 91.0)
    # Deviations from 91 are 1, 0, -1: the root of 2 / (3 - 1).
    assert row["spread_s"] == pytest.approx(1.0)
    # A straight line: one second a lap quicker, with no error at all.
    assert row["drift_s_per_lap"] == pytest.approx(-1.0)
    assert row["drift_low95_s_per_lap"] == pytest.approx(-1.0)
    # The best of three is 0.8463 sd below the mean by luck (Harter 1961), and the sd is 1 s.
    assert row["best_by_luck_s"] == pytest.approx(0.8463, abs=1e-4)
    assert row["top_speed_mps"] == 52.0


def test_top_speed_is_of_all_laps() -> None:
    laps = _laps([92.0, 91.0, 60.0]).assign(kind=["timed", "timed", "in"])
    assert session_summary(laps)["top_speed_mps"] == 52.0


def test_too_few_laps_give_none() -> None:
    row = session_summary(_laps([92.0, 91.0]))
    assert row["best_s"] == 91.0
    # Half a second on either side of the mean: the root of 0.5 / (2 - 1).
    assert row["spread_s"] == pytest.approx(np.sqrt(0.5))
    assert session_summary(_laps([92.0]))["spread_s"] is None
    assert row["drift_s_per_lap"] is None
    empty = session_summary(_laps([92.0, 91.0]).iloc[:0])
    assert empty["best_s"] is None
    assert empty["top_speed_mps"] is None


def _log() -> Log:
    time = np.arange(0.0, 20.0, 0.5)
    channels = pd.DataFrame(
        {
            "line": np.arange(len(time)), "time_s": time,
            "Coolant": np.where(np.arange(len(time)) % 2, np.nan, 80.0 + time),
            "Drehzahl": 4000.0 + 100.0 * time, "brake pressure": 5.0, "note": "x",
            "lateral": 1.0, "T1": 300.0 + time,
        }
    )  # fmt: skip
    return Log(
        Path("a.csv"), "csv", pd.DataFrame({"time_s": time}), channels, "utc", 0.0, None, 2.0,
        channel_units={"Coolant": "degC", "brake pressure": "bar", "T1": "K"},
        roles={"rpm": "Drehzahl"},
    )  # fmt: skip


def test_engine_channels_are_told_by_name_role_or_unit() -> None:
    assert engine_channels(_log()) == ["Coolant", "Drehzahl", "T1"]


def test_a_channel_of_words_is_no_engine_channel() -> None:
    log = _log()
    log.channels["oil pump"] = "on"
    assert engine_channels(log) == ["Coolant", "Drehzahl", "T1"]
    assert not engine_table(log, _laps([10.0, 10.0])).empty


def test_engine_by_lap() -> None:
    table = engine_table(_log(), _laps([10.0, 10.0])).set_index(["channel", "lap"])
    # Even rows only hold the coolant: 80.0, 81.0, ... 89.0 in the first ten seconds.
    first = table.loc[("Coolant", 1)]
    assert (first["lowest"], first["mean"], first["highest"]) == (80.0, 84.5, 89.0)
    assert first["unit"] == "degC"
    assert table.loc[("Coolant", 2), "highest"] == 99.0
    assert table.loc[("Drehzahl", 2), "unit"] == ""


def test_a_log_without_engine_gives_an_empty_table() -> None:
    log = _log()
    bare = Log(log.path, "csv", log.fixes, pd.DataFrame(), "utc", 0.0, None, 2.0)
    assert engine_table(bare, _laps([10.0])).empty
