"""A car is never lost: hairpins, parallel straights, crossovers, the pits, spins and short cuts."""

import numpy as np
import pytest

from lapwright.geometry import ReferencePath, map_match

RATE_HZ = 10.0


def drive(path, station, offset=0.0):
    """Times, positions and velocities of a car at given stations and offsets, ten a second."""
    station = np.asarray(station, dtype=float)
    east, north = path.beside(station, offset)
    time = np.arange(len(station)) / RATE_HZ
    velocity = np.stack([np.gradient(east, time), np.gradient(north, time)], axis=1)
    return time, east, north, velocity


def steady(path, speed=20.0, laps=2.5, start=30.0):
    """Stations of a car at constant speed."""
    return start + np.arange(0.0, laps * path.length_m, speed / RATE_HZ)


def wander(size, count, seed):
    """A slow drift of some metres, east and north, as receivers have it."""
    rng = np.random.default_rng(seed)
    phase = rng.uniform(0, 2 * np.pi, (2, 3))
    period = rng.uniform(300, 2000, (2, 3))
    k = np.arange(count)[:, np.newaxis, np.newaxis]
    return size * np.sin(2 * np.pi * k / period + phase).sum(axis=2) / 2.0


def check_along(path, station, offset, drift=0.0, seed=0, tolerance=None) -> None:
    """The station found is the one driven, to within what the drift can do to it."""
    time, east, north, velocity = drive(path, station, offset)
    error = wander(drift, len(time), seed)
    for speed in (velocity, None):
        found = map_match(path, time, east + error[:, 0], north + error[:, 1], speed)
        most = 1e-6 if not drift else 4.0 * drift
        if tolerance is not None:
            most = tolerance
        assert found.station_m - station == pytest.approx(0.0, abs=most)
        assert found.offset_m - offset == pytest.approx(0.0, abs=max(most, 1e-6))


@pytest.fixture
def hairpins(traced) -> ReferencePath:
    """Straights of 300 m, 20 m apart, joined by hairpins of radius 10 m, and a way back."""
    return ReferencePath(
        *traced(
            [
                (300.0, 0.0, 0.0),
                (np.pi * 10, 0.1, 0.1),
                (250.0, 0.0, 0.0),
                (np.pi * 10, -0.1, -0.1),
                (250.0, 0.0, 0.0),
                (np.pi * 40, 0.025, 0.025),
                (300.0, 0.0, 0.0),
                (np.pi * 60, 0.025 * 40 / 60, 0.025 * 40 / 60),
            ],
            step=2.0,
        )
    )


def figure_of_eight() -> ReferencePath:
    angle = np.arange(600) * (2.0 * np.pi / 600)
    return ReferencePath(300.0 * np.cos(angle), 150.0 * np.sin(2.0 * angle))


@pytest.mark.parametrize("drift", [0.0, 3.0])
@pytest.mark.parametrize("seed", range(4))
def test_the_legs_of_hairpins_are_not_confused(hairpins, drift, seed) -> None:
    # Legs 20 m apart; offset and drift together bring the car up to 8 m towards the other.
    station = steady(hairpins, 15.0)
    offset = 3.0 * np.sin(station / 70.0)
    check_along(hairpins, station, offset, drift, seed, tolerance=None if not drift else 12.0)


@pytest.mark.parametrize("drift", [0.0, 2.5])
@pytest.mark.parametrize("seed", range(4))
def test_a_crossover_is_no_short_cut(drift, seed) -> None:
    path = figure_of_eight()
    station = steady(path, 25.0)
    check_along(path, station, 3.0 * np.sin(station / 90.0), drift, seed)


@pytest.mark.parametrize("shift", [(0.0, 0.0), (0.0, 5.5), (0.0, -5.5), (3.0, 4.5)])
def test_straights_8_m_apart(narrow, shift) -> None:
    # The whole log is 5.5 m out, so on one straight the car is nearer to the other, opposite one.
    station = steady(narrow, 20.0)
    time, east, north, velocity = drive(narrow, station)
    for speed in (velocity, None):
        found = map_match(narrow, time, east + shift[0], north + shift[1], speed)
        # In the loops 5.5 m aside are asin(5.5/30) of an arc of 30 m and 5.5 m along: 5.6 m.
        assert np.abs(found.station_m - station).max() < 6.0
        assert not found.lost.any()


@pytest.mark.parametrize("drift", [0.0, 4.0, 8.0])
def test_straights_8_m_apart_in_the_same_direction(twice_round, drift) -> None:
    # Along 600 m of straight the log lies up to exactly on the other straight: only the distance
    # driven since the last bend can tell them apart.
    station = steady(twice_round, 25.0, laps=1.8)
    time, east, north, velocity = drive(twice_round, station)
    for speed in (velocity, None):
        found = map_match(twice_round, time, east, north + drift, speed)
        # In bends of 52 m the drift makes its own length of station, and a little more.
        assert np.abs(found.station_m - station).max() < 1.2 * drift + 1e-6


def test_standing_beside_the_other_straight_for_minutes(narrow) -> None:
    # Stopped on the one straight, 7 m out and so 1 m from the other.
    station = np.concatenate([np.linspace(30, 230, 100), np.full(3000, 230.0)])
    station = np.concatenate([station, np.linspace(230, 1200, 400)])
    time, east, north, velocity = drive(narrow, station)
    out = 7.0 * np.clip((np.arange(len(time)) - 60) / 40.0, 0.0, 1.0)
    out *= np.clip((3200 - np.arange(len(time))) / 40.0, 0.0, 1.0)
    found = map_match(narrow, time, east, north + out, velocity)
    assert np.abs(found.station_m - station).max() < 6.0


def test_a_pit_lane_beside_the_main_straight(hairpins) -> None:
    # 12 m to the right of the first straight, with a stop: 8 m nearer to the track than to any
    # other, and the stations go on as if on the track.
    length = hairpins.length_m
    station = np.concatenate(
        [np.linspace(length - 200, length + 100, 200), np.full(500, length + 100.0)]
    )
    station = np.concatenate([station, np.linspace(length + 100, length + 900, 500)])
    offset = -12.0 * np.clip((station - length + 150) / 80, 0, 1)
    offset *= np.clip((length + 280 - station) / 60, 0, 1)
    time, east, north, velocity = drive(hairpins, station, offset)
    found = map_match(hairpins, time, east, north, velocity)
    assert found.station_m - station == pytest.approx(0.0, abs=1e-6)
    assert found.offset_m - offset == pytest.approx(0.0, abs=1e-6)


def test_off_the_track_beside_another_part_of_it_and_back(hairpins) -> None:
    # Off to the left over 25 m, past the middle of the next leg 20 m away, and back again.
    station = steady(hairpins, 20.0, laps=1.5)
    offset = 25.0 * np.exp(-(((station - 150.0) / 50.0) ** 2))
    time, east, north, velocity = drive(hairpins, station, offset)
    found = map_match(hairpins, time, east, north, velocity)
    assert found.station_m - station == pytest.approx(0.0, abs=1e-6)


def test_a_spin_and_a_stretch_driven_backwards(hairpins) -> None:
    # To station 200, back to 170, a wait, and on.
    station = np.concatenate(
        [
            np.linspace(20, 200, 100),
            np.linspace(200, 170, 60),
            np.full(100, 170.0),
            np.linspace(170, 900, 500),
        ]
    )
    check_along(hairpins, station, 2.0)
    # A whole lap the wrong way round.
    check_along(hairpins, 500.0 - np.arange(0.0, 1300.0, 2.0), -1.0)


def test_a_short_cut_jumps_and_says_so(hairpins) -> None:
    # From the first leg at 200 m straight over to the second, which runs back: 231 m of it left.
    begin, end = 200.0, 300.0 + np.pi * 10 + 100.0 + 30.0
    before, after = np.arange(20.0, begin, 2.0), np.arange(end, 1100.0, 2.0)
    e0, n0 = (float(v) for v in hairpins.beside(begin, 0.0))
    e1, n1 = (float(v) for v in hairpins.beside(end, 0.0))
    way = np.linspace(0.0, 1.0, round(np.hypot(e1 - e0, n1 - n0) / 2.0) + 1)[:-1]
    east = np.concatenate(
        [hairpins.at(before).east_m, e0 + way * (e1 - e0), hairpins.at(after).east_m]
    )
    north = np.concatenate(
        [hairpins.at(before).north_m, n0 + way * (n1 - n0), hairpins.at(after).north_m]
    )
    time = np.arange(len(east)) / RATE_HZ
    found = map_match(hairpins, time, east, north)
    last = len(before) - 10
    assert found.station_m[:last] == pytest.approx(before[:last], abs=1e-6)
    assert found.station_m[-len(after) + 20 :] == pytest.approx(after[20:], abs=1e-6)
    jump = slice(last, len(east) - len(after) + 20)
    assert found.lost[jump].any()
    assert (found.station_sd_m[found.lost] >= 0.0).all()
    assert found.station_sd_m.max() > 5.0
    assert np.isfinite(found.station_m).all()
    # The station gained is far more than the distance driven: that is how a short cut shows.
    gained = np.diff(found.station_m[[last, len(east) - len(after) + 20]])[0]
    assert gained > 2.0 * np.diff(found.driven_m[[last, len(east) - len(after) + 20]])[0]


def test_too_far_inside_a_bend_the_station_goes_by_distance(traced) -> None:
    # A circle of 20 m driven 15 m inside: one minus offset times curvature is 0.25.
    circle = [(300.0, 0.0, 0.0), (np.pi * 20, 0.05, 0.05)]
    path = ReferencePath(*traced([*circle, *circle], step=2.0))
    station = np.arange(0.0, 700.0, 1.5)
    inside = np.exp(-(((station - 300.0 - np.pi * 10) / 18.0) ** 2))
    time, east, north, velocity = drive(path, station, 15.5 * inside)
    found = map_match(path, time, east, north, velocity)
    assert found.lost.any()
    assert not found.lost[:100].any()
    assert found.station_sd_m[found.lost].max() > 0.1
    assert np.all(found.station_sd_m[~found.lost] == 0.0)
    assert np.all(np.diff(found.station_m) > 0.0)
    assert found.station_m - station == pytest.approx(0.0, abs=12.0)
    assert found.station_m[~found.lost] - station[~found.lost] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("end", [False, True])
def test_a_log_that_begins_or_ends_inside_a_bend(traced, end: bool) -> None:
    # As above, and the log is cut in the middle of the bend: the station goes on by distance.
    circle = [(300.0, 0.0, 0.0), (np.pi * 20, 0.05, 0.05)]
    path = ReferencePath(*traced([*circle, *circle], step=2.0))
    middle = 300.0 + np.pi * 10
    station = np.arange(middle - 200.0, middle, 1.5) if end else np.arange(middle, 700.0, 1.5)
    offset = 15.5 * np.exp(-(((station - middle) / 18.0) ** 2))
    time, east, north, velocity = drive(path, station, offset)
    found = map_match(path, time, east, north, velocity)
    assert found.lost[-1 if end else 0]
    lost = found.lost
    gained, driven = np.diff(found.station_m[lost]), np.diff(found.driven_m[lost])
    assert gained == pytest.approx(driven, abs=1e-9)
    assert found.station_sd_m[lost].max() > 0.3


def test_a_log_that_begins_in_the_paddock(hairpins) -> None:
    # 60 m beside the last leg, wandering about, then out to the track.
    length = hairpins.length_m
    station = np.concatenate([np.full(200, 40.0), np.arange(40.0, 2.2 * length, 2.0)])
    offset = -60.0 * np.clip((260.0 - station) / 180.0, 0.0, 1.0)
    time, east, north, velocity = drive(hairpins, station, offset)
    found = map_match(hairpins, time, east, north, velocity)
    on = station > 270.0
    assert found.station_m[on] - station[on] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("rate", [1, 5, 100])
def test_any_rate(hairpins, rate: int) -> None:
    time = np.arange(0.0, 150.0, 1.0 / rate)
    station = 10.0 + 18.0 * time
    east, north = hairpins.beside(station, 1.0)
    found = map_match(hairpins, time, east, north)
    assert found.station_m - station == pytest.approx(0.0, abs=1e-6)


def test_the_mirrored_world_swaps_the_offset(hairpins) -> None:
    mirror = ReferencePath(-hairpins.east_m, hairpins.north_m)
    station = steady(hairpins, 20.0)
    time, east, north, velocity = drive(hairpins, station, 2.0 * np.sin(station / 60.0))
    here = map_match(hairpins, time, east, north, velocity)
    there = map_match(mirror, time, -east, north, velocity * [-1.0, 1.0])
    assert there.station_m == pytest.approx(here.station_m, abs=1e-6)
    assert there.offset_m == pytest.approx(-here.offset_m, abs=1e-6)


def test_one_fix_or_a_car_that_never_moves(hairpins) -> None:
    east, north = (float(v) for v in hairpins.beside(77.0, 2.0))
    for count in (1, 50):
        found = map_match(hairpins, np.arange(count), np.full(count, east), np.full(count, north))
        assert found.station_m == pytest.approx(77.0, abs=1e-6)
        assert found.offset_m == pytest.approx(2.0, abs=1e-6)


def test_station_zero_anywhere(hairpins) -> None:
    station = steady(hairpins, 20.0)
    time, east, north, velocity = drive(hairpins, station)
    found = map_match(hairpins.shifted(500.0), time, east, north, velocity)
    # The first station is in [0, length): 30 - 500 is a lap less.
    assert found.station_m == pytest.approx(station - 500.0 + hairpins.length_m, abs=1e-6)


def test_missing_positions_are_refused(hairpins) -> None:
    with pytest.raises(ValueError, match="none may be missing"):
        map_match(hairpins, [0.0, 1.0], [0.0, np.nan], [0.0, 0.0])
    with pytest.raises(ValueError, match="0 times and 0 positions"):
        map_match(hairpins, [], [], [])
