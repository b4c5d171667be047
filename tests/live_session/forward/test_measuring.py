import math

import pytest

from lapwright.live_session.forward.measuring import Measuring
from lapwright.live_session.receiving.fixes import Fix
from lapwright.plane import Plane


def test_an_unchanged_place_of_a_moving_car_is_no_news() -> None:
    measuring = Measuring(Plane(51.0, 2.0))
    assert measuring.of(Fix(0.0, 51.0, 2.0, 30.0)).news
    assert not measuring.of(Fix(0.1, 51.0, 2.0, 30.0)).news
    assert measuring.of(Fix(0.2, 51.0, 2.0, 0.5)).news


def test_a_fix_twice_as_unsure_counts_a_quarter() -> None:
    measuring = Measuring(Plane(51.0, 2.0))
    for i in range(200):
        usual = measuring.of(Fix(float(i), 51.0 + 1e-6 * i, 2.0, position_sd_m=1.0))
    assert usual.factor == pytest.approx(1.0)
    # Twice the sd is four times the variance; the usual one moves by 1 % of the way.
    assert measuring.of(Fix(300.0, 51.1, 2.0, position_sd_m=2.0)).factor == pytest.approx(
        4, rel=0.02
    )
    assert measuring.of(Fix(301.0, 51.2, 2.0, position_sd_m=math.nan)).factor == 1.0


def test_course_is_clockwise_from_north() -> None:
    at = Measuring(Plane(51.0, 2.0)).of(Fix(0.0, 51.0, 2.0, 30.0, 90.0))
    assert at.course_rad == pytest.approx(math.pi / 2)
