"""Points of a pass, on speeds made by hand: what counts as this corner's slowing and braking."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from worlds import World

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pass_points import PassPoints, find_points
from lapwright.geometry import Corner
from lapwright.laps.lap_trace import LapTrace

_STEP_S = 0.02
_CORNER = Corner(2, "2", "left", entry_m=600.0, apex_m=760.0, exit_m=860.0, radius_m=60.0)
_WINDOWS = ((575.0, 885.0), (550.0, 910.0))
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
    points = find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, None, None)
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


def nothing_of(points: PassPoints) -> bool:
    moments = (
        points.slowest_s, points.top_s, points.lift_s, points.brake_s, points.turn_in_s,
        points.throttle_s,
    )  # fmt: skip
    return all(moment is None for moment in moments)


@pytest.mark.parametrize("through", [((0.0, 20.0), (1300.0, 45.0)),
                                     ((0.0, 30.0), (500.0, 40.0), (950.0, 40.0), (1300.0, 25.0)),
                                     ((0.0, 40.0), (150.0, 25.0), (1300.0, 45.0))])  # fmt: skip
def test_gaining_or_holding_speed_all_through_is_no_lift(
    through: tuple[tuple[float, float], ...],
) -> None:
    # The last: still slowing for the corner before at its apex at 100 m.
    points = points_of(trace_of(*through))
    assert points.flat
    assert nothing_of(points)


def test_slowing_only_for_the_next_corner_is_neither_a_slow_point_nor_flat() -> None:
    # From 500 m down to the next corner's slowest point at 1300 m: 6 m/s are lost by the exit.
    points = points_of(trace_of((0.0, 30.0), (500.0, 45.0), (1300.0, 20.0), (1500.0, 30.0)))
    assert not points.flat
    assert nothing_of(points)


def test_braking_for_the_next_corner_behind_the_exit_leaves_this_one_flat() -> None:
    points = points_of(trace_of((0.0, 30.0), (870.0, 45.0), (1000.0, 20.0), (1300.0, 30.0)))
    assert points.flat


def test_slowest_a_little_outside_of_the_first_window_is_this_corners() -> None:
    # 565 m is 35 m before the entry; with nothing but straight before it.
    trace = trace_of((0.0, 30.0), (450.0, 45.0), (565.0, 30.0), (1300.0, 45.0))
    points = points_of(trace)
    assert abs(station(trace, points.slowest_s) - 565.0) < 1.0
    assert not points.flat
    # 80 m before it is not, and yet the car slowed on its way: nobody knows what for.
    points = points_of(trace_of((0.0, 30.0), (420.0, 45.0), (520.0, 30.0), (1300.0, 45.0)))
    assert not points.flat
    assert nothing_of(points)


def test_a_hole_that_may_hide_a_lift_leaves_it_unknown() -> None:
    trace = trace_of((0.0, 20.0), (1300.0, 45.0))
    for low, high, known in ((500.0, 540.0, True), (700.0, 740.0, False), (915.0, 960.0, True)):
        hole = np.interp([[low, high]], trace.station_m, trace.time_s)
        found = find_points(
            replace(trace, gaps_s=hole), _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, None, None
        )
        assert (found is not None) == known


def test_a_pedal_tells_of_a_lift_that_did_not_slow_the_car() -> None:
    trace = trace_of((0.0, 20.0), (1300.0, 45.0))
    at = np.interp([650.0, 652.0, 700.0, 702.0], trace.station_m, trace.time_s)
    times = np.concatenate([[0.0], at, [60.0]])
    throttle = Channel("throttle", times, np.array([1.0, 1.0, 0.1, 0.1, 1.0, 1.0]))
    points = find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, None, throttle)
    assert points is not None
    assert not points.flat
    assert points.slowest_s is None
    assert abs(station(trace, points.lift_s) - 650.0) < 1.0
    assert abs(station(trace, points.throttle_s) - 700.0) < 1.0
    brake = Channel("brake", times, np.array([0.0, 0.0, 1.0, 1.0, 0.0, 0.0]))
    points = find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, brake, None)
    assert points is not None
    assert not points.flat


def test_slowing_through_the_corner_before_began_where_it_began() -> None:
    # From 40 m on, past the apex of the corner before at 100 m, at 1.5 m/s2 and more.
    trace = trace_of((0.0, 44.0), (40.0, 45.0), (760.0, 10.0), (1300.0, 35.0))
    points = points_of(trace)
    assert abs(station(trace, points.brake_s) - 40.0) < 2.0
    assert points.top_s is not None
    assert abs(station(trace, points.top_s) - 40.0) < 2.0


def test_the_way_out_of_another_corner_is_no_throttle_point() -> None:
    # After 760 m it gains 1 m/s at under 1 m/s2, brakes for a slower place, and pulls out of that.
    trace = trace_of(
        (0.0, 30.0), (600.0, 40.0), (760.0, 30.0), (860.0, 31.0), (1000.0, 15.0), (1390.0, 30.9)
    )
    assert points_of(trace).throttle_s is None


def test_slowest_before_the_car_turns_there_is_no_turn_in_before_it() -> None:
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    bend = np.interp(trace.station_m, [0.0, 300.0, 320.0, 340.0], [0.0, 0.0, 0.005, 0.0])
    bent = replace(trace, accel_lat_mps2=bend * trace.speed_mps**2)
    assert points_of(bent).turn_in_s is None


def test_a_blip_that_is_closed_again_is_no_going_back_to_the_throttle() -> None:
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    slowest = float(trace.time_s[np.argmin(np.abs(trace.station_m - 800.0))])
    times = np.array([0.0, -0.8, -0.7, -0.5, -0.4, 0.6, 0.8, 5.0]) + slowest
    times[0] = 0.0
    throttle = Channel("throttle", times, np.array([0.0, 0.0, 0.4, 0.4, 0.0, 0.0, 0.8, 0.8]))
    points = find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, None, throttle)
    assert points is not None
    # A quarter of the way from 0 to 0.8, in 0.2 s from 0.6 s after the slowest point.
    assert points.throttle_s is not None
    assert abs(points.throttle_s - (slowest + 0.65)) < 1e-9


def dabbed(seconds: float) -> LapTrace:
    """Slows at 3 m/s2 from 700 m on for so long, coasts to 760 m, and brakes there."""
    slower = 40.0 - 3.0 * seconds
    ends = 700.0 + 0.5 * (40.0 + slower) * seconds
    return trace_of(
        (0.0, 30.0), (700.0, 40.0), (ends, slower), (760.0, slower), (840.0, 20.0), (1300.0, 35.0)
    )


@pytest.mark.parametrize(("seconds", "brake_m"), [(0.1, 760.0), (0.24, 760.0), (0.36, 700.0)])
def test_braking_must_last_three_tenths_of_a_second(seconds: float, brake_m: float) -> None:
    # A bump or a gear change slows the car for a moment; a driver's foot stays down for longer.
    trace = dabbed(seconds)
    assert abs(station(trace, points_of(trace).brake_s) - brake_m) < 2.0


@pytest.mark.parametrize(("seconds", "on_m"), [(0.1, 850.0), (0.24, 850.0), (0.36, 800.0)])
def test_going_back_to_the_throttle_must_last_as_long(seconds: float, on_m: float) -> None:
    quicker = 20.0 + 2.0 * seconds
    ends = 800.0 + 0.5 * (20.0 + quicker) * seconds
    trace = trace_of(
        (0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (ends, quicker), (850.0, quicker), (1300.0, 38.0)
    )
    assert abs(station(trace, points_of(trace).throttle_s) - on_m) < 2.0


@pytest.mark.parametrize(("slowing_mps2", "braked"), [(0.9, False), (1.1, True)])
def test_braking_is_slowing_by_more_than_1_mps2(slowing_mps2: float, braked: bool) -> None:
    # v1^2 = v0^2 - 2 a s over 100 m.
    slow = float(np.sqrt(40.0**2 - 2.0 * slowing_mps2 * 100.0))
    points = points_of(trace_of((0.0, 30.0), (700.0, 40.0), (800.0, slow), (1300.0, 45.0)))
    assert (points.brake_s is not None) == braked


@pytest.mark.parametrize(("gaining_mps2", "opened"), [(0.9, False), (1.1, True)])
def test_on_the_throttle_is_gaining_more_than_1_mps2(gaining_mps2: float, opened: bool) -> None:
    quick = float(np.sqrt(20.0**2 + 2.0 * gaining_mps2 * 700.0))
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1500.0, quick))
    assert (points_of(trace).throttle_s is not None) == opened


def test_lifting_is_where_the_car_last_gained_more_than_coasting_downhill_does() -> None:
    # 0.5 m/s2 to 500 m, 0.2 m/s2 to 700 m, then braking.
    at_500 = float(np.sqrt(30.0**2 + 2.0 * 0.5 * 500.0))
    at_700 = float(np.sqrt(at_500**2 + 2.0 * 0.2 * 200.0))
    trace = trace_of((0.0, 30.0), (500.0, at_500), (700.0, at_700), (800.0, 20.0), (1300.0, 35.0))
    points = points_of(trace)
    assert abs(station(trace, points.lift_s) - 500.0) < 2.0
    assert abs(station(trace, points.brake_s) - 700.0) < 2.0


def test_lifted_twice_the_last_time_counts() -> None:
    # Gains 1 m/s2 to 200 m, coasts to 400 m, gains to 600 m, coasts to the braking at 700 m.
    v = [30.0, float(np.sqrt(30.0**2 + 400.0)), float(np.sqrt(30.0**2 + 800.0))]
    trace = trace_of(
        (0.0, v[0]), (200.0, v[1]), (400.0, v[1]), (600.0, v[2]), (700.0, v[2]), (800.0, 20.0),
        (1300.0, 35.0),
    )  # fmt: skip
    assert abs(station(trace, points_of(trace).lift_s) - 600.0) < 2.0


def test_the_pedals_tell_when_the_driver_lifted_and_braked() -> None:
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    top = float(trace.time_s[np.argmax(trace.speed_mps)])
    # Released over 0.2 s from 0.6 s before the car slows, and touched again while braking.
    t = np.array([0.0, top - 0.6, top - 0.4, top + 0.4, top + 0.5, top + 0.6, top + 0.7, 60.0])
    throttle = Channel("throttle", t, np.array([1.0, 1.0, 0.0, 0.0, 0.95, 0.95, 0.0, 0.0]))

    def found(pressed_s: float) -> PassPoints:
        times = np.array([0.0, pressed_s, pressed_s + 0.2, 60.0])
        brake = Channel("brake", times, np.array([0.0, 0.0, 1.0, 1.0]))
        points = find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, brake, throttle)
        assert points is not None
        return points

    points = found(top - 0.3)
    assert (points.brake_source, points.throttle_source) == ("channel", "channel")
    # A tenth of the way down is on, a tenth of the way up is off.
    assert points.brake_s is not None
    assert abs(points.brake_s - (top - 0.3 + 0.02)) < 1e-9
    assert points.lift_s is not None
    assert abs(points.lift_s - (top - 0.6 + 0.02)) < 1e-9
    # A foot that was on the brake half a second before the car slowed was there for another thing.
    assert found(top - 0.9).brake_s is None


def test_a_moment_between_two_samples_is_found_where_the_level_is_passed() -> None:
    # Ten samples a second; the deceleration grows by 4 m/s2 a second from 10.03 s on, so it passes
    # 1 m/s2 at 10.28 s; from 13.03 s it eases by 4 m/s3 and passes 1 m/s2 forward at 16.28 s.
    t = np.arange(0.0, 30.0, 0.1)
    accel = np.interp(t, [0.0, 10.03, 13.03, 17.03, 30.0], [0.0, 0.0, -12.0, 4.0, 4.0])
    speed = 45.0 + np.concatenate([[0.0], np.cumsum(0.05 * (accel[1:] + accel[:-1]))])
    where = np.concatenate([[0.0], np.cumsum(0.05 * (speed[1:] + speed[:-1]))])
    where += 760.0 - where[np.argmin(speed)]
    still = np.zeros(len(t))
    trace = LapTrace(
        1, 0.0, 30.0, 5000.0, t, where, still, where, still, speed, accel, 0.1 * speed, still
    )
    points = points_of(trace)
    assert points.brake_s is not None
    assert abs(points.brake_s - 10.28) < 1e-9
    assert points.throttle_s is not None
    assert abs(points.throttle_s - 16.28) < 1e-9


@pytest.mark.parametrize("direction", ["left", "right"])
def test_turned_in_is_where_three_tenths_of_the_bend_are_reached(direction: str) -> None:
    trace = trace_of((0.0, 30.0), (700.0, 40.0), (800.0, 20.0), (1300.0, 35.0))
    # From straight at 600 m to a radius of 50 m at 700 m, evenly, and straight again behind the
    # corner; before it, a flick the other way.
    bend = np.interp(
        trace.station_m, [550, 560, 570, 600, 700, 850, 900], [0, -0.02, 0, 0, 0.02, 0.02, 0]
    )
    sign = 1.0 if direction == "left" else -1.0
    bent = replace(trace, accel_lat_mps2=sign * bend * trace.speed_mps**2)
    corner = replace(_CORNER, direction=direction)
    points = find_points(bent, corner, _WINDOWS, _BEFORE_M, _AFTER_M, None, None)
    assert points is not None
    # The last sample before: one sample is 0.8 m.
    assert -0.9 < station(bent, points.turn_in_s) - 630.0 <= 0.0


def test_a_trace_that_does_not_reach_the_corner_has_no_points() -> None:
    trace = trace_of((0.0, 40.0), (500.0, 40.0))
    assert find_points(trace, _CORNER, _WINDOWS, _BEFORE_M, _AFTER_M, None, None) is None


def test_passes_without_error_bars_are_the_same_passes(world: World) -> None:
    bare, passes = world.session.bare_passes, world.session.passes
    pd.testing.assert_frame_equal(passes[list(bare.columns)], bare)
    added = set(passes.columns) - set(bare.columns)
    assert {"min_speed_sd_mps", "time_sd_s", "brake_sd_m", "min_speed_lat_deg"} <= added
