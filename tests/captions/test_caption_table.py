"""Captions say what the session's tables say, at the moment they appear."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from worlds import World

import lapwright as lw
from lapwright.captions import caption_table
from lapwright.captions.caption_table import HOLD_S
from lapwright.columns import names
from lapwright.columns.captions import CAPTIONS
from lapwright.errors import LapError, LogError
from lapwright.laps.gaps import gaps


@pytest.fixture(scope="module")
def table(captioned: World) -> pd.DataFrame:
    return caption_table(captioned.session, -20.0)


def test_columns_are_those_described(table: pd.DataFrame) -> None:
    assert list(table) == names(CAPTIONS)


def test_captions_follow_each_other_without_overlap(table: pd.DataFrame) -> None:
    start, end = table["video_start_s"].to_numpy(), table["video_end_s"].to_numpy()
    assert (end > start).all()
    assert (start[1:] >= end[:-1] - 1e-9).all()
    assert (end - start).min() > 0.24
    assert (end - start).max() < 0.76


def test_a_lap_begins_and_ends_on_the_line(captioned: World, table: pd.DataFrame) -> None:
    for row in captioned.session.laps.to_dict("records"):
        mine = table[table["lap"] == row["lap"]]
        assert mine["video_start_s"].iloc[0] == pytest.approx(row["start_s"] + 20.0)
        assert mine["video_end_s"].iloc[-1] == pytest.approx(row["end_s"] + 20.0)
        so_far = mine["lap_time_s"].to_numpy()
        if row["kind"] == "out":
            assert np.isnan(so_far).all()
        else:
            assert so_far == pytest.approx(0.5 * np.arange(len(mine)))


def test_deltas_are_those_of_the_comparison(captioned: World, table: pd.DataFrame) -> None:
    session = captioned.session
    seen = 0
    for lap in session.timed_laps:
        mine = table[table["lap"] == lap]
        if lap == session.best_lap:
            assert mine["delta_s"].isna().all()
            continue
        compared = session.compare(lap, step_m=1.0)
        other = compared.reference_trace
        for row in mine.dropna(subset="delta_s").to_dict("records"):
            # By another way: when was the reference lap where this one is now?
            at_s = row["video_start_s"] - 20.0
            station = np.interp(at_s, compared.lap_trace.time_s, compared.lap_trace.station_m)
            there_s = float(other.time_at(station)[0]) - other.start_s
            assert row["delta_s"] == pytest.approx(row["lap_time_s"] - there_s, abs=0.001)
            sd = np.interp(station, compared.delta["station_m"], compared.delta["delta_sd_s"])
            assert row["delta_sd_s"] == pytest.approx(sd)
            seen += 1
    assert seen > 200
    rest = table[~table["lap"].isin(session.timed_laps)]
    assert rest["delta_s"].isna().all()


def test_speeds_are_those_driven(captioned: World, table: pd.DataFrame) -> None:
    # The simulation's own speeds; an ordinary receiver is good to some 0.1 m/s, and nothing is
    # said where it saw nothing.
    at_s = table["video_start_s"].to_numpy() - 20.0 + captioned.zero_s
    speed = np.hypot(*captioned.run.velocity(at_s).T)
    apart = (table["speed_mps"].to_numpy() - speed)[table["speed_mps"].notna().to_numpy()]
    assert np.median(np.abs(apart)) < 0.3


def test_nothing_is_said_in_a_gap_of_the_log(captioned: World, table: pd.DataFrame) -> None:
    session = captioned.session
    holes = gaps(session.mapped, session.motion.start_s, session.motion.end_s) + 20.0
    assert len(holes) == 1
    at = table["video_start_s"].to_numpy()
    hidden = (at > holes[0, 0]) & (at < holes[0, 1])
    assert hidden.sum() == pytest.approx(14, abs=1)
    assert table.loc[hidden, ["delta_s", "delta_sd_s", "speed_mps"]].isna().all(axis=None)
    assert (table.loc[hidden, "corner"] == 0).all()
    assert table.loc[~hidden, "speed_mps"].notna().all()


def test_corners_and_pit_lane(captioned: World, table: pd.DataFrame) -> None:
    track = captioned.session.track
    assert set(table["corner"]) == {0, *(c.order for c in track.corners)}
    assert (table.loc[table["pit_lane"], "corner"] == 0).all()
    stops = [p.stop_s + 20.0 for p in captioned.session.cuts.pits]
    for stop_s in stops:
        here = table[(table["video_start_s"] <= stop_s) & (table["video_end_s"] > stop_s)]
        assert here["pit_lane"].all()
    lap = table[table["lap"] == captioned.session.best_lap]
    order = lap.loc[lap["corner"] > 0, "corner"].drop_duplicates().tolist()
    assert order == sorted(order) == [c.order for c in track.corners]


def test_a_lap_that_is_done_stays_for_a_while(captioned: World, table: pd.DataFrame) -> None:
    laps = captioned.session.laps.set_index("lap")
    for done, mine in table[table["done_lap"] >= 0].groupby("done_lap"):
        assert laps.loc[done, "kind"] == "timed"
        assert (mine["lap"] == done + 1).all()
        assert mine["video_start_s"].iloc[0] == pytest.approx(laps.loc[done, "end_s"] + 20.0)
        assert len(mine) == HOLD_S / 0.5
    assert set(table["done_lap"]) - {-1} == set(captioned.session.timed_laps)


def test_what_was_before_the_video_is_left_out(captioned: World) -> None:
    session = captioned.session
    start_s = float(session.row(2)["start_s"])
    table = caption_table(session, start_s + 10.2, every_s=1.0)
    first = table.iloc[0]
    assert (first["lap"], first["lap_time_s"]) == (2, pytest.approx(11.0))
    assert first["video_start_s"] == pytest.approx(0.8)


def test_without_a_reference_there_is_no_delta(captioned: World) -> None:
    fixes = captioned.log.fixes
    first = captioned.session.timed_laps[0]
    until_s = float(captioned.session.row(first)["start_s"]) + 30.0
    log = replace(captioned.log, fixes=fixes[fixes["time_s"] < until_s])
    short = lw.Session(log, captioned.track, repeat_line=False)
    assert short.best_lap is None
    table = caption_table(short, 0.0)
    assert table["delta_s"].isna().all()
    assert (table["speed_mps"].notna()).any()


def test_a_lap_of_another_log(captioned: World) -> None:
    session = captioned.session
    table = caption_table(session, 0.0, other=lw.Session(captioned.log, captioned.track))
    # The best lap of the other log is a reference for all laps of this one.
    for lap in session.timed_laps:
        assert table.loc[table["lap"] == lap, "delta_s"].notna().any()


def test_what_cannot_be_is_refused(captioned: World) -> None:
    session = captioned.session
    with pytest.raises(LogError, match=r"not in the video, which begins at 99999\.0 s"):
        caption_table(session, 99999.0)
    with pytest.raises(LapError, match="there is no lap 77"):
        caption_table(session, 0.0, reference=77)
    with pytest.raises(ValueError, match="more than 0 s"):
        caption_table(session, 0.0, every_s=0.0)
