from dataclasses import replace

import numpy as np
import pytest

from lapwright.discovery.corner_search.corners import find_corners
from lapwright.discovery.corner_search.driven_corners import corners_of_laps, driven_corners
from lapwright.discovery.loop.find_loop import find_loop
from lapwright.discovery.loop.reference import complete_from_positions
from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.geometry.corner import CornerMark
from lapwright.plane import Plane


def closed_path(kink_deg: float, radius_m: float) -> ReferencePath:
    """Two straights of 400 m, a kink between them, two bends of 60 m and a straight that closes."""
    kink_m, bend_m = np.deg2rad(kink_deg) * radius_m, np.deg2rad(180.0 - kink_deg / 2) * 60.0
    bends = np.array([0.0, 1 / radius_m, 0.0, 1 / 60.0, 0.0, 1 / 60.0])
    fine_m = 0.05

    def shape(last_m: float):
        edges = np.cumsum([400.0, kink_m, 400.0, bend_m, last_m, bend_m])
        s = np.arange(fine_m / 2, edges[-1], fine_m)
        return np.cumsum(np.exp(1j * np.cumsum(bends[np.searchsorted(edges, s)]) * fine_m)) * fine_m

    # What is missing lies along the last straight: the two halves are mirror images.
    points = shape(abs(shape(0.0)[-1]))
    assert abs(points[-1]) < 0.5
    points = points[:: round(2.0 / fine_m)]
    return ReferencePath(points.real, points.imag)


def laps(path: ReferencePath, lost_mps: float, at_m: float, count: int = 6, seed: int = 1):
    """Laps at 45 m/s, less for the bends of 60 m, and less by so much about a place."""
    rng = np.random.default_rng(seed)
    s = np.arange(-0.3 * path.length_m, (count + 0.3) * path.length_m, 1.0)
    bend = np.abs(path.at(s).curvature_per_m)
    limit = np.where(bend > 1 / 100.0, 24.0, 45.0)
    kernel = np.hanning(121)
    speed = np.convolve(np.pad(limit, 60, mode="edge"), kernel / kernel.sum(), mode="valid")
    ahead = np.mod(s - at_m + path.length_m / 2, path.length_m) - path.length_m / 2
    speed -= lost_mps * np.exp(-0.5 * (ahead / 40.0) ** 2)
    clock = np.r_[0.0, np.cumsum(1.0 / (0.5 * (speed[1:] + speed[:-1])))]
    t = np.arange(0.0, clock[-1], 0.2)
    east, north = path.beside(np.interp(t, clock, s), np.zeros(len(t)))
    noise = np.cumsum(rng.normal(0.0, 0.05, (2, len(t))), axis=1) * 0.3
    noise += rng.normal(0.0, 0.2, (2, len(t)))
    return t, east + noise[0], north + noise[1]


def corners_in(path: ReferencePath, trace):
    """Corners of the loop that is found in a trace, with apexes as stations of the true path."""
    loop = find_loop(*trace)
    found = ReferencePath(loop.ring.east_m, loop.ring.north_m)
    corners = driven_corners(found, loop.ring, loop.trace, loop.along)
    at = found.at(np.mod([c.apex_m for c in corners], found.length_m))
    station_m, _ = path.project(at.east_m, at.north_m)
    return sorted(zip(station_m, corners, strict=True), key=lambda pair: pair[0])


def test_a_kink_that_every_lap_slows_down_for_is_a_corner() -> None:
    # 18 degrees at 300 m: 0.06 degrees a metre, half of what is a corner by its curvature.
    path = closed_path(18.0, 300.0)
    assert len(find_corners(path)) == 2
    (at_m, corner), *others = corners_in(path, laps(path, 20.0 / 3.6, 440.0))
    assert len(others) == 2
    # The middle of the kink: 400 m and half of its 94 m.
    assert at_m == pytest.approx(447.0, abs=15.0)
    assert corner.direction == "left"
    assert corner.entry_m < corner.apex_m < corner.exit_m
    assert corner.radius_m == pytest.approx(300.0, rel=0.25)
    assert len(corners_in(path, laps(path, 0.0, 440.0))) == 2


def test_two_cars_slowest_at_different_places_have_the_corner_at_one() -> None:
    path = closed_path(18.0, 300.0)
    early = corners_in(path, laps(path, 3.5, 425.0))
    late = corners_in(path, laps(path, 9.0, 465.0, seed=2))
    assert len(early) == len(late) == 3
    assert early[0][0] == pytest.approx(late[0][0], abs=8.0)


def test_a_place_that_does_not_bend_is_a_corner_where_every_lap_slows_down() -> None:
    path = closed_path(0.0, 300.0)
    (at_m, corner), *others = corners_in(path, laps(path, 7.0, 440.0))
    assert len(others) == 2
    assert at_m == pytest.approx(440.0, abs=15.0)
    # A bell of 40 m is at half its depth after 47 m; the speed is told over 40 m.
    assert corner.exit_m - corner.entry_m == pytest.approx(94.0, abs=30.0)
    assert corner.radius_m > 500.0


def test_one_lap_shows_no_habit() -> None:
    path = closed_path(0.0, 300.0)
    assert len(corners_in(path, laps(path, 7.0, 440.0, count=1))) == 2


def test_a_path_from_a_file_gets_the_same_corners_as_a_path_from_the_laps() -> None:
    path = closed_path(18.0, 300.0)
    trace = laps(path, 6.0, 440.0)
    lines = lines_of(path)
    from_laps = complete_from_positions(lines, *trace)
    from_file = complete_from_positions(replace(lines, path=path), *trace)
    apexes = [[c.apex_m for c in track.corners] for track in (from_laps, from_file)]
    assert len(apexes[0]) == 3
    assert apexes[0] == pytest.approx(apexes[1], abs=10.0)
    # A file that has its corners keeps them.
    kept = replace(from_file, corners=from_file.corners[:2])
    assert len(kept.corners) == 2


def test_laps_of_another_place_say_nothing_of_a_path() -> None:
    path = closed_path(18.0, 300.0)
    t, east, north = laps(path, 6.0, 440.0)
    assert len(corners_of_laps(path, t, east, north)) == 3
    assert corners_of_laps(path, t, east + 5000.0, north) == find_corners(path)
    assert corners_of_laps(path, t[:5], east[:5], north[:5]) == find_corners(path)


def lines_of(path: ReferencePath) -> Track:
    point = path.at(700.0)
    gate = Gate.across((float(point.east_m), float(point.north_m)), float(point.heading_rad), 24.0)
    return Track("", Plane(52.0, 5.0), gate)


def mark(path: ReferencePath, station_m: float, name: str, near_m: float = 40.0) -> CornerMark:
    point = path.at(station_m)
    return CornerMark(1, name, (float(point.east_m), float(point.north_m)), near_m)


def test_a_point_in_a_file_of_lines_becomes_a_corner_where_nobody_slows_down() -> None:
    path = closed_path(18.0, 300.0)
    marks = (mark(path, 440.0, "Kink"),)
    track = complete_from_positions(
        replace(lines_of(path), corner_marks=marks), *laps(path, 0.0, 440.0)
    )
    (kink,) = (c for c in track.corners if c.name == "Kink")
    assert len(track.corners) == 3
    at = track.path.at(kink.apex_m)
    assert float(path.project([at.east_m], [at.north_m])[0][0]) == pytest.approx(447.0, abs=20.0)
    assert kink.direction == "left"
    assert track.marks_without_corner == ()


def test_a_point_beside_corners_of_a_file_takes_its_ends_from_the_speeds() -> None:
    path = closed_path(0.0, 300.0)
    whole = complete_from_positions(replace(lines_of(path), path=path), *laps(path, 0.0, 440.0))
    assert len(whole.corners) == 2
    added = replace(whole, corner_marks=(mark(path, 430.0, "Bump", near_m=1.0),))
    slowed = complete_from_positions(added, *laps(path, 7.0, 440.0))
    fast = complete_from_positions(added, *laps(path, 0.0, 440.0))
    bumps = [next(c for c in t.corners if c.name == "Bump") for t in (slowed, fast)]
    at = [t.path.at(b.apex_m) for t, b in zip((slowed, fast), bumps, strict=True)]
    places = [float(path.project([p.east_m], [p.north_m])[0][0]) for p in at]
    # The slowest place where the laps show one, else the point itself.
    assert places == pytest.approx([440.0, 430.0], abs=8.0)
    others = [[c for c in t.corners if c.name != "Bump"] for t in (slowed, fast, whole)]
    for one, other in zip(others[0], others[2], strict=True):
        assert (one.entry_m, one.exit_m) == (other.entry_m, other.exit_m)
    assert slowed.corner_marks == ()


def test_a_point_off_the_track_stays_a_point() -> None:
    path = closed_path(18.0, 300.0)
    far = CornerMark(1, "Elsewhere", (3000.0, 3000.0))
    done = complete_from_positions(
        replace(lines_of(path), corner_marks=(far,)), *laps(path, 0.0, 440.0)
    )
    assert len(done.corners) == 2
    assert done.marks_without_corner == (far,)
