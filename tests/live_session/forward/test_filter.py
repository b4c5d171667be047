"""The filter run forward against the smoother of a whole log, which is tested by itself."""

import numpy as np
import pytest

from lapwright.live_session.forward.filter import ForwardFilter, Measured
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.kalman.state_space import smooth_measurements
from lapwright.motion.measurements import Measurements

NOISE = NoiseParameters(0.3, 1.0, 150.0, 0.06, 0.03, 15.0, 4.0, 2.0)
N = 120


@pytest.fixture(scope="module")
def measured() -> Measurements:
    """A car in a bend, ten fixes a second."""
    random = np.random.default_rng(5)
    t = np.arange(N) / 10.0
    position = np.stack([200.0 * np.sin(0.1 * t), 200.0 * np.cos(0.1 * t)], axis=-1)
    velocity = np.stack([20.0 * np.cos(0.1 * t), -20.0 * np.sin(0.1 * t)], axis=-1)
    position += random.normal(0.0, 0.3, position.shape)
    velocity += random.normal(0.0, 0.06, velocity.shape)
    one = np.ones(N)
    return Measurements(
        t, position, one, "vector", velocity, np.hypot(*velocity.T), one, None
    )  # fmt: skip


def run(m: Measurements, until: int = N, marks: tuple[int, ...] = ()) -> ForwardFilter:
    motion = ForwardFilter(NOISE)
    for i in range(until):
        motion.step(fix(m, i))
        if i in marks:
            motion.mark()
    return motion


def fix(m: Measurements, i: int) -> Measured:
    course = float(np.arctan2(*m.velocity_mps[i]))
    return Measured(float(m.time_s[i]), m.position_m[i], float(m.speed_mps[i]), course)


def test_at_the_last_fix_filter_and_smoother_say_the_same(measured: Measurements) -> None:
    # With no later fix there is nothing to smooth; both are exact, so only rounding is left.
    smoothed = smooth_measurements(measured, NOISE).states
    motion = run(measured)
    assert motion.position_m == pytest.approx(smoothed.mean[-1, 0], abs=1e-6)
    assert motion.velocity_mps == pytest.approx(smoothed.mean[-1, 1], abs=1e-6)
    variance = motion.variance([(None, np.array([1.0, 0.0]))])
    assert variance == pytest.approx(smoothed.cov.diagonal(0)[-1], rel=1e-6)


def test_a_mark_is_what_the_smoother_makes_of_that_moment(measured: Measurements) -> None:
    smoothed = smooth_measurements(measured, NOISE).states
    motion = run(measured, marks=(40, 90))
    for mark, i in zip(motion.marks, (40, 90), strict=True):
        assert motion.place_at(mark) == pytest.approx(smoothed.mean[i, 0], abs=1e-6)
        # It was refined: the first word was another.
        assert np.abs(motion.place_at(mark) - mark.position_m).max() > 1e-3


def test_two_marks_differ_as_surely_as_the_smoother_says(measured: Measurements) -> None:
    smoothing = smooth_measurements(measured, NOISE)
    motion = run(measured, marks=(40, 90))
    east = np.array([1.0, 0.0])
    apart = [(motion.marks[0], -east), (motion.marks[1], east)]
    weights = np.zeros((2, 6))
    weights[:, 0] = 1.0
    places = smoothing.places(measured.time_s[[40, 90]])
    cov = smoothing.chain(places).covariance(smoothing.functionals(weights))
    expected = cov[0, 0] + cov[1, 1] - 2.0 * cov[0, 1]
    assert motion.variance(apart) == pytest.approx(expected, rel=1e-6)


def test_marks_that_are_dropped_change_nothing_else(measured: Measurements) -> None:
    motion = run(measured, marks=(10, 20, 30))
    kept, place = motion.marks[2], motion.place_at(motion.marks[2]).copy()
    motion.drop(motion.marks[:2])
    assert motion.marks == [kept]
    assert motion.place_at(kept).tolist() == place.tolist()
    assert motion.position_m == pytest.approx(run(measured).position_m, abs=1e-9)


def test_coming_back_to_a_saved_moment_is_as_if_nothing_had_been(measured: Measurements) -> None:
    motion = run(measured, until=50)
    saved = motion.saved()
    motion.mark()
    motion.step(fix(measured, 50))
    motion.restore(saved)
    assert motion.marks == []
    motion.step(fix(measured, 50))
    assert motion.position_m.tolist() == run(measured, until=51).position_m.tolist()


def test_a_stop_on_the_way_changes_no_prediction(measured: Measurements) -> None:
    straight, halting = run(measured, until=50), run(measured, until=50)
    halting.go_to(4.93)
    for motion in (straight, halting):
        motion.step(fix(measured, 50))
    assert halting.position_m == pytest.approx(straight.position_m, abs=1e-9)


def test_one_wild_fix_has_no_say_and_a_receiver_that_insists_is_believed(
    measured: Measurements,
) -> None:
    motion = run(measured, until=60)
    wild = fix(measured, 60)
    away = Measured(wild.time_s, wild.position_m + 300.0, wild.speed_mps, wild.course_rad)
    motion.step(away)
    assert np.hypot(*(motion.position_m - wild.position_m)) < 2.0
    for i in range(61, 90):
        one = fix(measured, i)
        motion.step(Measured(one.time_s, one.position_m + 300.0, one.speed_mps, one.course_rad))
    assert np.hypot(*(motion.position_m - measured.position_m[89] - 300.0)) < 2.0


def test_a_late_velocity_is_taken_for_what_it_was() -> None:
    # Accelerating evenly at 5 m/s^2, velocity 0.2 s late: 1 m/s short of what it is.
    late, prompt = ForwardFilter(NOISE, 0.2), ForwardFilter(NOISE)
    for i in range(100):
        t = i / 10.0
        place, seen = np.array([2.5 * t * t, 0.0]), max(5.0 * (t - 0.2), 0.0)
        for motion in (late, prompt):
            motion.step(Measured(t, place, seen, np.pi / 2.0))
    # The model takes it that an acceleration wears off: some 0.8 of the 5 m/s^2, for 0.2 s.
    assert late.velocity_mps[0] == pytest.approx(49.5 - 0.2 * 0.8, abs=0.05)
    assert abs(late.position_m[0] - 2.5 * 9.9**2) < 0.1 < abs(prompt.position_m[0] - 2.5 * 9.9**2)


def test_a_speed_alone_counts_along_the_way(measured: Measurements) -> None:
    motion = ForwardFilter(NOISE)
    for i in range(N):
        motion.step(Measured(float(measured.time_s[i]), measured.position_m[i], 20.0, float("nan")))
    assert np.hypot(*motion.velocity_mps) == pytest.approx(20.0, abs=0.1)
    sd = np.sqrt(motion.variance([(None, np.array([1.0, 0.0]))]))
    assert 0.3 < sd < 2.0
