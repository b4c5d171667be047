"""The standing start against the exact truth."""

import math
from dataclasses import replace

import numpy as np
import pytest
from race_worlds import mine, plan_of, raced

from lapwright import simulate as sim
from lapwright.race.launch import KMH_60, KMH_100, launches
from lapwright.session import Session

# A standard normal value beyond this is one in 16 000.
SURE_SDS = 4.0


def test_times_from_rest_are_within_their_bars() -> None:
    world = mine()
    row = world.session.launches.iloc[0]
    assert len(world.session.launches) == 1
    assert row["lap"] == 1
    assert world.run.launch_s is not None
    line_s = world.run.laps.loc[world.run.laps["kind"] == "timed", "start_s"].iloc[0]
    truth = {
        "to_60_kmh": world.first_reached_s(KMH_60), "to_100_kmh": world.first_reached_s(KMH_100),
        "to_line": float(line_s) - world.run.launch_s,
    }  # fmt: skip
    for name, true_s in truth.items():
        sd = row[f"{name}_sd_s"]
        # A bar so wide that nothing could be wrong is no bar: 0.1 s of a start of 3 to 6 s.
        assert 0.0 < sd < 0.1
        assert abs(row[f"{name}_s"] - true_s) < SURE_SDS * sd, name
    assert row["start_s"] == pytest.approx(world.run.launch_s - world.zero_s, abs=0.08)


def test_bars_over_many_receivers() -> None:
    # One run, the errors of many receivers: the launch alone, so without the rest of the session.
    run = mine().run
    assert run.launch_s is not None
    true_s = mine().first_reached_s(KMH_60)
    part = (run.launch_s - 60.0, run.launch_s + 60.0)
    off = []
    for seed in range(12):
        recording = sim.receive(run, sim.ORDINARY, seed=100 + seed)
        log = recording.log()
        at_s = log.fixes["time_s"] + recording.zero_s
        cut = log.fixes[(at_s > part[0]) & (at_s < part[1])].reset_index(drop=True)
        short = replace(log, fixes=cut.assign(time_s=cut["time_s"] - cut["time_s"].iloc[0]))
        session = Session(short, mine().session.shared_track, repeat_line=False)
        lap = mine().session.laps[mine().session.laps["lap"] == 1]
        zero_s = float(at_s[(at_s > part[0]) & (at_s < part[1])].iloc[0])
        moved = lap.assign(
            start_s=lap["start_s"] + mine().zero_s - zero_s,
            end_s=lap["end_s"] + mine().zero_s - zero_s,
        )
        forward = session.track.start_finish.forward
        row = launches(session.motion, session.mapped, moved, forward).iloc[0]
        off.append((row["to_60_kmh_s"] - true_s) / row["to_60_kmh_sd_s"])
    # The root mean square of 12 standard normal values is within 0.45 and 1.6 but once in 500.
    assert 0.3 < float(np.sqrt(np.mean(np.square(off)))) < 1.6


def test_without_velocity_the_bars_are_wider_and_hold() -> None:
    receiver = replace(sim.ORDINARY, velocity="none")
    world = raced(plan_of((2,), 14.0), 5, receiver=receiver)
    row = world.session.launches.iloc[0]
    assert row["to_60_kmh_sd_s"] > 3.0 * mine().session.launches["to_60_kmh_sd_s"].iloc[0]
    error = row["to_60_kmh_s"] - world.first_reached_s(KMH_60)
    assert abs(error) < SURE_SDS * row["to_60_kmh_sd_s"]


def test_no_start_from_the_pits() -> None:
    world = raced(sim.Plan((2,), garage_s=20.0), 6)
    assert world.session.launches.empty


def test_a_hole_in_the_log_leaves_the_time_open() -> None:
    world = mine()
    log = world.session.log
    assert world.run.launch_s is not None
    begin = world.run.launch_s - world.zero_s + 3.6
    # Fixes are missing between 60 and 100 km/h.
    kept = log.fixes[~log.fixes["time_s"].between(begin, begin + 1.6)].reset_index(drop=True)
    row = Session(replace(log, fixes=kept), world.session.shared_track).launches.iloc[0]
    assert math.isfinite(row["to_60_kmh_s"])
    assert math.isnan(row["to_100_kmh_s"])
    assert math.isnan(row["to_100_kmh_sd_s"])
