"""Engine channels fit the motion."""

import numpy as np
import pytest

from lapwright import simulate as sim


def test_channels_follow_the_car(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, sim.Receiver(rate_hz=20.0), 1, engine=True)
    fixes = recording.fixes
    time_s = fixes["true_time_s"].to_numpy()
    along, across = short_run.along_across(time_s)
    speed = short_run.speed(time_s)
    hard = (along < -4) & (speed > 1)  # at 50 m/s the air alone takes 1.75 m/s^2
    assert (fixes["brake_bar"][hard] > 10).all()
    assert (fixes["throttle_pct"][hard] < 5).all()
    push = (along > 2) & (speed > 5)
    assert (fixes["throttle_pct"][push] > 40).all()  # 2 of at most 4.8 m/s^2
    assert (fixes["brake_bar"][push] < 1).all()
    assert fixes["throttle_pct"].between(0, 100).all()
    assert fixes["brake_bar"].min() >= 0
    assert fixes["rpm"].between(850, short_run.car.redline_rpm).all()
    turning = np.abs(across) > 5
    assert (np.sign(fixes["steering_deg"][turning]) == np.sign(across[turning])).all()


def test_rpm_follows_from_speed_and_a_gear(short_run: sim.TrueRun) -> None:
    fixes = sim.receive(short_run, sim.Receiver(), 1, engine=True).fixes
    speed = short_run.speed(fixes["true_time_s"].to_numpy())
    fast = speed > 10
    ratio = speed[fast] / fixes["rpm"][fast].to_numpy() * 1000
    gears = np.array(short_run.car.gears_mps_per_1000rpm)
    nearest = gears[np.argmin(np.abs(ratio[:, None] - gears), axis=1)]
    # The sensor's noise of 12 rpm is some 0.4 %; five sd.
    assert ratio == pytest.approx(nearest, rel=0.025)
