"""Stints: how laps are cut into them, which count, and the fade."""

import math

import numpy as np
import pandas as pd
import pytest
from race_worlds import HELD_UP_LAP, mine, theirs

from lapwright.race.stints import MIN_FADE_LAPS, stints


def _laps(kinds: str, times: list[float], clean: set[int]) -> pd.DataFrame:
    words = {"o": "out", "t": "timed", "i": "in"}
    lap = np.arange(len(kinds))
    return pd.DataFrame(
        {
            "lap": lap, "kind": [words[k] for k in kinds], "time_s": times,
            "representative": [int(n) in clean for n in lap],
        }
    )  # fmt: skip


def test_an_in_lap_ends_a_stint_and_an_out_lap_begins_one() -> None:
    table = stints(_laps("ottittottti", [np.nan] * 11, set()))
    # After the in lap the car went out past the line: the lap behind it is a timed one.
    assert table[["stint", "first_lap", "last_lap"]].to_numpy().tolist() == [
        [1, 1, 2], [2, 4, 5], [3, 7, 9],
    ]  # fmt: skip
    assert (table["clean_laps"] == 0).all()
    assert table["median_s"].isna().all()


def test_pace_and_fade_by_hand() -> None:
    # Clean laps 1 to 5 and 7, each 0.2 s slower than the one before; lap 6 is far slower.
    times = [np.nan, *(90.0 + 0.2 * n for n in range(5)), 96.0, 91.2]
    row = stints(_laps("ottttttt", times, {1, 2, 3, 4, 5, 7})).iloc[0]
    assert row["median_s"] == pytest.approx(90.5)
    assert row["spread_s"] == pytest.approx(np.std([90, 90.2, 90.4, 90.6, 90.8, 91.2], ddof=1))
    assert (row["fade_laps"], row["fade_s_per_lap"]) == (6, pytest.approx(0.2))
    assert (row["fade_low95_s_per_lap"], row["fade_high95_s_per_lap"]) == pytest.approx((0.2, 0.2))


def test_too_few_clean_laps_have_no_fade() -> None:
    times = [np.nan, 90.0, 90.1, 90.2, 90.3]
    row = stints(_laps("otttt", times, {1, 2, 3, 4})).iloc[0]
    assert row["fade_laps"] == MIN_FADE_LAPS - 1
    assert math.isnan(row["fade_s_per_lap"])


def test_a_lap_that_looks_held_up_counts_but_is_not_in_the_trend() -> None:
    times = [np.nan, 90.0, 90.1, 90.2, 90.3, 91.9, 90.5]
    laps = _laps("otttttt", times, {1, 2, 3, 4, 5, 6})
    row, without = stints(laps).iloc[0], stints(laps, {5}).iloc[0]
    assert (row["clean_laps"], without["clean_laps"]) == (6, 6)
    assert (row["fade_laps"], without["fade_laps"]) == (6, 5)
    assert without["fade_high95_s_per_lap"] == pytest.approx(0.1)
    assert row["fade_high95_s_per_lap"] > 0.5


def test_a_changing_track_has_no_fade() -> None:
    times = [np.nan, 90.0, 90.1, 90.2, 90.3, 90.4]
    laps = _laps("ottttt", times, {1, 2, 3, 4, 5})
    assert math.isnan(stints(laps, changing=True)["fade_s_per_lap"].iloc[0])
    assert stints(laps)["fade_s_per_lap"].iloc[0] == pytest.approx(0.1)


def test_planted_fade_is_in_its_interval() -> None:
    # 0.2 % of the speed a lap: without any scatter of the driver the simulated laps of this car get
    # 0.179 s slower each (95.164, 95.340, 95.518, ...: a run of `sim.STEADY` with this fade).
    row = mine().session.stints.iloc[0]
    # Lap 1 has the standing start, and one lap was held up.
    assert HELD_UP_LAP in set(mine().session.held_up["lap"])
    assert row["fade_laps"] == 5
    assert row["fade_low95_s_per_lap"] < 0.179 < row["fade_high95_s_per_lap"]
    # The other car's stints are too short.
    assert theirs().session.stints["fade_s_per_lap"].isna().all()
