"""Gaps between two logged cars against the exact truth."""

import numpy as np
import pandas as pd
import pytest
from race_worlds import mine, theirs

from lapwright.race.car_gaps import _order


def _true_gaps() -> pd.DataFrame:
    """True gap at each passage of my car, from both cars' true crossings since the launch."""
    one, two = mine(), theirs()
    track = one.session.track
    rows = []
    for gate, line in enumerate((track.start_finish, *track.sectors)):
        times = []
        for car in (one, two):
            assert car.run.launch_s is not None
            since_s = car.crossed_s(line.widened(30.0)) + car.zero_s - car.run.launch_s
            times.append(since_s[since_s > 0.0])
        count = min(len(t) for t in times)
        rows += [(gate, turn, times[0][turn] - times[1][turn]) for turn in range(count)]
    return pd.DataFrame(rows, columns=["gate", "turn", "true_s"])


def test_gaps_are_within_their_bars() -> None:
    gaps = mine().session.gaps_to(theirs().session)
    true = _true_gaps()
    turn = gaps.groupby("gate").cumcount()
    both = gaps.assign(turn=turn).merge(true, on=["gate", "turn"])
    # Eight timed laps, out and in laps: nine or more passages of each of the three lines.
    assert len(both) == len(gaps) >= 27
    off = (both["gap_s"] - both["true_s"]) / both["gap_sd_s"]
    assert (both["gap_sd_s"] < 0.2).all()
    assert off.abs().max() < 4.0
    assert float(np.sqrt((off**2).mean())) < 1.6
    # Both cars were in the pits meanwhile: the order changes and changes back.
    assert both["true_s"].max() > 1.0
    assert both["true_s"].min() < -30.0
    assert int(gaps["changed"].sum()) >= 2


def test_swapping_the_cars_flips_the_sign() -> None:
    one, two = mine().session, theirs().session
    there, back = one.gaps_to(two), two.gaps_to(one)
    np.testing.assert_allclose(
        there.sort_values("gap_s")["gap_s"], -back.sort_values("gap_s")["gap_s"].to_numpy()[::-1],
        atol=1e-6,
    )  # fmt: skip
    assert {"this", "other"} <= set(there["ahead"]) <= {"this", "other", "open"}


def test_a_passage_at_the_end_of_a_lap_is_of_that_lap() -> None:
    gaps = mine().session.gaps_to(theirs().session)
    laps = mine().session.laps.set_index("lap")
    line = gaps[gaps["gate"] == 0]
    for _, row in line.iterrows():
        assert laps.loc[row["lap"], "end_s"] == pytest.approx(row["time_s"], abs=1e-6)


def test_who_is_ahead_and_where_that_changed() -> None:
    gap, sd = np.array([0.5, 0.01, 0.4, -0.3, 0.02, -0.5]), np.full(6, 0.02)
    ahead, changed = _order(gap, sd)
    assert ahead == ["other", "open", "other", "this", "open", "this"]
    assert changed == [False, False, False, True, False, False]
