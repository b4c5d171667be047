"""Holes in a log: what they cost a lap, and what they do not."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.ingest.log import Log
from lapwright.laps.gaps import are_bridged, gaps
from lapwright.session import Session


def without(world: World, start_m: float, end_m: float) -> Log:
    """The log as if there were a bridge between two stations, on every lap."""
    mapped = world.session.mapped
    station = np.mod(mapped.station_m, world.session.track.length_m)
    seen = ~((station > start_m) & (station < end_m))
    kept = np.interp(world.log.fixes["time_s"], mapped.time_s, seen.astype(float)) > 0.5
    return replace(world.log, fixes=world.log.fixes[kept].reset_index(drop=True))


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> World:
    """A session in which the place of the hole is known."""
    return make_world(tmp_path_factory.mktemp("plain"), sim.Plan((4,)), seed=3, repeat_line=False)


@pytest.fixture(scope="module")
def bridge(plain: World) -> Session:
    """60 m without a fix every lap, within corner 8."""
    apex = plain.session.track.corners[7].apex_m
    return Session(without(plain, apex - 30.0, apex + 30.0), plain.track, repeat_line=False)


def test_a_bridge_on_every_lap_leaves_all_laps_clean(plain: World, bridge: Session) -> None:
    timed = bridge.laps[bridge.laps["kind"] == "timed"]
    assert set(timed["flags"]) == {("bridged",)}
    assert bridge.clean_laps == plain.session.clean_laps
    assert bridge.best_lap == plain.session.best_lap
    before = plain.session.laps[plain.session.laps["kind"] == "timed"]
    apart = np.abs(timed["time_s"].to_numpy() - before["time_s"].to_numpy())
    assert (apart < timed["time_sd_s"]).all()


def test_laps_that_share_a_bridge_are_compared(plain: World, bridge: Session) -> None:
    lap = bridge.typical_lap
    assert lap is not None
    apex = plain.session.track.corners[7].apex_m
    station = np.arange(0.0, plain.session.track.length_m, 10.0)
    inside = np.abs(station - apex) < 45.0
    (delta, sd), (delta_whole, sd_whole) = (
        [np.interp(station, c.delta["station_m"], c.delta[name])
         for name in ("delta_s", "delta_sd_s")]
        for c in (bridge.compare(lap), plain.session.compare(lap))
    )  # fmt: skip
    assert np.abs(delta - delta_whole)[~inside].max() < 0.05
    assert (sd[inside] > sd_whole[inside]).all()


def test_what_lies_in_the_hole_is_left_out(plain: World, bridge: Session) -> None:
    there = [int((s.passes["corner"] == 8).sum()) for s in (bridge, plain.session)]
    assert there[0] < there[1] == len(plain.session.timed_laps)
    for name in ("min_speed_s", "brake_s", "throttle_s"):
        for lap, moment in bridge.passes[["lap", name]].dropna().itertuples(index=False):
            assert not bridge.trace(int(lap)).unseen(float(moment))
    assert set(bridge.passes["corner"]) >= set(plain.session.passes["corner"]) - {8}


def test_a_hole_too_long_to_know_the_way_takes_the_lap_away(plain: World) -> None:
    apex = plain.session.track.corners[2].apex_m
    log = without(plain, apex - 250.0, apex + 250.0)
    session = Session(log, plain.track, repeat_line=False)
    timed = session.laps[session.laps["kind"] == "timed"]
    assert all("gap" in flags for flags in timed["flags"])
    assert session.best_lap is None


def test_holes_are_found_where_fixes_are_missing(plain: World) -> None:
    mapped = plain.session.mapped
    start, end = float(mapped.time_s[100]), float(mapped.time_s[400])
    assert gaps(mapped, start, end).shape == (0, 2)
    kept = np.r_[0:200, 220 : len(mapped.time_s)]
    parts = {
        name: getattr(mapped, name)[kept]
        for name in ("time_s", "position_m", "speed_mps", "station_m", "offset_m", "aside_m",
                     "slowness", "lost")
    }  # fmt: skip
    holes = gaps(replace(mapped, **parts, station_sd_m=None), start, end)
    np.testing.assert_allclose(holes, [[mapped.time_s[199], mapped.time_s[220]]])


def test_a_lap_whose_time_is_unsure_does_not_count(plain: World) -> None:
    none = np.zeros((0, 2))
    motion = plain.session.motion
    assert are_bridged(motion, none, 100.0, 0.09)
    assert not are_bridged(motion, none, 100.0, 0.11)


def test_a_moment_in_a_hole_is_unseen(bridge: Session) -> None:
    trace = bridge.trace(bridge.timed_laps[0])
    (begin, end) = trace.gaps_s[0]
    assert trace.unseen(0.5 * (begin + end))
    assert not trace.unseen(begin - 0.1)
    assert not trace.unseen(end + 0.1)
    assert not trace.unseen(None)
