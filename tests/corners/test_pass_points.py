"""Points of a pass, on speeds made by hand: what counts as this corner's slowing and braking."""

from itertools import pairwise

import numpy as np
import pandas as pd
from worlds import World

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pass_points import PassPoints, find_points
from lapwright.geometry import Corner
from lapwright.laps.lap_trace import LapTrace

_STEP_S = 0.02
_CORNER = Corner(2, "2", "left", entry_m=600.0, apex_m=760.0, exit_m=860.0, radius_m=60.0)
_WINDOW = (575.0, 885.0)
_BEFORE_M, _AFTER_M = 100.0, 1400.0


def trace_of(*knots: tuple[float, float]) -> LapTrace:
    """A straight drive whose speed [m/s] goes in straight lines in time between stations [m]."""
    time, speed = [0.0], [knots[0][1]]
    for (from_m, v0), (to_m, v1) in pairwise(knots):
        # At a steady acceleration the mean speed is the mean of the two.
        time.append(time[-1] + 2.0 * (to_m - from_m) / (v0 + v1))
        speed.append(v1)
    t = np.arange(0.0, time[-1], _STEP_S)
    v = np.interp(t, time, speed)
    station = knots[0][0] + np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * _STEP_S)])
    still = np.zeros(len(t))
    accel = np.gradient(v, t)
    return LapTrace(
        1, 0.0, float(t[-1]), 5000.0, t, station, still, station, still, v, accel, 0.1 * v, still
    )


def points_of(trace: LapTrace) -> PassPoints:
    points = find_points(trace, _CORNER, _WINDOW, _BEFORE_M, _AFTER_M, None, None)
    assert points is not None
    return points


def station(trace: LapTrace, time_s: float | None) -> float:
    assert time_s is not None
    return float(np.interp(time_s, trace.time_s, trace.station_m))


def test_braking_begins_where_a_steady_deceleration_says() -> None:
    # v0^2 - v1^2 = 2 a s with 40 and 20 m/s at 6 m/s^2: 100 m, so from 700 m for a minimum
    # at 800 m (uniform acceleration, any school book of mechanics).
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    points = points_of(trace)
    assert abs(station(trace, points.brake_s) - 700.0) < 40.0 * _STEP_S
    assert abs(station(trace, points.slowest_s) - 800.0) < 20.0 * _STEP_S


def test_braked_twice_in_a_corner_of_two_bends_the_heavier_braking_counts() -> None:
    # 44 to 39 takes 415, 41 to 29 takes 840 m^2/s^2 of energy a mass: the second.
    trace = trace_of(
        (0.0, 40.0), (620.0, 44.0), (680.0, 39.0), (730.0, 41.0), (840.0, 29.0), (1300.0, 40.0)
    )
    points = points_of(trace)
    assert abs(station(trace, points.brake_s) - 730.0) < 2.0
    assert 680.0 < station(trace, points.lift_s) <= 730.0


def test_a_trim_behind_the_braking_is_not_the_braking_point() -> None:
    # 44 to 29 takes 1095, 31 to 28 takes 177: the first, though the minimum follows the second.
    trace = trace_of(
        (0.0, 40.0), (620.0, 44.0), (720.0, 29.0), (770.0, 31.0), (800.0, 28.0), (1300.0, 40.0)
    )
    assert abs(station(trace, points_of(trace).brake_s) - 620.0) < 2.0


def test_easing_the_brake_is_no_second_braking() -> None:
    # From 39.0 to 39.5 m/s: half a metre per second is no speed gained between two bends.
    trace = trace_of(
        (0.0, 40.0), (620.0, 44.0), (680.0, 39.0), (700.0, 39.5), (820.0, 29.0), (1300.0, 40.0)
    )
    assert abs(station(trace, points_of(trace).brake_s) - 620.0) < 2.0


def test_braking_for_the_corner_before_is_not_this_corners() -> None:
    # Quicker at the apex before (100 m) than ever again: the slowing behind it is that corner's.
    trace = trace_of(
        (0.0, 46.0), (110.0, 45.0), (160.0, 35.0), (640.0, 40.0), (740.0, 20.0), (1300.0, 40.0)
    )
    assert abs(station(trace, points_of(trace).brake_s) - 640.0) < 2.0


def test_already_slowing_for_the_next_corner_is_not_the_slowest_point() -> None:
    # At 885 m, the window's end, the car is slower than it was at 760 m, but still braking.
    trace = trace_of((0.0, 40.0), (690.0, 45.0), (760.0, 38.0), (830.0, 40.0), (930.0, 25.0))
    points = points_of(trace)
    assert abs(station(trace, points.slowest_s) - 760.0) < 1.0


def test_still_slow_from_the_corner_before_is_not_the_slowest_point() -> None:
    trace = trace_of(
        (0.0, 30.0), (500.0, 20.0), (700.0, 40.0), (760.0, 36.0), (1300.0, 45.0)
    )  # At 575 m, the window's beginning, the car does 29 m/s and gains speed.
    assert abs(station(trace, points_of(trace).slowest_s) - 760.0) < 1.0


def test_without_a_slow_point_inside_the_end_of_the_window_stands() -> None:
    trace = trace_of((0.0, 30.0), (500.0, 45.0), (1300.0, 20.0))
    assert abs(station(trace, points_of(trace).slowest_s) - _WINDOW[1]) < 1.0


def test_a_blip_that_is_closed_again_is_no_going_back_to_the_throttle() -> None:
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    slowest = float(trace.time_s[np.argmin(np.abs(trace.station_m - 800.0))])
    times = np.array([0.0, -0.8, -0.7, -0.5, -0.4, 0.6, 0.8, 5.0]) + slowest
    times[0] = 0.0
    throttle = Channel("throttle", times, np.array([0.0, 0.0, 0.4, 0.4, 0.0, 0.0, 0.8, 0.8]))
    points = find_points(trace, _CORNER, _WINDOW, _BEFORE_M, _AFTER_M, None, throttle)
    assert points is not None
    # A quarter of the way from 0 to 0.8, in 0.2 s from 0.6 s after the slowest point.
    assert points.throttle_s is not None
    assert abs(points.throttle_s - (slowest + 0.65)) < 1e-9


def test_passes_without_error_bars_are_the_same_passes(world: World) -> None:
    bare, passes = world.session.bare_passes, world.session.passes
    pd.testing.assert_frame_equal(passes[list(bare.columns)], bare)
    added = set(passes.columns) - set(bare.columns)
    assert {"min_speed_sd_mps", "time_sd_s", "brake_sd_m", "min_speed_lat_deg"} <= added
