"""Corners and the list of them."""

import numpy as np
import pytest

from lapwright.geometry import Corner, ReferencePath
from lapwright.geometry.corner import CornerMark
from lapwright.geometry.corner_list import (
    added,
    find,
    measured,
    merged,
    named,
    named_by_marks,
    ordered,
    shifted,
    split,
)

STRAIGHT, BEND = 84.39, np.pi * 36.80


@pytest.fixture
def path(traced) -> ReferencePath:
    """The athletics track: two left corners of radius 36.80 m (World Athletics)."""
    bend = (BEND, 1 / 36.80, 1 / 36.80)
    return ReferencePath(
        *traced([(STRAIGHT, 0.0, 0.0), bend, (STRAIGHT, 0.0, 0.0), bend], step=1.0)
    )


@pytest.fixture
def corners(path) -> tuple[Corner, ...]:
    first = measured(path, "", STRAIGHT, STRAIGHT + BEND)
    second = measured(path, "Kiln", 2 * STRAIGHT + BEND, 2 * (STRAIGHT + BEND) - 0.01)
    return ordered([second, first], path.length_m)


def test_the_corners_of_the_athletics_track(corners) -> None:
    assert [(c.order, c.name, c.direction) for c in corners] == [
        (1, "1", "left"),
        (2, "Kiln", "left"),
    ]
    # Where the curvature jumps a spline overshoots it by a tenth or two at most.
    assert corners[0].radius_m == pytest.approx(36.80, rel=0.15)


def test_a_mirrored_track_turns_right(path) -> None:
    mirror = ReferencePath(-path.east_m, path.north_m)
    assert measured(mirror, "", STRAIGHT, STRAIGHT + BEND).direction == "right"


def test_another_line_numbers_anew_but_names_stay(corners, path) -> None:
    moved = shifted(corners, 250.0, path.length_m)
    assert [(c.order, c.name) for c in moved] == [(1, "Kiln"), (2, "2")]
    assert moved[1].entry_m == pytest.approx(STRAIGHT - 250.0 + path.length_m)
    back = shifted(moved, path.length_m - 250.0, path.length_m)
    assert [(c.order, c.name) for c in back] == [(1, "1"), (2, "Kiln")]
    assert back[0].apex_m == pytest.approx(corners[0].apex_m)


def test_a_corner_may_hold_the_line(corners, path) -> None:
    # The line in the middle of the first corner: its apex decides on which side it counts.
    inside = shifted(corners, corners[0].apex_m + 1.0, path.length_m)
    last = inside[-1]
    assert last.entry_m < last.apex_m < path.length_m < last.exit_m


def test_names_by_number_or_as_a_list(corners) -> None:
    assert [c.name for c in named(corners, {2: "Hay Barn"})] == ["1", "Hay Barn"]
    assert [c.name for c in named(corners, ["Mill", "Hay Barn"])] == ["Mill", "Hay Barn"]
    with pytest.raises(ValueError, match="1 names for 2 corners"):
        named(corners, ["Mill"])
    with pytest.raises(ValueError, match="there is no corner 7; there are: 1 to 2"):
        named(corners, {7: "Mill"})
    with pytest.raises(ValueError, match="there are: none"):
        find((), 1)


def test_marks_of_a_file_name_the_corners_near_them(corners, path) -> None:
    marks = [
        CornerMark(1, "Mill", tuple(float(v) for v in path.beside(corners[0].apex_m + 20, -4.0))),
        CornerMark(2, "Nowhere", tuple(float(v) for v in path.beside(2.0, 0.0))),
    ]
    assert [c.name for c in named_by_marks(corners, marks[:1], path)] == ["Mill", "Kiln"]
    # A mark at the end of a straight 84 m long names the nearer corner.
    assert [c.name for c in named_by_marks(corners, marks, path)] == ["Mill", "Nowhere"]


def test_merging_and_splitting_are_each_others_opposite(corners, path) -> None:
    one = merged(corners, 1, 2, None, path)
    assert [(c.order, c.name) for c in one] == [(1, "Kiln")]
    assert (one[0].entry_m, one[0].exit_m) == (corners[0].entry_m, corners[1].exit_m)
    two = split(one, 1, 250.0, ("Mill", "Kiln"), path)
    assert [(c.order, c.name, c.exit_m) for c in two] == [
        (1, "Mill", 250.0),
        (2, "Kiln", corners[1].exit_m),
    ]
    # Without a name it has its new number, which follows when the line is moved.
    named_by_numbers = merged(named(corners, ["1", "2"]), 1, 2, None, path)
    assert named_by_numbers[0].name == "1"


def test_merging_across_the_line(corners, path) -> None:
    # Three parts of two bends; the line is between the last and the first.
    three = split(corners, 1, 150.0, ("", ""), path)
    whole = merged(three, 3, 1, None, path)
    assert [c.name for c in whole] == ["1", "Kiln"]
    kiln = whole[1]
    assert kiln.exit_m - kiln.entry_m == pytest.approx(
        three[0].exit_m + path.length_m - three[2].entry_m
    )
    # The apex decides on which side of the line it is counted.
    assert 0.0 <= kiln.apex_m < path.length_m
    assert kiln.entry_m == pytest.approx(three[2].entry_m)
    assert merged(three, 3, 1, "Loop", path)[1].name == "Loop"


def test_one_more_corner_must_not_lie_over_another(corners, path) -> None:
    straight = measured(path, "", 10.0, 70.0)
    assert len(added(corners, straight, path.length_m)) == 3
    # The first bend begins at 84.39 m (the straight), and 5 m may be shared.
    assert len(added(corners, measured(path, "", 10.0, 88.0, 40.0), path.length_m)) == 3
    with pytest.raises(ValueError, match="corner '1' ends 16 m after corner '2' begins"):
        added(corners, measured(path, "", 10.0, 100.0, 40.0), path.length_m)
    # Also across the line, where the second bend ends at 400 m of 400.
    with pytest.raises(ValueError, match="corner 'Kiln' ends 10 m after corner"):
        added(corners, measured(path, "", 390.0 - path.length_m, 30.0, 5.0), path.length_m)


def test_a_second_corner_must_not_lie_over_the_first(path) -> None:
    only = ordered([measured(path, "Kiln", 90.0, 190.0)], path.length_m)
    with pytest.raises(ValueError, match="m after corner"):
        added(only, measured(path, "", 120.0, 200.0), path.length_m)


def test_marks_with_nothing_but_a_number_name_no_corner(corners, path) -> None:
    # The file's third corner, after the line was moved: here it is the first.
    mark = CornerMark(3, "3", tuple(float(v) for v in path.beside(corners[0].apex_m, 0.0)))
    assert [c.name for c in named_by_marks(corners, [mark], path)] == ["1", "Kiln"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda c, p: merged(c, 2, 2, None, p), "from one number to another, not 2 to 2"),
        (lambda c, p: merged(c, 3, 1, None, p), "there is no corner 3"),
        (lambda c, p: named(c, {1: 5}), "name is text, not 5; put it in quotes"),
        (lambda c, p: merged(c, 1, 3, None, p), "there is no corner 3"),
        (lambda c, p: split(c, 1, 10.0, ("", ""), p), "cannot be cut at 10.0 m"),
        (lambda c, p: split(c, 1, 150.0, ("",), p), "need two names, not 1"),
        (lambda c, p: measured(p, "Mill", 50.0, 40.0), "exit must come after its entry"),
        (lambda c, p: Corner(0, "", "left", 1, 2, 3, 4), "numbered from 1"),
        (lambda c, p: Corner(1, "", "up", 1, 2, 3, 4), "'left' or 'right', not 'up'"),
        (lambda c, p: Corner(1, "Mill", "left", 3, 2, 4, 9), "'Mill': entry 3.0, apex 2.0"),
        (lambda c, p: Corner(1, "Mill", "left", 1, 2, np.nan, 9), "must follow each other"),
        (lambda c, p: Corner(1, "Mill", "left", 1, 2, 3, 0), "radius must be more than 0"),
    ],
)
def test_nonsense_is_refused(corners, path, change, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        change(corners, path)
