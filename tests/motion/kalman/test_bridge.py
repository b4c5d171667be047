"""Between two nodes: against the same chain in many small steps, and in holes of hours."""

import numpy as np
import pytest

from lapwright.motion.kalman.bridge import bridge, bridge_cov
from lapwright.motion.kalman.model import car_process_cov, car_transition
from lapwright.motion.noise.white_noise import NOMINAL

STEP_S = np.array([0.2, 1.0, 30.0])
TAU_S = NOMINAL.accel_tau_s


def chain(step_s: float, parts: int) -> tuple[np.ndarray, np.ndarray]:
    """Covariance of the states after 0, 1, ... small steps from a known one."""
    f = car_transition(np.array([step_s / parts]), TAU_S)[0]
    q = car_process_cov(np.array([step_s / parts]), TAU_S, 1.0)[0]
    cov = np.zeros((parts + 1, 3, parts + 1, 3))
    for k in range(1, parts + 1):
        cov[k, :, :k] = np.einsum("ij,jkl->ikl", f, cov[k - 1, :, :k])
        cov[:k, :, k] = np.moveaxis(cov[k, :, :k], 0, -1)
        cov[k, :, k] = f @ cov[k - 1, :, k - 1] @ f.T + q
    return f, cov


@pytest.mark.parametrize("step_s", STEP_S)
def test_weights_are_those_of_the_chain_with_both_ends_known(step_s: float) -> None:
    f, cov = chain(step_s, 10)
    for k in (1, 5, 9):
        # Mean of a part of a normal vector with another part known.
        gain = cov[k, :, 10] @ np.linalg.inv(cov[10, :, 10])
        start = np.linalg.matrix_power(f, k) - gain @ np.linalg.matrix_power(f, 10)
        since, step = np.array([step_s * k / 10]), np.array([step_s])
        before, after = (found[0] for found in bridge(since, step, NOMINAL))
        # In units of what each state moves by in a step.
        scale = step_s ** np.array([0.0, -1.0, -2.0])
        unit = scale[None, :] / scale[:, None]
        assert before * unit == pytest.approx(start * unit, abs=1e-6)
        assert after * unit == pytest.approx(gain * unit, abs=1e-6)


@pytest.mark.parametrize("step_s", STEP_S)
def test_covariance_is_that_of_the_chain_with_both_ends_known(step_s: float) -> None:
    _, cov = chain(step_s, 10)
    for k, j in ((2, 7), (7, 2), (5, 5)):
        left = cov[k, :, j] - cov[k, :, 10] @ np.linalg.inv(cov[10, :, 10]) @ cov[10, :, j]
        times = (np.array([step_s * n / 10]) for n in (k, j))
        found = bridge_cov(*times, np.array([step_s]), NOMINAL)[0]
        size = np.sqrt(np.diag(cov[10, :, 10]))
        expected = NOMINAL.accel_mps2**2 * left / np.outer(size, size)
        assert found / np.outer(size, size) == pytest.approx(expected, abs=1e-6)


def test_at_a_node_it_is_the_node() -> None:
    zero, one = np.zeros((3, 3, 3)), np.broadcast_to(np.eye(3), (3, 3, 3))
    assert bridge(np.zeros(3), STEP_S, NOMINAL) == (pytest.approx(one), pytest.approx(zero))
    before, after = bridge(STEP_S, STEP_S, NOMINAL)
    assert before == pytest.approx(zero, abs=1e-6)
    assert after == pytest.approx(one, abs=1e-6)


def test_in_a_hole_of_hours_a_time_is_as_far_from_the_nearer_end() -> None:
    hours = np.full(3, 30_000.0)
    long = bridge(np.array([5.0, 29_993.0, 15_000.0]), hours, NOMINAL)
    short = bridge(np.array([5.0, 593.0, 300.0]), np.full(3, 600.0), NOMINAL)
    for one, other in zip(long, short, strict=True):
        assert np.isfinite(one).all()
        assert one == pytest.approx(other)
    cov = bridge_cov(np.array([5.0]), np.array([29_993.0]), hours[:1], NOMINAL)
    of_short = bridge_cov(np.array([5.0]), np.array([593.0]), np.array([600.0]), NOMINAL)
    assert cov == pytest.approx(of_short)
