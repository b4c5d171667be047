"""Stretches of the ledger: they tile the lap and are the same for all laps."""

import numpy as np
import pytest
from worlds import World

from lapwright.geometry import Corner
from lapwright.laps.stretches import STRETCHES, nominal_braking, stretches


def test_they_tile_the_lap_in_order(world: World) -> None:
    table = stretches(world.session.track)
    assert table["start_m"].iloc[0] == 0.0
    assert table["end_m"].iloc[-1] == pytest.approx(world.session.track.length_m, abs=1e-9)
    np.testing.assert_allclose(table["start_m"].iloc[1:], table["end_m"].iloc[:-1], atol=1e-9)


def test_every_corner_has_its_four_and_the_line_cuts_one_in_two(world: World) -> None:
    table = stretches(world.session.track)
    for order in range(1, len(world.session.track.corners) + 1):
        assert set(table.loc[table["corner"] == order, "stretch"]) == set(STRETCHES)
    assert len(table) == 4 * len(world.session.track.corners) + 1


def test_braking_never_begins_before_the_last_exit(world: World) -> None:
    track = world.session.track
    for corner, start in zip(track.corners, nominal_braking(track), strict=True):
        before = track.corners[corner.order - 2]
        exit_m = before.exit_m - (track.length_m if before.exit_m > corner.entry_m else 0.0)
        assert exit_m - 1e-9 <= start <= corner.entry_m


def test_the_start_of_the_lap_is_no_corners(world: World) -> None:
    track = world.session.track
    table = stretches(track)
    first = table.iloc[0]
    assert (first["corner"], first["stretch"], first["start_m"]) == (0, "straight", 0.0)
    assert first["end_m"] == pytest.approx(nominal_braking(track)[0])
    last = table[table["corner"] == len(track.corners)]
    assert last["start_m"].min() > track.corners[-2].apex_m


def test_given_places_of_slowing_are_taken(world: World) -> None:
    track = world.session.track
    slowing = [corner.entry_m - 3.0 for corner in track.corners]
    table = stretches(track, slowing)
    braking = table[table["stretch"] == "braking"]
    np.testing.assert_allclose(braking["end_m"] - braking["start_m"], 3.0)


def test_rows_of_no_length_are_kept(world: World) -> None:
    track = world.session.track
    a, b = track.corners[0], track.corners[1]
    touching = Corner(2, "2", b.direction, a.exit_m, b.apex_m, b.exit_m, b.radius_m)
    joined = track.with_corners((a, touching, *track.corners[2:]))
    table = stretches(joined)
    straight = table[(table["corner"] == 1) & (table["stretch"] == "straight")]
    assert (straight["end_m"] - straight["start_m"]).min() == 0.0


def test_a_circuit_without_corners_is_one_straight(world: World) -> None:
    table = stretches(world.session.track.with_corners(()))
    assert table[["start_m", "end_m"]].to_numpy().tolist() == [[0.0, world.session.track.length_m]]
