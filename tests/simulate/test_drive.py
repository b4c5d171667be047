"""Drive: kinematics against closed forms, consistency of path, speed and time."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim

FLAT_OUT = sim.Plan((2,), start="rolling", end="track", out_pace=1.0, in_pace=1.0)


def test_constant_speed_circle() -> None:
    # Closed form: lap 2 pi R / v, lateral v^2 / R.  R 100 m, lateral limit 4 m/s^2 gives
    # v = 20 m/s, lap 31.4159265 s ("circle R = 100 m, 20 m/s").
    # Without drag: holding speed against it would cost a little of the lateral grip.
    car = replace(sim.LIGHT_CAR, lateral_mps2=4.0, drag_per_m=0.0)
    run = sim.drive(sim.invented("circle"), car, sim.STEADY, FLAT_OUT, usual_line=False)
    time_s = run.laps["time_s"].to_numpy()[1:3]
    # The curve is a spline through points 1 m apart: its curvature is good to 1e-5.
    np.testing.assert_allclose(time_s, 31.4159265, rtol=1e-5)
    middle = np.linspace(run.laps["start_s"].iloc[1] + 1, run.laps["end_s"].iloc[2] - 1, 200)
    along, across = run.along_across(middle)
    np.testing.assert_allclose(across, 4.0, rtol=2e-5)
    np.testing.assert_allclose(along, 0.0, atol=1e-3)


@pytest.mark.parametrize(("decel", "distance"), [(7.0, 64.3), (5.0, 90.0)])
def test_braking_distance(decel: float, distance: float) -> None:
    # OpenStax University Physics 1, example 3.10 (section 3.4): from 30.0 m/s at 7.00 and
    # 5.00 m/s^2 a car needs 64.3 and 90.0 m (printed to three digits).
    from lapwright.simulate.profile import Limits, node_times, speed_profile

    step = np.full(400, 0.5)
    ones = np.ones(401)
    cap = 30.0 * ones
    cap[-1] = 0.0
    limits = Limits(9 * ones, decel * ones, 9 * ones, 900 * ones, cap, 0.0)
    speed = speed_profile(step, 0 * ones, limits)
    way = np.r_[0.0, np.cumsum(step)]
    slower = np.flatnonzero(speed[100:] < 30.0 - 1e-9)[0] + 100
    exact = 30.0**2 / 2 / decel
    assert exact == pytest.approx(distance, abs=0.05)
    # The nodes are 0.5 m apart, and the speed is known exactly at each of them.
    v2 = speed[slower] ** 2
    assert way[-1] - way[slower] + (900 - v2) / 2 / decel == pytest.approx(exact, abs=1e-9)
    stop = node_times(step[slower:], speed[slower:])[-1]
    assert stop == pytest.approx(speed[slower] / decel, rel=1e-12)
