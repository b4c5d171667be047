"""What is said where corners have other numbers than in the session before."""

from types import SimpleNamespace

from lapwright.coaching.corners_then import CornersToday
from lapwright.coaching.tried import Tried
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units
from lapwright.wording.coaching.corners_then import (
    by_number_alone,
    renumbered_remarks,
    which_are_meant,
)

GONE = WorthTrying(1, "line", station_m=402.4, lat_deg=-43.0, lon_deg=144.0)
THEN = CornersToday((), {1: None, 4: 5}, (GONE,))
TRACK = SimpleNamespace(corners=[SimpleNamespace(order=n) for n in (1, 2, 3, 4, 5)])


def test_a_new_number_and_a_corner_that_is_gone_are_said() -> None:
    moved, gone = renumbered_remarks(THEN, "friday.csv", Units())
    assert moved.startswith("Corner 4 in the notes of friday.csv is corner 5 of this track")
    assert "Corner 1 in the notes of friday.csv was 402 m after the start line of then" in gone
    # 402.4 m are 1320 ft.
    assert "was 1320 ft after" in renumbered_remarks(THEN, "friday.csv", Units.parse("mph,ft"))[1]
    assert renumbered_remarks(CornersToday(()), "friday.csv", Units()) == ()


def test_a_question_names_both_corners_and_how_to_write_them() -> None:
    doubtful = (("corner 4, line", 4), ("corner 1, line", 1), ("corner 2: line", 2))
    four, one, two = which_are_meant(Tried((), (), (), doubtful), THEN, TRACK)
    assert four == (
        'Which corner is meant by "corner 4, line"? Corner 4 of the session before is corner 5 '
        'today. Write "corner 5 now" for the corner of then, or "corner 4 now" for the one that is '
        "4 today."
    )
    assert "Corner 1 of the session before is no corner any more." in one
    assert "Corners of this track have other numbers than in the session before." in two
    assert '"corner 2 now" for the one that is 2 today' in two


def test_notes_without_a_place_are_taken_by_number() -> None:
    said = by_number_alone((4, 6), "friday.csv", "ours.geojson")
    assert said.startswith("The notes of friday.csv say corners 4, 6 without a place, and ours.geo")
    assert "say corner 4 without" in by_number_alone((4,), "friday.csv", "ours.geojson")
