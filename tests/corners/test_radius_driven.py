"""The radius driven, on a corner made by hand: a circle of known radius."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from lapwright.corners.pass_table import corner_passes
from lapwright.geometry import Corner, Track
from lapwright.laps.lap_trace import LapTrace

_CORNER = Corner(1, "1", "left", entry_m=600.0, apex_m=700.0, exit_m=800.0, radius_m=60.0)
_RADIUS_M, _TIGHT_M = 40.0, 15.0


def driven(radius_m: float, *, jerked: bool) -> float:
    """Radius of one pass, slowest at 20 m/s at 700 m; a jerk at the wheel at turn-in or none."""
    time = np.arange(0.0, 50.0, 0.02)
    speed = 20.0 + 0.4 * np.abs(time - 22.0)
    station = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * 0.02)])
    station += 700.0 - np.interp(22.0, time, station)
    bend = np.where((station > 590.0) & (station < 810.0), 1.0 / radius_m, 0.0)
    if jerked:
        bend[(station > 605.0) & (station < 610.0)] = 1.0 / _TIGHT_M
    still = np.zeros(len(time))
    trace = LapTrace(
        1, 0.0, 50.0, 5000.0, time, station, still, station, still, speed,
        np.gradient(speed, time), bend * speed**2, still,
    )  # fmt: skip
    track = cast("Track", SimpleNamespace(corners=(_CORNER,), length_m=5000.0))
    return float(corner_passes(track, [trace], None, None)["radius_driven_m"].iloc[0])


@pytest.mark.parametrize("radius_m", [15.0, 40.0, 200.0])
def test_on_a_circle_it_is_the_circles_radius(radius_m: float) -> None:
    # v^2 / a of uniform circular motion, any school book of mechanics.
    assert driven(radius_m, jerked=False) == pytest.approx(radius_m, rel=1e-9)


def test_it_is_that_of_the_slowest_point_and_not_the_tightest_of_the_corner() -> None:
    assert driven(_RADIUS_M, jerked=True) == pytest.approx(_RADIUS_M, rel=1e-9)


def test_straight_ahead_it_is_finite() -> None:
    assert driven(1e12, jerked=False) == pytest.approx(1e6)
