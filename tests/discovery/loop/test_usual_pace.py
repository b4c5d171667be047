"""The usual lap time is that of the quicker half."""

import numpy as np

from lapwright.discovery.loop.usual_pace import usual_time_s


def test_slow_laps_do_not_move_it() -> None:
    # The quicker half of five is three: 90, 91 and 92 s; of four two: 90 and 91 s.
    assert usual_time_s(np.array([140.0, 92.0, 90.0, 500.0, 91.0])) == 91.0
    assert usual_time_s(np.array([140.0, 92.0, 90.0, 91.0])) == 90.5
    assert usual_time_s(np.array([90.0])) == 90.0
