"""Where a car usually slows for a corner: from the laps, not from another car."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.geometry import read_track, write_track
from lapwright.laps.slowing import usual_slowing
from lapwright.laps.stretches import nominal_braking


def test_zones_begin_just_before_the_brakings_of_the_session(world: World) -> None:
    session = world.session
    passes = session.bare_passes[session.bare_passes["lap"].isin(session.clean_laps)]
    for corner, slowing in zip(session.track.corners, session.slowing_m, strict=True):
        assert slowing <= corner.entry_m
        brakes = passes.loc[passes["corner"] == corner.order, "brake_station_m"].dropna()
        # Those zones that are not cut off by the corner before, or begin within the corner itself.
        if len(brakes) == len(session.clean_laps) and brakes.max() < corner.entry_m:
            assert slowing < brakes.min() + 10.0
            assert slowing > brakes.min() - 25.0


def test_a_slow_car_brakes_where_it_brakes(tmp_path: Path) -> None:
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.KART, sim.Driver(), sim.Plan((3,)), seed=3)
    world = make_world(tmp_path, sim.Plan((2,)))
    session = type(world.session)(sim.receive(run, seed=4).log(), world.track)
    true = run.passes
    brake = true.loc[true["corner"] == 1, "brake_station_m"].dropna()
    assert len(brake)
    # The nominal car brakes more than a hundred metres too early for it.
    assert nominal_braking(session.track)[0] < brake.min() - 100.0
    assert session.slowing_m[0] == pytest.approx(brake.min(), abs=25.0)


def test_a_corner_no_lap_slows_for_has_no_braking_zone(world: World) -> None:
    track = world.session.track
    # Where the car gains speed all the way nobody slows.
    lap = world.session.trace(world.session.clean_laps[0])
    rising = replace(
        lap, speed_mps=20.0 + 0.01 * lap.station_m, accel_long_mps2=np.ones(len(lap.time_s))
    )
    entries = [corner.entry_m for corner in track.corners]
    np.testing.assert_allclose(usual_slowing(track, [rising]), entries)


def test_without_a_lap_it_is_the_nominal_cars(world: World) -> None:
    track = world.session.track
    np.testing.assert_allclose(usual_slowing(track, []), nominal_braking(track))


def test_order_of_the_laps_does_not_matter(world: World) -> None:
    traces = [world.session.trace(n) for n in world.session.clean_laps]
    there, back = (usual_slowing(world.session.track, t) for t in (traces, traces[::-1]))
    np.testing.assert_array_equal(there, back)


def test_what_is_saved_with_the_track_stands(world: World, tmp_path: Path) -> None:
    track = world.session.track
    run_ups = [10.0 + corner.order for corner in track.corners]
    saved = track.with_run_ups(run_ups)
    traces = [world.session.trace(n) for n in world.session.clean_laps]
    expected = [corner.entry_m - 10.0 - corner.order for corner in track.corners]
    np.testing.assert_allclose(usual_slowing(saved, traces), expected)
    write_track(saved, tmp_path / "track.geojson")
    again = read_track(tmp_path / "track.geojson")
    assert [corner.run_up_m for corner in again.corners] == run_ups
    # Moving the line moves them along with their corners.
    ahead = again.with_start_line_at_station(500.0)
    assert sorted(c.run_up_m or 0.0 for c in ahead.corners) == run_ups


def test_a_run_up_is_not_below_zero(world: World) -> None:
    track = world.session.track
    with pytest.raises(ValueError, match="run_up_m must be 0 m or more"):
        track.with_run_ups([-1.0] * len(track.corners))
    with pytest.raises(ValueError, match="1 distances for 10 corners"):
        track.with_run_ups([1.0])
