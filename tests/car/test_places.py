"""Where on the circuit a moment was."""

import numpy as np
from car_worlds import CORNERS, places


def test_nearest_corner() -> None:
    p = places()
    # Corner 1 lies from 500 to 600 m, corner 2 from 2000 to 2200 m, the lap is 3000 m long: from
    # 1300 m it is 700 m to either; from 2900 m 700 m back to corner 2, 600 m on to corner 1.
    assert list(p.corner([550.0, 100.0, 1299.0, 1301.0, 2100.0, 2900.0])) == [1, 1, 1, 2, 2, 1]
    assert list(places(corners=()).corner([550.0])) == [0]
    assert [c.order for c in CORNERS] == [1, 2]


def test_stations_and_laps() -> None:
    p = places(2)
    # 30 m/s: 110 s are 300 m into the second lap.
    assert p.station_m([110.0])[0] == 300.0
    assert (p.lap(99.9), p.lap(100.0), p.lap(200.0)) == (1, 2, None)


def test_moving_time_leaves_standing_out() -> None:
    p = places(1)
    p.mapped.speed_mps[100:] = 0.0  # from 50 s on
    assert np.allclose(p.moving_s([20.0, 49.5, 90.0]), [20.0, 49.5, 49.5])
