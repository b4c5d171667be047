"""What comes from the whole lap or from the speed is taken out of a pass, its own part is left."""

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.adjusted_times import at_same_speed, without_lap


def grid(laps: int = 12, corners: int = 10) -> pd.DataFrame:
    lap, corner = (a.ravel() for a in np.mgrid[1 : laps + 1, 1 : corners + 1])
    return pd.DataFrame({"lap": lap, "corner": corner})


def test_what_a_whole_lap_did_is_taken_out() -> None:
    table = grid()
    table["time_s"] = (3.0 + 0.2 * table["corner"]) * (1.0 + 0.01 * table["lap"])
    table.loc[(table["lap"] == 4) & (table["corner"] == 7), "time_s"] += 0.3
    own = without_lap(table, "time_s")
    there = ((table["lap"] == 4) & (table["corner"] == 7)).to_numpy()
    # The lap's own pace of 4 % against the usual 6.5 % scales the 0.3 s.
    assert own[there] == pytest.approx(0.3 * 1.065 / 1.04, rel=1e-9)
    assert np.abs(own[~there]).max() < 1e-12


def test_time_at_the_same_speed() -> None:
    # A pass taken 1 % slower has a way in 1.5 % longer; at corner 3 four laps lose 4 % by braking.
    rng = np.random.default_rng(3)
    slow = rng.normal(0, 0.02, 120)
    early = ((grid()["corner"] == 3) & (grid()["lap"] <= 8)).to_numpy()
    noise = rng.normal(0, 0.001, 120)
    table = grid().assign(unused_share=slow + rng.normal(0, 0.01, 120), slow_share=slow)
    table = table.assign(run_in_s=6.0, run_in_excess_s=6.0 * (1.5 * slow + 0.04 * early + noise))
    groups = [
        np.flatnonzero((table["corner"] == c).to_numpy() & (early == side))
        for c in range(1, 11)
        for side in (False, True)
        if c == 3 or not side
    ]
    own = at_same_speed(table, "run_in", groups)
    assert own[early].mean() - own[~early].mean() == pytest.approx(0.04, abs=0.001)
    assert own[~early].std() == pytest.approx(0.001, rel=0.15)
    # Without the regression the speed's part would be thirty times as much.
    assert np.std(table["run_in_excess_s"][~early] / 6.0) > 0.02


def test_a_pass_without_a_time_does_not_spoil_the_others() -> None:
    rng = np.random.default_rng(4)
    slow = rng.normal(0, 0.02, 120)
    table = grid().assign(unused_share=slow, slow_share=slow, run_in_s=5.0)
    table = table.assign(run_in_excess_s=5.0 * 1.5 * slow)
    table.loc[[0, 55], "run_in_excess_s"] = np.nan
    groups = [np.flatnonzero((table["corner"] == c).to_numpy()) for c in range(1, 11)]
    own = at_same_speed(table, "run_in", groups)
    assert np.isnan(own[[0, 55]]).all()
    assert np.abs(np.delete(own, [0, 55])).max() < 1e-9


def test_without_groups_nothing_is_taken_out() -> None:
    table = grid().assign(run_in_s=5.0, run_in_excess_s=0.1, unused_share=0.0, slow_share=0.0)
    assert at_same_speed(table, "run_in", []) == pytest.approx(0.02)
