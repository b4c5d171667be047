"""A simulated session followed fix by fix, against its truth and the same log read whole."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.live_session.events import Event, LapGoing, LapTimed, Learned, SectorTimed
from lapwright.live_session.forward.known_noise import carried_over
from lapwright.live_session.learning import Setting
from lapwright.live_session.receiving.fixes import fixes_of
from lapwright.live_session.running import Running


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Four timed laps at 5 Hz; without the repeated line, which a forward filter has not."""
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    folder = tmp_path_factory.mktemp("running")
    return make_world(folder, sim.Plan((4,)), receiver=receiver, seed=3, repeat_line=False)


def run(world: World, *, carried: bool, at_once: bool = True) -> tuple[Running, list[Event]]:
    known = carried_over(world.session.motion_without_road) if carried else None
    running = Running(Setting(world.session.shared_track, known), at_once=at_once)
    events: list[Event] = []
    for fix in fixes_of(world.log):
        events += running.take(fix)
    return running, events


@pytest.fixture(scope="module")
def carried(world: World) -> tuple[Running, list[Event]]:
    return run(world, carried=True)


def test_laps_are_those_of_the_lap_table(world: World, carried: tuple[Running, list]) -> None:
    table = world.session.laps
    laps = {lap.lap: lap for lap in carried[0].laps}
    # The last, an in lap that ends in the pits, is never over.
    for row in table.iloc[:-1].to_dict("records"):
        lap = laps[row["lap"]]
        assert (lap.kind, lap.flags) == (row["kind"], row["flags"])
        if row["kind"] != "timed":
            continue
        # The same model, the same noise; what differs are the fixes after the next line.
        assert lap.time_s == pytest.approx(row["time_s"], abs=0.005)
        assert lap.time_sd_s == pytest.approx(row["time_sd_s"], rel=0.15)
        assert lap.sectors_s == pytest.approx(row["sectors_s"], abs=0.01)
        assert sum(lap.sectors_s) == pytest.approx(lap.time_s, abs=1e-6)
    assert [lap.lap for lap in carried[0].laps if lap.best] == [world.session.best_lap]
    # The noise was known before: nothing is learned of it.
    assert not any(isinstance(event, Learned) for event in carried[1])


def test_the_first_word_comes_with_the_fix_after_the_line_and_is_refined_a_second_later(
    world: World, carried: tuple[Running, list]
) -> None:
    now_s, said = 0.0, []
    for event in reversed(carried[1]):
        if isinstance(event, LapGoing):
            now_s = event.time_s
        elif isinstance(event, SectorTimed):
            said.append((now_s - event.end_s, event.refined))
    # 5 Hz: a fix at most 0.2 s after the line; refined when one has come 1 s after that.
    # Two sector lines on each of six laps, with the out lap and the in lap; each said twice.
    assert len(said) == 2 * 12
    assert all(0.0 <= late <= 0.21 for late, refined in said if not refined)
    assert all(1.0 <= late <= 1.41 for late, refined in said if refined)


def test_delta_is_that_of_the_laps_read_afterwards(
    world: World, carried: tuple[Running, list]
) -> None:
    # Against the whole session's smoother: what the filter does not know yet is within its bar.
    off = []
    for event in carried[1]:
        # The fifth turns out to be an in lap.
        if isinstance(event, LapGoing) and np.isfinite(event.delta_s) and event.lap < 5:
            lap, other = event.lap, int(event.reference.split()[1].strip(","))
            traces = [world.session.trace(n) for n in (lap, other)]
            times = [float(t.time_at(event.station_m)[0]) - t.start_s for t in traces]
            off.append((event.delta_s - times[0] + times[1], event.delta_sd_s))
    error, sd = np.array(off).T
    assert len(error) > 1000
    assert np.sqrt(np.mean(error**2)) < 0.03
    assert (np.abs(error) < 1.96 * np.maximum(sd, 0.004)).mean() > 0.97
    assert (sd > 0.0).all()


def test_the_bar_of_the_delta_grows_from_nothing_to_that_of_the_lap_times(
    world: World, carried: tuple[Running, list]
) -> None:
    going = [e for e in carried[1] if isinstance(e, LapGoing) and np.isfinite(e.delta_s)]
    for lap in (3, 4):
        mine = [e for e in going if e.lap == lap]
        # Of the first metres the start line has the same error.
        assert mine[0].delta_sd_s < 0.004
        other = int(mine[-1].reference.split()[1].strip(","))
        whole = world.session.compare(lap, other)
        assert mine[-1].delta_sd_s == pytest.approx(whole.time_difference_sd_s, rel=0.25)


def test_predicted_is_the_reference_plus_the_delta(carried: tuple[Running, list]) -> None:
    laps = {lap.lap: lap for lap in carried[0].laps}
    last = [e for e in carried[1] if isinstance(e, LapGoing) and e.lap == 4][-1]
    # At the end of the lap there is nothing left to predict.
    assert last.predicted_s == pytest.approx(laps[4].time_s, abs=0.05)
    assert last.predicted_sd_s > last.delta_sd_s


def test_what_nothing_is_known_of_is_wide_at_first_and_learned(world: World) -> None:
    running, events = run(world, carried=False)
    first = next(e for e in events if isinstance(e, LapTimed) and e.kind == "timed")
    learned = [e for e in events if isinstance(e, Learned)]
    assert learned
    assert running.engine.known.source == "this session"
    after = world.session.row(first.lap)
    assert first.time_sd_s > 1.15 * after["time_sd_s"]
    for lap in running.laps:
        if lap.kind == "timed":
            true = world.paired().set_index("lap").loc[lap.lap, "time_s_true"]
            assert abs(lap.time_s - true) < 4.0 * lap.time_sd_s


def test_the_same_fixes_give_the_same_to_the_last_bit(
    world: World, carried: tuple[Running, list]
) -> None:
    again, events = run(world, carried=True)
    assert repr(again.laps) == repr(carried[0].laps)
    assert repr(events[-1]) == repr(carried[1][-1])


def test_learning_beside_the_fixes_comes_to_the_same(world: World) -> None:
    # As far as the first lap's learning: what it hands over has caught up.
    running, waited = (
        Running(Setting(world.session.shared_track), at_once=at_once) for at_once in (False, True)
    )
    until_s = world.log.first_fix_s + float(world.session.row(1)["start_s"]) + 130.0
    for fix in fixes_of(world.log):
        if fix.time_s > until_s:
            break
        waited.take(fix)
        running.take(fix)
        if running._learning is not None and fix.time_s > until_s - 1.0:
            running._learning.done.wait(timeout=120.0)
    assert running.engine.known == waited.engine.known
    assert running.engine.known.source == "this session"
    assert running.engine.fixes == waited.engine.fixes
    assert repr(running.laps) == repr(waited.laps)


def test_memory_of_fixes_and_marks_is_bounded(carried: tuple[Running, list]) -> None:
    marks = carried[0].engine._motion.marks
    # The best lap's places, the lap's own, the lines of this lap and of the last.
    assert len(marks) <= 2 * 32 + 10


def test_a_jump_back_of_the_clock_begins_again_and_keeps_the_laps(world: World) -> None:
    running = Running(Setting(world.session.shared_track), at_once=True)
    fixes = list(fixes_of(world.log))
    half = fixes[: len(fixes) // 2]
    for fix in half:
        running.take(fix)
    count = len(running.laps)
    assert count >= 2
    for i, fix in enumerate(half):
        running.take(replace(fix, time_s=fix.time_s - 10_000.0), again=i == 0)
    numbers = [lap.lap for lap in running.laps]
    assert len(numbers) == 2 * count
    assert numbers == sorted(set(numbers))


def test_a_hole_is_flagged_and_a_spike_moves_nothing(world: World, tmp_path: Path) -> None:
    row = world.session.row(2)
    start = world.log.first_fix_s + row["start_s"]
    known = carried_over(world.session.motion_without_road)
    running = Running(Setting(world.session.shared_track, known), at_once=True)
    for fix in fixes_of(world.log):
        since = fix.time_s - start
        if 20.0 < since < 24.0:
            continue
        odd = fix if not 100.0 < since < 100.1 else replace(fix, lat_deg=fix.lat_deg + 0.01)
        running.take(odd)
    laps = {lap.lap: lap for lap in running.laps}
    assert "gap" in laps[2].flags
    assert laps[2].time_s == pytest.approx(row["time_s"], abs=0.02)
    assert "gap" not in laps[3].flags


def test_what_is_nowhere_near_or_hours_later_upsets_nothing(world: World) -> None:
    running = Running(Setting(world.session.shared_track), at_once=True)
    fixes = list(fixes_of(world.log))[:300]
    for i, fix in enumerate(fixes):
        running.take(fix)
        for lat, lon in ((89.9, -170.0), (-fix.lat_deg, fix.lon_deg), (fix.lat_deg + 2.0, 0.0)):
            odd = replace(fix, time_s=fix.time_s + 0.01 + 1e-3 * i, lat_deg=lat, lon_deg=lon)
            assert running.take(odd) == []
    (*_, going) = running.take(replace(fixes[-1], time_s=fixes[-1].time_s + 1e9))
    assert np.isfinite(going.speed_mps)


def test_grid_and_pit_stop_are_told_as_in_the_lap_table(tmp_path: Path) -> None:
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    plan = sim.Plan((2, 2), start="grid")
    world = make_world(tmp_path, plan, receiver=receiver, seed=7, repeat_line=False)
    running, _ = run(world, carried=True)
    table = {int(row["lap"]): row for row in world.session.laps.to_dict("records")}
    assert "standing_start" in table[1]["flags"]
    assert [row["kind"] for row in table.values()].count("in") == 2
    for lap in running.laps:
        assert (lap.kind, lap.flags) == (table[lap.lap]["kind"], table[lap.lap]["flags"])
    # The last one ends in the box, before the line.
    assert {*table} - {lap.lap for lap in running.laps} <= {max(table)}
