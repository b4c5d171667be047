"""Driving: closed forms, limits of the car, what makes a session."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.simulate.circuit import shapes

ON_AND_ON = sim.Plan((2,), start="rolling", end="track", out_pace=1.0, in_pace=1.0)


@pytest.mark.parametrize("side", ["left", "right"])
def test_constant_speed_circle(side: str) -> None:
    # Closed form: lap 2 pi R / v, lateral v^2 / R.  R 100 m and 4 m/s^2 of grip give
    # v = 20 m/s, lap 31.4159265 s.  ISO 8855: positive to the left.
    circuit = sim.from_arrays(
        "c", *shapes.circle(100.0, clockwise=side == "right"), start_m=0.0, pit=False
    )
    # Without drag: holding speed against it would cost a little of the grip.
    car = replace(sim.LIGHT_CAR, lateral_mps2=4.0, drag_per_m=0.0)
    run = sim.drive(circuit, car, sim.STEADY, ON_AND_ON, usual_line=False)
    # The curve is a spline through points 1 m apart: its curvature is good to 1e-5.
    np.testing.assert_allclose(run.laps["time_s"].to_numpy()[1:3], 31.4159265, rtol=1e-5)
    middle = np.linspace(run.laps["start_s"].iloc[1] + 1, run.laps["end_s"].iloc[2] - 1, 200)
    along, across = run.along_across(middle)
    np.testing.assert_allclose(across, 4.0 if side == "left" else -4.0, rtol=2e-5)
    np.testing.assert_allclose(along, 0.0, rtol=0, atol=1e-3)


def test_acceleration_stays_within_the_car_and_has_no_steps(short_run: sim.TrueRun) -> None:
    car = short_run.car
    along, across = short_run.along_across(short_run.time_s)
    # The pace varies by some per cent about the driver's 97 %.
    assert -1.05 * car.braking_mps2 * 1.25 < along.min() < -0.8 * car.braking_mps2
    assert 0.9 * car.traction_mps2 < along.max() < 1.01 * car.traction_mps2
    assert 0.9 * car.lateral_mps2 < np.abs(across).max() < 1.05 * car.lateral_mps2
    # From the throttle to the brake is at most some 14 m/s^2 in 0.3 s, bell-shaped.
    jerk = np.diff(along) / np.diff(short_run.time_s)
    assert np.abs(jerk).max() < 2.2 * (car.traction_mps2 + car.braking_mps2) / 0.3


def test_pedal_takes_about_three_tenths_of_a_second() -> None:
    # A start from rest: acceleration grows from 0 to full within 2 x PEDAL_S.
    run = sim.drive(sim.invented("oval"), sim.SALOON, sim.STEADY, sim.Plan((1,), start="grid"))
    assert run.launch_s is not None
    time_s = run.launch_s + np.array([-0.16, 0.16])
    along, _ = run.along_across(time_s)
    np.testing.assert_allclose(along, [0.0, sim.SALOON.traction_mps2], rtol=0, atol=0.02)
    assert run.launch_s == pytest.approx(run.laps["start_s"].iloc[1], abs=4.0)


def test_position_follows_from_station_and_offset_everywhere(short_run: sim.TrueRun) -> None:
    # Between the nodes of the 100 Hz grid, where the three splines could disagree.
    t = np.random.default_rng(1).uniform(0, short_run.duration_s, 5000)
    placed = short_run.circuit.place(short_run.progress(t), short_run.offset(t))
    error = np.hypot(*(placed - short_run.position(t)).T)
    assert error.max() < 1e-5
    assert np.median(error) < 1e-8


def test_velocity_and_acceleration_are_derivatives(short_run: sim.TrueRun) -> None:
    t = np.random.default_rng(2).uniform(10, short_run.duration_s - 10, 500)
    h = 1e-4
    slope = (short_run.position(t + h) - short_run.position(t - h)) / (2 * h)
    np.testing.assert_allclose(short_run.velocity(t), slope, rtol=0, atol=1e-5)
    slope = (short_run.velocity(t + h) - short_run.velocity(t - h)) / (2 * h)
    # The acceleration is made of straight pieces; one that is rounded off by h is all.
    np.testing.assert_allclose(short_run.acceleration(t), slope, rtol=0, atol=0.02)
    along, across = short_run.along_across(t)
    total = np.hypot(*short_run.acceleration(t).T)
    np.testing.assert_allclose(np.hypot(along, across), total, rtol=0, atol=1e-9)


def test_seed_decides_everything(wren: sim.Circuit) -> None:
    plan = sim.Plan((1,))
    a, b, c = (sim.drive(wren, plan=plan, seed=s) for s in (1, 1, 2))
    np.testing.assert_array_equal(a.position.c, b.position.c)
    assert a.duration_s != c.duration_s


def test_rolling_start_and_log_that_ends_on_the_track(wren: sim.Circuit) -> None:
    run = sim.drive(wren, plan=sim.Plan((2,), start="rolling", end="track"), seed=1)
    assert run.laps["kind"].tolist() == ["out", "timed", "timed", "in"]
    assert run.laps["flags"].tolist() == [(), (), (), ("log_ends",)]
    assert run.grid_speed_mps.min() > 5


def test_pit_lane_speed_limit_and_box(short_run: sim.TrueRun) -> None:
    pit = short_run.circuit.pit
    assert pit is not None
    assert len(short_run.visit_times_s) == 3
    begin, end = short_run.visit_times_s[1]
    inside = (short_run.time_s > begin + 3) & (short_run.time_s < end - 3)
    assert short_run.grid_speed_mps[inside].max() < pit.limit_mps + 0.1
    stop = short_run.stop_times_s[1]
    assert stop[1] - stop[0] == pytest.approx(short_run.plan.stop_s)
    middle = np.array([sum(stop) / 2])
    assert short_run.speed(middle)[0] == pytest.approx(0.0, abs=1e-9)
    length = short_run.circuit.length_m
    station = (float(short_run.progress(middle)[0]) + length / 2) % length - length / 2
    assert station == pytest.approx(pit.box_m, abs=1.0)
    assert float(short_run.offset(middle)[0]) == pytest.approx(pit.offset_m)


def test_paces_of_out_and_in_laps(wren: sim.Circuit) -> None:
    slow = sim.Plan((1,), start="rolling", end="track", in_pace=0.5)
    usual = replace(slow, in_pace=0.9)
    ends = [sim.drive(wren, driver=sim.STEADY, plan=p).duration_s for p in (slow, usual)]
    assert ends[0] > ends[1] + 5


def test_a_quicker_car_is_quicker(wren: sim.Circuit) -> None:
    plan = sim.Plan((1,), start="rolling", end="track")
    best = [
        sim.drive(wren, car, sim.STEADY, plan).laps["time_s"].iloc[1]
        for car in (sim.SALOON, sim.LIGHT_CAR, sim.FAST_CAR)
    ]
    assert best == sorted(best, reverse=True)


def test_errors_say_what_does_not_fit(wren: sim.Circuit) -> None:
    with pytest.raises(ValueError, match="circle has no pit lane"):
        sim.drive(sim.invented("circle"))
    with pytest.raises(ValueError, match="session of 2 timed laps"):
        sim.drive(wren, plan=sim.Plan((2,), events=(sim.Traffic(3),)))
    with pytest.raises(ValueError, match="corners 1 to 10"):
        sim.drive(wren, driver=sim.Driver(habits=(sim.BrakeEarly(11),)))
    with pytest.raises(ValueError, match="without braking"):
        # A kart takes the bends of a gentle circle flat out.
        sim.drive(
            sim.from_arrays("g", *shapes.clothoid_oval(300.0, 100.0, 200.0)),
            sim.KART,
            sim.Driver(habits=(sim.BrakeEarly(1),)),
        )
    with pytest.raises(ValueError, match="inside centre"):
        sim.drive(wren, driver=sim.Driver(habits=(sim.LineChange(3, 12.0, 1),)))
    with pytest.raises(ValueError, match="cannot begin or end with 'push'"):
        sim.Plan(start="push")
    with pytest.raises(ValueError, match="zero or more"):
        sim.Plan(stints=())


def test_a_fade_makes_each_lap_of_a_stint_slower(wren: sim.Circuit) -> None:
    # Laps are as long as the pace is low: 0.2 % a lap of 95 s is 0.19 s, a little less on straights
    # that power limits; after the stop it begins again.
    driver = replace(sim.STEADY, fade_per_lap=0.002)
    run = sim.drive(wren, driver=driver, plan=sim.Plan((5, 3), garage_s=20.0))
    timed = run.laps[run.laps["kind"] == "timed"]["time_s"].to_numpy()
    slower = np.diff(timed)
    # The first lap of a stint begins at a pit lane's speed.
    np.testing.assert_allclose(slower[[1, 2, 3, 6]], 0.18, rtol=0, atol=0.02)
    assert timed[6] < timed[4]


def test_held_up_caps_the_speed_in_one_place_of_one_lap(wren: sim.Circuit) -> None:
    event = sim.HeldUp(2, 0.02, 200.0, 40.0, aside_m=3.0)
    plan = sim.Plan((3,), start="rolling", end="track")
    free = sim.drive(wren, driver=sim.STEADY, plan=plan)
    held = sim.drive(wren, driver=sim.STEADY, plan=replace(plan, events=(event,)))
    at = 0.02 * wren.length_m + np.linspace(0.0, 200.0, 50)
    way = at + held.layout.timed[1] * wren.length_m
    assert held.speed(held.time_at(way)).max() < 40.3
    assert free.speed(free.time_at(way)).max() > 42.0
    aside = held.offset(held.time_at(way)) - free.offset(free.time_at(way))
    np.testing.assert_allclose(aside, 3.0, rtol=0, atol=0.1)
    lost = (held.laps["time_s"] - free.laps["time_s"]).to_numpy()
    assert lost[2] > 0.3
    np.testing.assert_allclose(lost[[1, 3]], 0.0, rtol=0, atol=0.01)
    assert held.laps["flags"].tolist()[1:4] == [(), ("held_up",), ()]
