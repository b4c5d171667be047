"""How a lap is parted at its corners."""

import numpy as np
import pandas as pd

from lapwright.achievable.parts import part_the_lap

STATION_M = np.arange(0.0, 1000.0, 10.0)


def spans(*rows: tuple[int, float, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["corner", "start_m", "slowest_m"])


def test_parts_begin_before_each_braking_and_the_last_goes_on_over_the_line() -> None:
    parts = part_the_lap(STATION_M, 1000.0, spans((1, 200.0, 300.0), (2, 600.0, 700.0)))
    assert parts.corner[parts.part[STATION_M == 0.0]].tolist() == [2]
    assert parts.corner[parts.part[STATION_M == 200.0]].tolist() == [1]
    assert parts.corner[parts.part[STATION_M == 590.0]].tolist() == [1]
    assert parts.end_m.tolist() == [600.0, 1200.0]
    # Every step belongs to one part: 40 of 10 m to the first, 60 to the second, by hand.
    assert parts.sums(np.ones(100)).tolist() == [40.0, 60.0]


def test_behind_the_slowest_place_is_behind_it_over_the_line_too() -> None:
    parts = part_the_lap(STATION_M, 1000.0, spans((1, 200.0, 300.0), (2, 600.0, 700.0)))
    behind = STATION_M[parts.behind]
    assert 690.0 not in behind
    assert {700.0, 990.0, 0.0, 190.0, 300.0} <= set(behind)
    assert not {200.0, 290.0, 600.0} & set(behind)


def test_a_corner_braked_for_before_the_line() -> None:
    parts = part_the_lap(STATION_M, 1000.0, spans((1, -50.0, 40.0), (2, 500.0, 600.0)))
    assert parts.corner.tolist() == [2, 1]
    assert parts.corner[parts.part[np.isin(STATION_M, [0.0, 950.0, 940.0])]].tolist() == [1, 2, 1]
    assert not parts.behind[0]
    assert parts.behind[STATION_M == 40.0].all()


def test_lowest_values_are_those_of_each_part() -> None:
    parts = part_the_lap(STATION_M, 1000.0, spans((1, 200.0, 300.0), (2, 600.0, 700.0)))
    speed = np.full((2, 100), 50.0)
    speed[0, 30], speed[1, 5] = 20.0, 30.0
    lowest, where = parts.lowest(speed)
    assert lowest.tolist() == [[20.0, 50.0], [50.0, 30.0]]
    assert (where[0, 0], where[1, 1]) == (30, 5)
