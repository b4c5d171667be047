"""A corner that was noted is found again by its place, whatever its number is today."""

import numpy as np
import pytest

from lapwright.coaching.corners_then import (
    corners_today,
    numbers_in_doubt,
    with_places,
)
from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.geometry.corner_list import measured
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.plane import Plane

ITEMS = (WorthTrying(2, "braking"), WorthTrying(3, "throttle"))


@pytest.fixture(scope="module")
def track() -> Track:
    """A circle of 300 m radius with four corners of 100 m, 1885 m round."""
    angle = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    path = ReferencePath(300.0 * np.cos(angle), 300.0 * np.sin(angle))
    bare = Track("Round", Plane(52.0, 5.0), Gate.across((300.0, 0.0), np.pi / 2, 20.0), path=path)
    return bare.with_corners([measured(path, "", at, at + 100.0) for at in (200, 600, 1000, 1400)])


def numbers(track: Track, today: Track) -> list[int]:
    return [item.corner for item in corners_today(with_places(ITEMS, track), today).items]


def test_the_place_is_that_of_the_apex(track: Track) -> None:
    placed = with_places(ITEMS, track)
    assert [item.station_m for item in placed] == [c.apex_m for c in track.corners[1:3]]
    assert [item.place_deg for item in placed] == [track.apex_deg(c) for c in track.corners[1:3]]
    # A number that the track does not have has no place.
    assert with_places([WorthTrying(9, "line")], track)[0].place_deg is None


def test_a_corner_added_or_taken_away_before_it_does_not_move_a_note(track: Track) -> None:
    assert numbers(track, track) == [2, 3]
    assert numbers(track, track.add_corner("Kink", 50.0, 100.0)) == [3, 4]
    assert numbers(track, track.without_corner(1)) == [1, 2]
    assert numbers(track, track.merge_corners(2, 3)) == [2, 2]
    # The line half a lap on: what was 3 is the first now.
    assert numbers(track, track.with_start_line_at_station(900.0)) == [4, 1]


def test_what_became_of_the_numbers(track: Track) -> None:
    placed = with_places(ITEMS, track)
    assert corners_today(placed, track.add_corner("Kink", 50.0, 100.0)).numbers == {2: 3, 3: 4}
    gone = corners_today(placed, track.without_corner(2))
    assert (gone.numbers, [i.corner for i in gone.items]) == ({2: None, 3: 2}, [2])
    assert [i.corner for i in gone.gone] == [2]
    assert corners_today(placed, track).numbers == {}


def test_a_place_on_another_circuit_is_no_corner(track: Track) -> None:
    far = WorthTrying(2, "line", station_m=1.0, lat_deg=52.3, lon_deg=5.4)
    assert corners_today([far], track).gone == (far,)


def test_old_notes_without_a_place_go_by_their_number(track: Track) -> None:
    then = corners_today(ITEMS, track.add_corner("Kink", 50.0, 100.0))
    assert (then.items, then.numbers, then.gone) == (ITEMS, {}, ())


def test_they_are_doubted_only_where_their_own_track_counts_otherwise(track: Track) -> None:
    other = track.add_corner("Kink", 500.0, 550.0)
    assert numbers_in_doubt(ITEMS, track, other) == (2, 3)
    assert numbers_in_doubt(ITEMS, track, track) == ()
    # Before the added corner nothing changed; what has a place is not in doubt.
    assert numbers_in_doubt([WorthTrying(1, "line")], track, other) == ()
    assert numbers_in_doubt(with_places(ITEMS, track), track, other) == ()
