"""Where a session lies on its track."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.geometry import Gate, ReferencePath, Track
from lapwright.laps.session_offset import SessionOffset, estimate_session_offset, placed
from lapwright.motion.noise.priors import PRIORS
from lapwright.plane import Plane

Floats = np.ndarray
SPEED_MPS = 30.0
# An oval of two straights of 500 m and bends of 80 m radius, its straights along east.
STRAIGHT_M, RADIUS_M = 500.0, 80.0


@pytest.fixture
def track() -> Track:
    """The oval, with a line on its first straight."""
    bend = np.linspace(-np.pi / 2.0, np.pi / 2.0, 64, endpoint=False)
    along = np.arange(0.0, STRAIGHT_M, 4.0)
    east = np.concatenate([along, STRAIGHT_M + RADIUS_M * np.cos(bend)])
    north = np.concatenate([np.full(len(along), -RADIUS_M), RADIUS_M * np.sin(bend)])
    path = ReferencePath(np.concatenate([east, STRAIGHT_M - east]), np.concatenate([north, -north]))
    line = Gate.across((100.0, -RADIUS_M), 0.0, 20.0)
    return Track("Oval", Plane(50.0, 3.0), line, path=path)


def driven(track: Track, stations_m: Floats, beside_m: Floats | float = 0.0) -> tuple[Floats, ...]:
    """Times, positions and speeds along the path, some metres to the left of it."""
    station = np.asarray(stations_m)
    position = np.stack(
        track.path.beside(station, np.broadcast_to(beside_m, station.shape)), axis=-1
    )
    return station / SPEED_MPS, position, np.full(len(station), SPEED_MPS)


def laps(track: Track, count: int) -> Floats:
    return np.arange(0.0, count * track.path.length_m, 3.0)


def test_before_looking_two_receivers_may_lie_metres_apart(track) -> None:
    # Each lies off by its drift. The prior of one: a centre, and a logarithm with a spread, which
    # makes the mean square centre^2 exp(2 sd^2) (lognormal). Two of them: twice that.
    drift = PRIORS["drift_m"]
    both_m = np.sqrt(2.0 * drift.centre**2 * np.exp(2.0 * drift.log_sd**2))
    for it in (
        estimate_session_offset(replace(track, path=None), *driven(track, laps(track, 1))),
        # A hundred metres touch five cells of 20 m: too little to tell.
        estimate_session_offset(track, *driven(track, np.arange(0.0, 100.0, 3.0))),
    ):
        np.testing.assert_array_equal(it.offset_m, 0.0)
        # Of a size with it, and the same on each axis: one digit is all that is known of a prior.
        sd_m = np.sqrt(np.diag(it.cov_m2))
        assert np.all((sd_m > both_m / 1.5) & (sd_m < 1.5 * both_m))
        assert it.cov_m2[0, 1] == 0.0


@pytest.mark.parametrize("shift_m", [(0.0, 0.0), (2.0, -1.5), (-3.0, 0.5)])
def test_a_session_that_lies_elsewhere(track, shift_m: tuple[float, float]) -> None:
    time_s, position_m, speed_mps = driven(track, laps(track, 3))
    found = estimate_session_offset(track, time_s, position_m + shift_m, speed_mps)
    np.testing.assert_allclose(found.offset_m, shift_m, atol=0.1)


def test_along_straights_alone_the_prior_is_what_is_known(track) -> None:
    # From the line to the end of its straight: north is measured, east is not at all.
    time_s, position_m, speed_mps = driven(track, np.arange(0.0, 380.0, 3.0))
    found = estimate_session_offset(track, time_s, position_m + np.array([1.0, 2.0]), speed_mps)
    none = estimate_session_offset(replace(track, path=None), time_s, position_m, speed_mps)
    assert found.offset_m[0] == pytest.approx(0.0, abs=0.05)
    # Nineteen cells make three places 120 m apart; the size of the offset itself is the spread
    # the regression begins with. The prior, metres wide, must not pull it back by much.
    assert found.offset_m[1] == pytest.approx(2.0, abs=0.1)
    assert found.cov_m2[0, 0] == pytest.approx(none.cov_m2[0, 0], rel=0.05)
    assert found.cov_m2[1, 1] < 0.1 * none.cov_m2[1, 1]


def test_two_usual_lines_that_differ_leave_it_unsure(track) -> None:
    # A line that sways by a metre: the spread is a/sqrt 2, and a lap of 1.5 km is worth 12.5 places
    # 120 m apart. Each axis sees of a direction (cos, sin) its square: north on the straights and
    # half of the bends, east on the other half.
    station = laps(track, 3)
    swaying = np.sin(2.0 * np.pi * station / track.path.length_m * 12.0)
    found = estimate_session_offset(track, *driven(track, station, swaying))
    length_m = track.path.length_m
    bends_m = 2.0 * np.pi * RADIUS_M
    places = np.array([bends_m / 2.0, length_m - bends_m / 2.0]) / 120.0
    expected = np.sqrt(0.5 / places)
    # Robust weights make a little more or less of it.
    np.testing.assert_allclose(np.sqrt(np.diag(found.cov_m2)), expected, rtol=0.3)
    assert np.all(np.abs(found.offset_m) < 2.0 * expected)


def test_one_place_driven_wide_counts_little(track) -> None:
    # In the middle of one bend, over 60 m, the car runs wide by five metres, lap after lap. Counted
    # in full those three cells of the 25 that lie across the straights' direction would pull it by
    # some 5 x 3/12.5 = 1.2 m.
    station = laps(track, 3)
    place = np.mod(station, track.path.length_m)
    wide = np.where((place > 500.0) & (place < 560.0), -5.0, 0.0)
    time_s, position_m, speed_mps = driven(track, station, wide)
    found = estimate_session_offset(track, time_s, position_m + 1.0, speed_mps)
    np.testing.assert_allclose(found.offset_m, 1.0, atol=0.3)


def test_a_placed_track_is_where_the_receiver_saw_it(track) -> None:
    moved = placed(track, SessionOffset(np.array([3.0, -2.0]), np.eye(2)))
    # A point keeps its metres and moves in degrees.
    lat, lon = moved.plane.to_degrees(np.array([10.0]), np.array([20.0]))
    east, north = track.plane.to_metres(lat, lon)
    # The planes are tangent 3.6 m apart: over tens of metres they differ by far less than a mm.
    np.testing.assert_allclose([east[0], north[0]], [13.0, 18.0], atol=1e-3)
    assert moved.path is track.path
    assert moved.plane.height_m == track.plane.height_m
