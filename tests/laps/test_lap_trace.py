"""One lap along the path: pinned to the gates, always forwards, smooth."""

from pathlib import Path

import numpy as np
from worlds import World, make_world

from lapwright import simulate as sim


def test_the_trace_is_pinned_to_every_gate(world: World) -> None:
    session = world.session
    laps = session.laps[session.laps["kind"] == "timed"]
    for _, row in laps.iterrows():
        trace = session.trace(int(row["lap"]))
        at = np.array([row["start_s"], *(row["start_s"] + np.cumsum(row["sectors_s"]))])
        own = np.append(session.track.gate_stations_m, session.track.length_m)
        np.testing.assert_allclose(np.interp(at, trace.time_s, trace.station_m), own, atol=1e-5)
        np.testing.assert_allclose(trace.time_at(own), at, atol=1e-6)


def test_station_never_goes_back_and_time_at_station_increases(world: World) -> None:
    trace = world.session.trace(2)
    assert (np.diff(trace.station_m) > 0.0).all()
    station = np.linspace(0.0, trace.length_m, 5000)
    assert (np.diff(trace.time_at(station)) > 0.0).all()


def test_time_at_station_agrees_with_the_truth_to_metres(world: World) -> None:
    # The design asks for 1 m along the track plus the receiver's own error (drift 1 m).
    session = world.session
    pairs = world.paired()
    row = pairs[pairs["kind"] == "timed"].iloc[1]
    trace = session.trace(int(row["lap"]))
    share = np.linspace(0.02, 0.98, 60)
    mine = trace.time_at(share * trace.length_m) - trace.start_s
    true = world.run.elapsed(int(row["lap_true"]), share * world.run.circuit.length_m)
    speed = trace.at_station("speed_mps", share * trace.length_m)
    # Reference paths differ (usual line against centre line), so stations of the two scale only
    # roughly; what must hold is that no part of the lap is mistaken for another.
    assert np.abs((mine - true) * speed).max() < 15.0


def test_integrated_speed_is_the_distance_driven(world: World) -> None:
    trace = world.session.trace(2)
    inside = trace.inside
    t, v = trace.time_s[inside], trace.speed_mps[inside]
    by_speed = float(np.sum(0.5 * (v[1:] + v[:-1]) * np.diff(t)))
    steps = np.hypot(np.diff(trace.east_m[inside]), np.diff(trace.north_m[inside]))
    # Chords are shorter than arcs by d^2 / 24 R^2: parts per million at 2 m steps.
    assert abs(by_speed / steps.sum() - 1.0) < 2e-4


def test_a_log_may_end_just_behind_the_line(tmp_path: Path) -> None:
    # The last lap's run-out then reaches to the last fix, which steps of 0.05 s, added up, pass by
    # the last digit; nothing is known there.
    plan = sim.Plan((9,), start="rolling", end="track")
    world = make_world(tmp_path, plan, circuit=sim.invented("circle"), seed=3)
    session = world.session
    laps = session.laps[session.laps["kind"] == "timed"]
    for lap in laps["lap"]:
        assert session.trace(int(lap)).time_s[-1] <= session.motion.end_s
