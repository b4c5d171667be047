import csv
import os
from pathlib import Path

import numpy as np
import pytest

from lapwright.discovery.corner_search.corners import find_corners
from lapwright.geometry import ReferencePath


def along(curvature_per_m, length_m: float, step_m: float) -> ReferencePath:
    """Closed path with a given curvature by station, by fine summation."""
    count = round(length_m / 0.01)
    fine = length_m / count
    s = (np.arange(count) + 0.5) * fine
    heading = np.cumsum(curvature_per_m(s)) * fine
    # The heading in the middle of each step, not at its end.
    heading = heading - 0.5 * curvature_per_m(s) * fine
    east, north = np.cumsum(np.cos(heading)) * fine, np.cumsum(np.sin(heading)) * fine
    assert np.hypot(east[-1], north[-1]) < 0.05
    every = round(step_m / fine)
    return ReferencePath(east[::every][:-1], north[::every][:-1])


@pytest.fixture
def athletics() -> ReferencePath:
    # World Athletics standard track, lane 1: two straights of 84.39 m and bends of radius
    # 36.80 m on the running line, 400.00 m in all.
    bend = np.pi * 36.80

    def curvature(s):
        s = np.mod(s, 84.39 + bend)
        return np.where(s < 84.39, 0.0, 1 / 36.80)

    return along(curvature, 2 * (84.39 + bend), 1.0)


@pytest.fixture
def clothoid_oval() -> ReferencePath:
    # R 50 m, spirals of 40 m, straights of 300 m: lap 994.159265 m, each bend 197.079633 m
    # (Fresnel integrals in closed form).
    def curvature(s):
        s = np.mod(s, 300.0 + 197.079633) - 300.0
        ramp = np.minimum(np.minimum(s, 197.079633 - s) / 40.0, 1.0)
        return np.where(s < 0, 0.0, ramp / 50.0)

    return along(curvature, 994.159265, 1.0)


def test_athletics_track_has_two_left_corners_of_its_radius(athletics) -> None:
    assert athletics.length_m == pytest.approx(400.00, abs=0.05)
    corners = find_corners(athletics)
    assert [c.direction for c in corners] == ["left", "left"]
    assert [c.radius_m for c in corners] == pytest.approx([36.80, 36.80], rel=0.01)
    # The apex of an arc is its middle: 84.39 + 57.81 m, and half a lap on.
    assert [c.apex_m for c in corners] == pytest.approx([142.2, 342.2], abs=1.0)


def test_clothoid_oval_begins_and_ends_where_its_spirals_do(clothoid_oval) -> None:
    first, second = find_corners(clothoid_oval)
    assert first.entry_m == pytest.approx(300.0, abs=2.0)
    assert first.exit_m == pytest.approx(497.079633, abs=2.0)
    assert second.entry_m == pytest.approx(797.079633, abs=2.0)
    assert second.exit_m == pytest.approx(994.159265, abs=2.0)
    assert [first.radius_m, second.radius_m] == pytest.approx([50.0, 50.0], rel=0.01)


def test_a_gentle_tail_does_not_move_the_apex() -> None:
    # A turn of 150 degrees at 50 m, 10 m of straight, and 30 degrees more at 200 m, twice a lap.
    main_m, tail_m = np.deg2rad(150.0) * 50.0, np.deg2rad(30.0) * 200.0
    half_m = 300.0 + main_m + 10.0 + tail_m

    def curvature(s):
        s = np.mod(s, half_m) - 300.0
        bend = np.where((s > 0.0) & (s < main_m), 1 / 50.0, 0.0)
        return np.where(s > main_m + 10.0, 1 / 200.0, bend)

    corners = find_corners(along(curvature, 2 * half_m, 1.0))
    apexes = [c.apex_m for c in corners if c.radius_m < 100.0]
    middle_m = 300.0 + main_m / 2
    assert apexes == pytest.approx([middle_m, middle_m + half_m], abs=2.0)


def test_an_oval_of_2_5_miles_has_four_left_corners() -> None:
    # The published fact sheet of an oval: 2.5 miles, four quarter turns of 1320 ft on the centre,
    # straights of 3300 ft and 660 ft: R = 1320 ft / (pi / 2) = 256 m.
    foot = 0.3048
    pieces = [3300.0, 1320.0, 660.0, 1320.0]
    edges = np.cumsum(pieces) * foot

    def curvature(s):
        s = np.mod(s, edges[-1])
        turning = ((s >= edges[0]) & (s < edges[1])) | (s >= edges[2])
        return np.where(turning, (np.pi / 2) / (1320 * foot), 0.0)

    path = along(curvature, 2 * edges[-1], 2.0)
    assert path.length_m == pytest.approx(4023.36, rel=0.001)
    corners = find_corners(path)
    assert [c.direction for c in corners] == ["left"] * 4
    assert [c.radius_m for c in corners] == pytest.approx([256.0] * 4, rel=0.1)


def test_another_start_shifts_the_corners_and_nothing_else(circuits) -> None:
    path = circuits["lark_down"]
    corners = find_corners(path)
    shift_m = corners[2].exit_m + 5.0
    moved = find_corners(path.shifted(shift_m))
    assert len(moved) == len(corners)
    apexes = sorted((c.apex_m + shift_m) % path.length_m for c in moved)
    assert apexes == pytest.approx([c.apex_m for c in corners], abs=1.0)
    assert moved[0].direction == corners[3].direction


def test_mirror_image_swaps_left_and_right(circuits) -> None:
    path = circuits["lark_down"]
    mirrored = ReferencePath(-path.east_m, path.north_m)
    corners, mirror = find_corners(path), find_corners(mirrored)
    assert len(corners) >= 6
    for one, other in zip(corners, mirror, strict=True):
        assert other.apex_m == pytest.approx(one.apex_m, abs=0.01)
        assert {one.direction, other.direction} == {"left", "right"}


def test_the_other_way_round_has_the_same_corners(circuits) -> None:
    path = circuits["lark_down"]
    forward, back = find_corners(path), find_corners(path.reversed())
    apexes = sorted((path.length_m - c.apex_m) % path.length_m for c in back)
    assert apexes == pytest.approx([c.apex_m for c in forward], abs=2.0)


def test_corner_over_the_line_has_its_entry_before_it(circuits) -> None:
    path = circuits["lark_down"]
    corner = find_corners(path)[1]
    line_m = 0.5 * (corner.entry_m + corner.apex_m)
    first = find_corners(path.shifted(line_m))[0]
    assert first.entry_m < 0.0 < first.apex_m < first.exit_m
    assert first.apex_m == pytest.approx(corner.apex_m - line_m, abs=1.0)


def test_a_circle_is_one_endless_corner_or_none() -> None:
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    corners = find_corners(ReferencePath(100 * np.cos(angle), 100 * np.sin(angle)))
    assert len(corners) <= 1


# Numbers follow custom (a kink may have one, a double apex one or two), so a count may be off by
# a quarter, and two circuits of the whole table by more.
OFF_BY = 0.25
MAX_OFF = 2
# Fewer circuits than this and the two that may be off would be a large part of them.
MIN_CIRCUITS = 10


def published_turns(folder: Path) -> dict[str, int]:
    """
    Read the published number of turns of every circuit whose centre line is in the folder.

    The table is ``circuits.csv`` in that folder, or the file LAPWRIGHT_CIRCUITS names.
    """
    table = Path(os.environ.get("LAPWRIGHT_CIRCUITS") or folder / "circuits.csv")
    if not table.is_file():
        pytest.skip(f"no table of published turns: {table.name} is not there")
    lines = table.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if line and not line.startswith("#"))
    return {
        row["circuit"]: int(row["published_turns"])
        for row in rows
        if (folder / f"{row['circuit']}.csv").is_file()
    }


def test_number_of_corners_of_real_centre_lines() -> None:
    """
    Hold the corners found in surveyed centre lines against the published number of turns.

    LAPWRIGHT_CENTRE_LINES names a folder with one centre line per circuit, ``NAME.csv``: lines
    that begin with ``#`` are comments, the first two columns are east and north in metres, the
    line is closed by joining the last point to the first.  Beside them lies ``circuits.csv``
    (or LAPWRIGHT_CIRCUITS names it), comments as above, with a header and at least the columns
    ``circuit`` (NAME) and ``published_turns``; the source of each number stands in that file.
    """
    given = os.environ.get("LAPWRIGHT_CENTRE_LINES")
    if not given:
        pytest.skip("LAPWRIGHT_CENTRE_LINES names no folder of centre lines (x_m, y_m, ...)")
    folder = Path(given)
    published = published_turns(folder)
    assert len(published) >= MIN_CIRCUITS, published
    off = {}
    for name, turns in published.items():
        file = folder / f"{name}.csv"
        east, north = np.loadtxt(file, delimiter=",", comments="#", usecols=(0, 1)).T
        found = len(find_corners(ReferencePath(east, north)))
        if abs(found - turns) > OFF_BY * turns:
            off[name] = (found, turns)
    assert len(off) <= MAX_OFF, off
