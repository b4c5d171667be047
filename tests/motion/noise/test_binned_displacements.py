"""Bins of a session: where the car was, how far it went, and how sure that is, by hand."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from motion_oracles import ORDINARY
from motion_worlds import Drive, Kind, lapped

from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.binned_displacements import Binned, bin_session

Floats = npt.NDArray[np.float64]

# Of the variance of independent steps so much is left after some seconds: see `_LEFT`.
LEFT = 0.4
# Density of the white jerk of a car of 5 m/s2 that forgets its acceleration in 2 s: Singer's
# 2 sigma_a^2 / T_a. [m2/s5]
JERK = 2.0 * 5.0**2 / 2.0


def exact(
    rate_hz: float, seconds: float = 60.2, gaps: tuple[tuple[float, float], ...] = ()
) -> tuple[Measurements, Drive]:
    """A drive without a single error."""
    return lapped(
        1, rate_hz, "vector", seconds=seconds, white=0.0, drift=0.0, speed_noise=0.0, gaps=gaps
    )


def middles(m: Measurements, binned: Binned) -> Floats:
    """Middles of bins of two seconds, the last one at the last fix where it is cut short."""
    count = len(binned.averaged)
    return np.minimum(m.time_s[0] + 1.0 + 2.0 * np.arange(count), m.time_s[-1])


def test_a_bridged_step_errs_by_what_the_jerk_does_between_two_fixes() -> None:
    # The corrected trapezium rule is exact but for the second derivative j of the velocity: its
    # error is the integral of K j with Peano's kernel K = (h - s)^2 / 2 - h (h - s) / 2 + h^2 / 12
    # (Davis & Rabinowitz, "Methods of numerical integration", sec. 4.3), and of white j of density
    # q has the variance q times the integral of K^2: here by the midpoint rule.
    h, n = 0.2, 20_000
    s = (np.arange(n) + 0.5) * h / n
    kernel = (h - s) ** 2 / 2.0 - h * (h - s) / 2.0 + h**2 / 12.0
    one = JERK * (kernel**2).sum() * h / n
    m, _ = exact(5.0)
    # Ten steps of 0.2 s from one middle to the next.
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    assert binned.bridged_var_m2[:-1] == pytest.approx(LEFT * 10.0 * one, rel=1e-6)


def test_a_gap_is_bridged_as_by_a_car_that_brakes_and_then_accelerates() -> None:
    # Fixes at 23.8 s and 34.0 s with nothing between. Going evenly from -a to +a the car is short
    # of the trapezium rule by the integral of (h/2 - s) a (2s/h - 1): a h^2 / 6, by the midpoint
    # rule.
    m, _ = exact(5.0, gaps=((24.0, 34.0),))
    h, n = 10.2, 20_000
    s = (np.arange(n) + 0.5) * h / n
    short = float(((h / 2.0 - s) * 5.0 * (2.0 * s / h - 1.0)).sum() * h / n)
    assert abs(short) > 80.0
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    # Put down evenly over the gap, from 23.8 to 34.0: what lies in it gets all of its two seconds.
    at = middles(m, binned)
    inside = (at[:-1] >= 23.8) & (at[1:] <= 34.0)
    assert inside.sum() == 4
    assert binned.bridged_var_m2[inside] == pytest.approx(LEFT * short**2 * 2.0 / h, rel=1e-6)
    across = (at[:-1] < 34.0) & (at[1:] > 23.8)
    assert not binned.whole[across].any()
    assert binned.whole[~across].all()
    assert (binned.averaged[1:-1][(at[1:-1] > 25.0) & (at[1:-1] < 33.0)] == 0.0).all()
    # Elsewhere it costs nothing.
    usual = bin_session(*_with_velocity(exact(5.0)[0]), ORDINARY).bridged_var_m2[0]
    assert binned.bridged_var_m2[~across][:-1] == pytest.approx(usual)


def _with_velocity(m: Measurements) -> tuple[Measurements, Floats]:
    return m, m.velocity_mps


def test_bridging_grows_with_the_square_of_the_agility() -> None:
    m, _ = exact(2.0)
    calm, agile = (
        bin_session(m, m.velocity_mps, replace(ORDINARY, accel_mps2=a)).bridged_var_m2
        for a in (2.0, 6.0)
    )
    assert agile == pytest.approx(9.0 * calm)


def test_white_noise_of_the_velocity_walks_a_step_at_a_time() -> None:
    # A step of h by the mean of two velocities: each counts h/2 to this step and h/2 to the next,
    # so that n steps have n h^2 times the variance of one. Ten of 0.2 s: 0.4 s2.
    m, _ = exact(5.0)
    assert bin_session(m, m.velocity_mps, ORDINARY).walked_s2[:-1] == pytest.approx(0.4)
    # Of four times the variance where the receiver says so; half of that where one end has it.
    factor = np.where(m.time_s < 30.05, 1.0, 4.0)
    some = bin_session(replace(m, velocity_factor=factor), m.velocity_mps, ORDINARY)
    at = middles(m, some)
    assert some.walked_s2[at[1:] < 30.0] == pytest.approx(0.4)
    assert some.walked_s2[:-1][at[:-2] > 30.1] == pytest.approx(1.6)
    # From 29 s to 31 s: five of one, four of four, and one of both halves.
    assert some.walked_s2[14] == pytest.approx(0.04 * (5.0 + 2.5 + 4.0 * 4.0))


@pytest.mark.parametrize("rate_hz", [1.0, 5.0])
def test_ways_are_those_the_car_went(rate_hz: float) -> None:
    m, drive = exact(rate_hz)
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    at = middles(m, binned)
    went = np.diff(drive.position(at), axis=0)
    # Within four of its own standard deviations, and centimetres: the plain trapezium rule is off
    # by h^2/12 times the change of acceleration, at one fix a second decimetres.
    off = np.abs(binned.moved_m - went)[:-1]
    assert (off < 4.0 * np.sqrt(binned.bridged_var_m2)[:-1, None]).all()
    # Between two fixes a second apart the way is put down evenly.
    if rate_hz == 5.0:
        assert off.max() < 0.005


def test_fixes_are_averaged_where_the_middle_is() -> None:
    m, drive = exact(5.0)
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    at = middles(m, binned)
    # Of a car at 18 to 46 m/s, brought to the middle by its velocity.
    assert binned.position_m == pytest.approx(drive.position(at), abs=0.005)
    assert binned.step_s == pytest.approx(np.diff(at))
    # Within half a second of the middle: three or two on either side and the middle's own.
    assert binned.window_s == 1.0
    assert binned.averaged[:-1] == pytest.approx(5.0)


def test_a_fix_counts_by_what_the_receiver_says_of_it() -> None:
    m, drive = exact(5.0)
    # About the middle at 31 s: one fix of four times the variance and a metre off, one of no news.
    factor, position = np.ones(len(m)), m.position_m.copy()
    poor, none = (int(np.argmin(np.abs(m.time_s - t))) for t in (31.0, 31.2))
    factor[poor], factor[none] = 4.0, np.inf
    position[poor, 0] += 1.0
    position[none] += 50.0
    binned = bin_session(
        replace(m, position_factor=factor, position_m=position), m.velocity_mps, ORDINARY
    )
    # Three that count one and one that counts a quarter.
    assert binned.averaged[15] == pytest.approx(3.25)
    off = binned.position_m[15] - drive.position(np.array([31.0]))[0]
    assert off == pytest.approx([0.25 / 3.25, 0.0], abs=0.005)


@pytest.mark.parametrize("kind", ["vector", "speed"])
def test_a_parked_car_is_not_compared(kind: Kind) -> None:
    m, _ = lapped(3, 5.0, kind, seconds=60.2)
    parked = (m.time_s > 20.1) & (m.time_s < 30.1)
    # Below walking pace a course is random.
    velocity = np.where(parked[:, None], 0.1, m.velocity_mps)
    speed = np.where(parked, 0.14, m.speed_mps)
    still = replace(m, velocity_mps=velocity, speed_mps=speed)
    binned = bin_session(still, velocity, ORDINARY)
    at = middles(still, binned)
    touched = (at[:-1] < 30.2) & (at[1:] > 20.0)
    assert binned.whole.tolist() == (~touched).tolist()


def test_where_no_velocity_was_logged_nothing_is_compared() -> None:
    m, _ = exact(5.0)
    factor = np.where((m.time_s > 30.1) & (m.time_s < 30.5), np.inf, 1.0)
    binned = bin_session(replace(m, velocity_factor=factor), m.velocity_mps, ORDINARY)
    assert np.flatnonzero(~binned.whole).tolist() == [14]


def test_bins_are_two_steps_long_at_least() -> None:
    # One fix in three seconds: bins of six.
    m, _ = exact(1.0 / 3.0, seconds=121.0)
    binned = bin_session(m, m.velocity_mps, ORDINARY)
    assert binned.step_s[:-1] == pytest.approx(6.0)
    assert binned.window_s == 6.0
