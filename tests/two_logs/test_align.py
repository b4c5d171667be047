"""
Two loggers on one car: offset and clock rate against the truth, and what is not one car refused.

The error bars were held against the truth in 40 drives of three laps with planted offsets of
0.5 to 2.5 minutes and rates within 50 ppm; the docs' method page says what came of it.
"""

from dataclasses import replace

import numpy as np
import pytest
from two_loggers import drive, two_loggers

from lapwright import simulate as sim
from lapwright.errors import LogError
from lapwright.motion import estimate_motion
from lapwright.plane import Plane
from lapwright.simulate import TrueRun
from lapwright.two_logs import Alignment, align_logs
from lapwright.two_logs.align import _motion

# What a racer needs: at 40 m/s it is 0.8 m.
MUST_S = 0.02


@pytest.fixture(scope="module")
def run() -> TrueRun:
    return drive()


@pytest.mark.parametrize(
    ("rate_hz", "ppm", "kind"),
    [
        (10.0, 50.0, "speed and course"), (1.0, -50.0, "speed and course"),
        (10.0, 30.0, "positions only"), (10.0, 20.0, "heavy tails"), (5.0, 0.0, "drift steps"),
    ],
)  # fmt: skip
def test_offset_and_rate(run: TrueRun, rate_hz: float, ppm: float, kind: str) -> None:
    two = two_loggers(run, rate_hz, ppm, kind=kind)
    found = align_logs(*two.logs)
    error_s = found.offset_s - two.true_offset_s(found.at_s)
    assert abs(error_s) < MUST_S
    # Four sd: once in 16 000 by chance.
    assert abs(error_s) < 4.0 * found.offset_sd_s
    assert found.offset_sd_s < MUST_S / 2.0
    assert abs(found.rate - 1e-6 * ppm) < 4.0 * found.rate_sd
    assert found.rate_sd < 25e-6
    assert 0.3 < found.misfit < 2.0
    # The other was switched on 121.7 s late and ran to the end.
    assert found.overlap_s == pytest.approx(run.duration_s - 121.7, abs=2.0)


def test_the_other_way_round_it_is_the_same_with_the_other_sign(run: TrueRun) -> None:
    one, other = two_loggers(run, ppm=40.0).logs
    there, back = align_logs(one, other), align_logs(other, one)
    assert back.offset_s == pytest.approx(-there.offset_s, abs=0.05)
    at = there.other_time(there.at_s)
    assert float(back.other_time(at)) == pytest.approx(there.at_s, abs=2.0 * there.offset_sd_s)


def test_a_speed_that_was_smoothed_is_left_out(run: TrueRun) -> None:
    phone = two_loggers(run, 1.0, kind="phone").logs[1]
    plane = Plane.centred_on(phone.fixes["lat_deg"], phone.fixes["lon_deg"])
    # A low-pass of one second delays by about as much.
    assert estimate_motion(phone, plane).latency_s > 0.5
    assert _motion(phone, plane).latency_s == 0.0


@pytest.mark.slow
def test_a_phone_is_aligned_with_an_error_bar_that_is_wide_enough(run: TrueRun) -> None:
    two = two_loggers(run, 1.0, 20.0, kind="phone")
    found = align_logs(*two.logs)
    error_s = found.offset_s - two.true_offset_s(found.at_s)
    # Errors of metres that last seconds: a tenth of a second a moment, and many moments.
    assert abs(error_s) < 0.06
    assert abs(error_s) < 3.0 * found.offset_sd_s
    assert found.misfit > 1.5


def test_another_session_of_the_same_driver_is_refused(run: TrueRun) -> None:
    one = two_loggers(run).logs[0]
    other = replace(sim.receive(drive(seed=2), sim.ORDINARY, 5).log(), path=one.path)
    with pytest.raises(LogError, match="is not of the same car at the same time"):
        align_logs(one, other)


def test_another_car_on_the_circuit_is_refused(run: TrueRun) -> None:
    one = two_loggers(run).logs[0]
    other = sim.receive(drive(seed=3, car=sim.SALOON), sim.ORDINARY, 5).log()
    with pytest.raises(LogError, match="far beyond the receivers' errors"):
        align_logs(one, other)


def test_less_than_a_minute_in_common_is_refused(run: TrueRun) -> None:
    one, other = two_loggers(run).logs
    short = replace(other, fixes=other.fixes.iloc[:400].reset_index(drop=True))
    with pytest.raises(LogError, match="less than 60 s of driving in common"):
        align_logs(one, short)


def test_times_there_and_back() -> None:
    found = Alignment(400.0, 12.0, 0.003, 5e-5, 4e-6, -0.5, 700.0, 1.0, 0.1, 1.0)
    t = np.array([0.0, 400.0, 1000.0])
    # 12 s at 400 s; 5e-5 of 400 s is 0.02 s.
    assert found.other_time(t) == pytest.approx([11.98, 412.0, 1012.03])
    assert found.own_time(found.other_time(t)) == pytest.approx(t, abs=1e-12)
    # sqrt(0.003^2 + 2 (-0.5) 0.003 4e-6 dt + (4e-6 dt)^2), with dt = -400, 0, 600 s.
    assert found.sd_at(t) == pytest.approx([0.0040447, 0.003, 0.0027495], abs=1e-6)
