"""The motion as others see it: signs, times, posteriors, rows."""

import numpy as np
import pytest
from motion_worlds import lapped

from lapwright.motion import Motion, PseudoMeasurements
from lapwright.motion.estimate import motion_from
from lapwright.motion.measurements import Measurements, VelocityKind
from lapwright.motion.motion_state import MotionState
from lapwright.plane import Plane

PLANE = Plane(50.0, 10.0)


@pytest.fixture(scope="module")
def motion() -> Motion:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="vector", seconds=130.0)
    return motion_from(m, PLANE)


def circle(left: bool) -> Measurements:
    """100 m radius at 20 m/s: 4 m/s2 across, exactly v2 / r."""
    time = np.arange(0.0, 60.0, 0.1)
    sign = 1.0 if left else -1.0
    angle = 0.2 * time
    place = 100.0 * np.stack([np.cos(angle), sign * np.sin(angle)], axis=-1)
    speed = 20.0 * np.stack([-np.sin(angle), sign * np.cos(angle)], axis=-1)
    rng = np.random.default_rng(1)
    n = len(time)
    return Measurements(
        time, place + 0.02 * rng.standard_normal((n, 2)), np.ones(n), "vector",
        speed + 0.02 * rng.standard_normal((n, 2)), np.full(n, 20.0), np.ones(n), None,
    )  # fmt: skip


@pytest.mark.parametrize(("left", "expected"), [(True, 4.0), (False, -4.0)])
def test_left_is_positive_in_every_direction(left: bool, expected: float) -> None:
    # ISO 8855: y to the left.  In a steady circle a = v2 / r = 20^2 / 100.
    state = motion_from(circle(left), PLANE).at(np.linspace(10.0, 50.0, 200))
    np.testing.assert_allclose(state.accel_lat_mps2, expected, atol=0.4)
    assert state.accel_lat_mps2.mean() == pytest.approx(expected, abs=0.03)
    np.testing.assert_allclose(state.accel_long_mps2, 0.0, atol=0.5)
    np.testing.assert_allclose(state.speed_mps, 20.0, atol=0.1)


@pytest.mark.parametrize(
    ("velocity", "heading"),
    [((1, 0), 0.0), ((0, 1), np.pi / 2), ((-1, 0), np.pi), ((0, -1), -np.pi / 2)],
)  # fmt: skip
def test_heading_is_anticlockwise_from_east(velocity: tuple[int, int], heading: float) -> None:
    one = np.array([velocity], dtype=float)
    state = MotionState(np.zeros(1), one, 10.0 * one, one)
    assert state.heading_rad[0] == pytest.approx(heading)
    assert state.accel_long_mps2[0] == 1.0


def test_a_standing_car_has_no_direction() -> None:
    still = MotionState(np.zeros(1), np.zeros((1, 2)), np.zeros((1, 2)), np.ones((1, 2)))
    assert not still.direction.any()
    assert still.accel_long_mps2[0] == 0.0


def test_span_and_times_outside(motion: Motion) -> None:
    assert motion.start_s == 0.0
    assert motion.end_s == motion.fix_time_s[-1]
    assert motion.at(3.3).position_m.shape == (1, 2)
    with pytest.raises(ValueError, match="reach beyond the record"):
        motion.at([1.0, motion.end_s + 0.01])


@pytest.mark.parametrize("kind", ["vector", "speed"])
def test_the_fixes_are_where_the_bridge_between_them_ends(kind: VelocityKind) -> None:
    m, _ = lapped(seed=2, rate_hz=5.0, kind=kind, seconds=60.0)
    motion = motion_from(m, PLANE)
    direct, bridged = motion.at(motion.fix_time_s), motion.at(motion.fix_time_s.copy())
    np.testing.assert_allclose(direct.position_m, bridged.position_m, atol=1e-9)
    np.testing.assert_allclose(direct.velocity_mps, bridged.velocity_mps, atol=1e-9)
    np.testing.assert_allclose(direct.accel_mps2, bridged.accel_mps2, atol=1e-7)


def test_posterior_is_in_the_order_asked_for(motion: Motion) -> None:
    t = np.array([90.0, 10.0, 50.0, 10.0])
    weights = np.tile([1.0, 0, 0, 0, 0, 0], (4, 1))
    posterior = motion.posterior(t, weights)
    assert posterior.weight.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(posterior.means[0], motion.at(t).position_m[:, 0])
    np.testing.assert_allclose(posterior.cov[1], posterior.cov[3])
    # Closer in time, same drift: more alike.
    corr = posterior.cov / np.sqrt(np.outer(np.diag(posterior.cov), np.diag(posterior.cov)))
    assert corr[0, 2] > corr[0, 1]
    np.testing.assert_allclose(corr[1, 3], 1.0)


@pytest.mark.parametrize("with_road", [False, True])
def test_error_bars_are_those_of_the_joint_posterior(motion: Motion, with_road: bool) -> None:
    rng = np.random.default_rng(4)
    if with_road:
        t, north = np.sort(rng.uniform(5.0, 125.0, 40)), np.tile([0, 1.0, 0, 0, 0, 0], (40, 1))
        value = motion.best.mean(t, north) + 0.2
        motion = motion.with_rows(
            PseudoMeasurements(t, north, value, 0.04 * np.eye(40), np.ones((40, 1)))
        )
    # Three moments a sum, in any order, two of them in one step and two at the same moment.
    time, weights = rng.uniform(0.0, 130.0, (12, 3)), rng.standard_normal((12, 3, 6))
    time[0, 1], time[1, 2] = time[0, 0] + 0.03, time[1, 0]
    joint = motion.posterior(time.ravel(), weights.reshape(-1, 6))
    sums = joint.combined(np.kron(np.eye(12), np.ones(3)))
    np.testing.assert_allclose(motion.sds(time, weights), sums.sd, rtol=1e-9)
    np.testing.assert_allclose(motion.sds(time[:, 0], weights[:, 0]), joint.sd[::3], rtol=1e-9)
    best = motion.posterior(time[:, 0], weights[:, 0], best_only=True)
    found = motion.sds(time[:, 0], weights[:, 0], best_only=True)
    np.testing.assert_allclose(found, best.sd, rtol=1e-9)
    wider = motion.sds(time, weights, more_variance=np.arange(12.0))
    np.testing.assert_allclose(wider, sums.widened(np.diag(np.arange(12.0))).sd, rtol=1e-9)


def test_position_sd_is_along_the_direction(motion: Motion) -> None:
    t = np.array([40.0, 40.0])
    sd = motion.position_sd_m(t, np.array([[1.0, 0.0], [0.6, 0.8]]))
    # Both axes are equally good; the sets of parameters do not agree to the last centimetre where.
    assert sd[0] == pytest.approx(sd[1], rel=0.05)
    assert 0.1 < sd[0] < 3.0


def test_rows_replace_rows_and_leave_the_motion_alone(motion: Motion) -> None:
    t, weights = np.array([60.0]), np.array([[1.0, 0, 0, 0, 0, 0]])
    where = motion.at(t).position_m[:, 0]
    rows = PseudoMeasurements(t, weights, where + 0.5, np.array([[1e-8]]), np.zeros((1, 0)))
    moved = motion.with_rows(rows)
    assert moved.at(t).position_m[0, 0] == pytest.approx(where[0] + 0.5, abs=1e-4)
    assert motion.at(t).position_m[0, 0] == where[0]
    assert moved.posterior(t, weights).sd[0] < 1e-3
    back = PseudoMeasurements(t, weights, where, np.array([[1e-8]]), np.zeros((1, 0)))
    again = moved.with_rows(back)
    assert again.at(t).position_m[0, 0] == pytest.approx(where[0], abs=1e-4)


def test_at_with_rows_is_the_mean_of_the_posterior(motion: Motion) -> None:
    t = np.array([20.0, 20.05, 61.3])
    weights = np.tile([0, 1.0, 0, 0, 0, 0], (3, 1))
    rows = PseudoMeasurements(
        t, weights, motion.best.mean(t, weights) + 0.3, 0.01 * np.eye(3), np.zeros((3, 0))
    )
    moved = motion.with_rows(rows)
    looks = np.array([20.02, 44.0, 61.3])
    np.testing.assert_allclose(
        moved.at(looks).position_m[:, 1], moved.posterior(looks, weights).means[0], atol=1e-9
    )
