"""Where the car was slowest for a corner: on speeds made by hand, and not at a window's edge."""

import numpy as np
import pytest

from lapwright.corners.slow_point import kept_speed, pass_windows
from lapwright.geometry import Corner


def _corner(entry_m: float, apex_m: float, exit_m: float) -> Corner:
    return Corner(1, "1", "left", entry_m, apex_m, exit_m, 60.0)


def test_a_window_reaches_25_m_beyond_the_corner_or_half_way_to_the_next() -> None:
    corner = _corner(600.0, 700.0, 800.0)
    far = _corner(200.0, 250.0, 300.0), _corner(1500.0, 1550.0, 1600.0)
    assert pass_windows(corner, *far, 2000.0)[0] == (575.0, 825.0)
    # 30 m behind the corner before and 20 m before the next: half of it each.
    near = _corner(500.0, 550.0, 570.0), _corner(820.0, 850.0, 900.0)
    assert pass_windows(corner, *near, 2000.0)[0] == (585.0, 810.0)


def test_a_window_at_the_line_knows_the_corner_beyond_it() -> None:
    # The corner before ends 10 m before the line and this one begins 20 m behind it: half of 30 m.
    first, last = _corner(20.0, 60.0, 100.0), _corner(1900.0, 1950.0, 1990.0)
    assert pass_windows(first, last, _corner(500.0, 550.0, 600.0), 2000.0)[0] == (5.0, 125.0)
    assert pass_windows(last, _corner(500.0, 550.0, 600.0), first, 2000.0)[0] == (1875.0, 2005.0)
    # A corner that is the only one is far from itself.
    alone = _corner(600.0, 700.0, 800.0)
    assert pass_windows(alone, alone, alone, 2000.0)[0] == (575.0, 825.0)


def test_the_second_window_reaches_50_m_or_half_way() -> None:
    corner = _corner(600.0, 700.0, 800.0)
    far = _corner(200.0, 250.0, 300.0), _corner(1500.0, 1550.0, 1600.0)
    assert pass_windows(corner, *far, 2000.0)[1] == (550.0, 850.0)
    # 60 m behind the corner before and 40 m before the next: half of it each.
    near = _corner(450.0, 500.0, 540.0), _corner(840.0, 850.0, 900.0)
    assert pass_windows(corner, *near, 2000.0)[1] == (570.0, 820.0)


@pytest.mark.parametrize(
    ("speeds", "kept"),
    [
        ((30.0, 35.0, 40.0), True),
        # Slowing behind the apex of the corner before is that corner's.
        ((30.0, 25.0, 40.0), True),
        ((30.0, 40.0, 39.1), True),
        ((30.0, 40.0, 38.9), False),
        # Slowed, and quicker again than ever: it did slow.
        ((30.0, 40.0, 38.0, 45.0), False),
        # All the way down for this corner.
        ((40.0, 35.0, 30.0), False),
    ],
)
def test_a_car_that_loses_1_mps_has_slowed(speeds: tuple[float, ...], kept: bool) -> None:
    assert kept_speed(np.array(speeds)) == kept
