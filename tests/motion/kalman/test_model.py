"""The matrices of one step against matrix exponentials and their own algebra."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from motion_oracles import ORDINARY, POSITIONS_ONLY
from scipy.linalg import expm

from lapwright.motion.kalman.model import (
    NoiseParameters,
    axis_start_cov,
    axis_step,
    car_process_cov,
    car_transition,
)

steps = st.floats(1e-3, 20.0)


def exact_step(dt: float, tau: float, accel: float) -> tuple[np.ndarray, np.ndarray]:
    """
    C. F. Van Loan, "Computing integrals involving the matrix exponential", IEEE TAC 1978.

    Over a part of the step that is short against tau, then doubled: over the whole of it the block
    that grows by e^(dt / tau) takes the digits of the one that decays.
    """
    halvings = max(0, int(np.ceil(np.log2(4.0 * dt / tau))))
    a = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0 / tau]])
    drive = np.zeros((3, 3))
    drive[2, 2] = 2.0 * accel**2 / tau
    block = np.block([[-a, drive], [np.zeros((3, 3)), a.T]]) * dt / 2**halvings
    power = expm(block)
    f = power[3:, 3:].T
    q = f @ power[:3, 3:]
    for _ in range(halvings):
        f, q = f @ f, f @ q @ f.T + q
    return f, q


@given(st.floats(1e-3, 5.0), st.floats(0.5, 4.0), st.floats(0.5, 20.0))
@example(5.0, 0.5, 8.0)
def test_car_step_is_the_matrix_exponential(dt: float, tau: float, accel: float) -> None:
    f, q = exact_step(dt, tau, accel)
    # What the exponential of the block is good to; small entries of a short step beside it.
    lost = 1e-13 * (1.0 + accel**2) * max(1.0, dt**3)
    np.testing.assert_allclose(car_transition(np.array([dt]), tau)[0], f, rtol=1e-9, atol=lost)
    ours = car_process_cov(np.array([dt]), tau, accel)[0]
    np.testing.assert_allclose(ours, q, rtol=1e-9, atol=lost)


def test_short_steps_keep_their_digits() -> None:
    # For dt far below tau the car is integrated white jerk of density S = 2 a2 / tau: dt^5 / 20,
    # dt^4 / 8, dt^3 / 3 ... (Bar-Shalom et al. 2001, sec. 6.2.3), up to a relative dt / tau.
    dt, tau, accel = 1e-4, 2.0, 5.0
    q = car_process_cov(np.array([dt]), tau, accel)[0] / (2.0 * accel**2 / tau)
    expected = [
        [dt**5 / 20, dt**4 / 8, dt**3 / 6], [dt**4 / 8, dt**3 / 3, dt**2 / 2],
        [dt**3 / 6, dt**2 / 2, dt],
    ]  # fmt: skip
    np.testing.assert_allclose(q, expected, rtol=2.0 * dt / tau)


@given(steps, steps)
def test_two_steps_are_one(first: float, second: float) -> None:
    (fa, fb, fab), (qa, qb, qab) = (
        e.dense(3) for e in axis_step(np.array([first, second, first + second]), ORDINARY)
    )
    np.testing.assert_allclose(fb @ fa, fab, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(fb @ qa @ fb.T + qb, qab, rtol=1e-7, atol=1e-12)


def test_errors_and_acceleration_forget_at_their_own_pace() -> None:
    f, q = (e.dense(1)[0] for e in axis_step(np.array([1e6]), ORDINARY))
    assert np.abs(f[2:, 2:]).max() < 1e-12
    np.testing.assert_allclose(np.sqrt(np.diag(q)[2:]), [5.0, 1.0, 0.02], rtol=1e-9)
    f, _ = axis_step(np.array([200.0]), ORDINARY)
    assert f.values[3, 3][0] == pytest.approx(np.exp(-1.0))
    f, _ = axis_step(np.array([20.0]), ORDINARY)
    assert f.values[4, 4][0] == pytest.approx(np.exp(-1.0))


def test_without_velocity_there_is_no_slow_velocity_error() -> None:
    assert axis_step(np.array([1.0]), POSITIONS_ONLY)[0].shape == (4, 4)
    assert axis_start_cov(POSITIONS_ONLY).shape == (4, 4)
    assert axis_start_cov(ORDINARY).shape == (5, 5)
    assert ORDINARY.has_velocity
    assert not POSITIONS_ONLY.has_velocity


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan])
def test_parameters_must_be_positive(bad: float) -> None:
    with pytest.raises(ValueError, match="drift_m must be positive"):
        NoiseParameters(0.3, bad, 200.0, 0.05, 0.02, 20.0, 5.0, 2.0)
