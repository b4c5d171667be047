import numpy as np
import pytest

from lapwright.geometry.path import ReferencePath
from lapwright.live_session.forward.follow import Follower


@pytest.fixture(scope="module")
def path() -> ReferencePath:
    """Two straights of 600 m, 24 m apart: a hairpin at each end."""
    straight = np.linspace(0.0, 600.0, 61)
    turn = np.linspace(-np.pi / 2, np.pi / 2, 12)[1:-1]
    east = [*straight, *(600 + 12 * np.cos(turn)), *straight[::-1], *(-12 * np.cos(turn))]
    north = [*(0 * straight), *(12 + 12 * np.sin(turn)), *(24 + 0 * straight),
             *(12 - 12 * np.sin(turn))]  # fmt: skip
    return ReferencePath(np.array(east), np.array(north))


def drive(follow: Follower, path: ReferencePath, stations: np.ndarray, beside_m: float) -> None:
    east, north = path.beside(np.mod(stations, path.length_m), np.full(len(stations), beside_m))
    heading = path.at(np.mod(stations, path.length_m)).heading_rad
    velocity = 30.0 * np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    for i in range(len(stations)):
        follow.step(i / 10.0, np.array([east[i], north[i]]), velocity[i])


def test_station_grows_by_the_length_each_lap_and_stays_on_its_leg(path: ReferencePath) -> None:
    follow = Follower(path)
    # 14 m to the left: nearer to the other leg than to its own.
    stations = np.arange(100.0, 100.0 + 2.2 * path.length_m, 3.0)
    drive(follow, path, stations[:120], 0.0)
    assert follow.station_m == pytest.approx(stations[119], abs=0.1)
    drive(Follower(path), path, stations, 3.0)
    follow = Follower(path)
    drive(follow, path, stations, 5.0)
    assert follow.station_m == pytest.approx(stations[-1], abs=1.0)
    assert follow.offset_m == pytest.approx(5.0, abs=0.1)
    assert not follow.lost


def test_the_leg_is_found_by_the_direction(path: ReferencePath) -> None:
    # Between the legs, a little nearer to the first, but going the other way.
    follow = Follower(path)
    follow.step(0.0, np.array([300.0, 11.0]), np.array([-30.0, 0.0]))
    assert follow.station_m > 0.5 * path.length_m


def test_far_beside_the_path_the_station_goes_by_distance_and_is_found_again(
    path: ReferencePath,
) -> None:
    follow = Follower(path)
    for i in range(80):
        away = -200.0 if 20 <= i < 50 else 0.0
        follow.step(i / 10.0, np.array([50.0 + 3.0 * i, away]), np.array([30.0, 0.0]))
        if i == 45:
            assert follow.lost
    assert not follow.lost
    assert follow.station_m == pytest.approx(50.0 + 3.0 * 79, abs=0.5)
