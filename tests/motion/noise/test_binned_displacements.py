"""A session in bins: what the velocity tells between them, and how well."""

from dataclasses import replace

import numpy as np
import pytest
from motion_worlds import Drive, lapped

from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.binned_displacements import Binned, bin_session

LOCAL = NoiseParameters(0.3, 1.0, 200.0, 0.05, 0.02, 20.0, accel_mps2=4.0, accel_tau_s=2.0)
# The bins of a session of ten minutes. [s]
BIN_S = 2.0


def session(step_s: float, hole_s: tuple[float, float] | None = None) -> Measurements:
    """The drive in closed form, without any error."""
    gaps = () if hole_s is None else (hole_s,)
    m, _ = lapped(
        1, 1.0 / step_s, "vector", white=0.0, drift=1e-12, speed_noise=0.0, gaps=gaps
    )  # fmt: skip
    return m


def binned(m: Measurements, local: NoiseParameters = LOCAL) -> Binned:
    return bin_session(m, m.velocity_mps, local)


def test_a_bins_position_is_that_at_its_middle() -> None:
    found = binned(session(0.1))
    middle = BIN_S * (np.arange(len(found.averaged) - 1) + 0.5)
    # At 10 Hz the trapezium rule with its correction errs by about dt^4/720 of the third derivative
    # of the speed, far below a millimetre.
    np.testing.assert_allclose(found.position_m[:-1], Drive().position(middle), atol=1e-3)
    np.testing.assert_allclose(found.step_s[:-1], BIN_S)
    # Of two seconds only the one about the middle is averaged: ten fixes, eleven with both ends.
    assert set(found.averaged[:-1]) <= {10.0, 11.0}
    assert found.window_s == 1.0
    assert found.whole.all()


def test_the_velocity_says_how_far_it_is_to_the_next_bin() -> None:
    found = binned(session(0.1))
    middle = BIN_S * (np.arange(len(found.averaged) - 1) + 0.5)
    way = np.diff(Drive().position(middle), axis=0)
    np.testing.assert_allclose(found.moved_m[:-1], way, atol=1e-3)


def test_white_noise_of_the_velocity_walks() -> None:
    # A sum of n independent velocities times dt has the variance n dt^2, which is time times dt.
    found = binned(session(0.2))
    np.testing.assert_allclose(found.walked_s2[:-1], BIN_S * 0.2, rtol=1e-9)
    # Twice the variance of each velocity is twice that of the way.
    m = session(0.2)
    found = binned(replace(m, velocity_factor=np.full(len(m), 2.0)))
    np.testing.assert_allclose(found.walked_s2[:-1], 2.0 * BIN_S * 0.2, rtol=1e-9)


@pytest.mark.parametrize("step_s", [0.2, 1.0])
def test_interpolating_between_fixes_costs_what_the_trapezium_rule_does(step_s: float) -> None:
    # Euler and Maclaurin: the corrected rule's error over a step h is the integral of v'' times
    # h^2 B2(s/h)/2, with B2 = x^2 - x + 1/6.  The mean of its square, by hand, is 1/5 - 1/2 + 1/3 +
    # 1/9 - 1/6 + 1/36 = 1/180: a white v'' of power q, that of a Gauss-Markov acceleration with
    # q = 2 sd^2/tau, makes q h^5/(4 x 180).
    each = 2.0 * 4.0**2 / 2.0 * step_s**5 / 720.0
    share = binned(session(step_s)).bridged_var_m2[:-1] / (each * BIN_S / step_s)
    # In part it comes back in the next step: in simulated driving 0.2 to 0.5 of it was left.
    assert np.all((share > 0.2) & (share < 0.5))


def test_across_a_hole_nothing_is_sure() -> None:
    # A car that gains 4 m/s2 in the first half of a hole h and loses it in the second has come
    # 4 h^2/4 further than the velocities at its ends say; a hole's sd is of that size, a few times
    # less since few do just that.
    hole_s = 10.0
    found = binned(session(0.2, (200.0, 200.0 + hole_s)))
    inside = ~found.whole
    h = hole_s + 0.2 - 1e-9
    sd_m = np.sqrt(found.bridged_var_m2[inside].sum())
    assert 0.25 * (4.0 * h**2 / 4.0) < sd_m < 1.0 * (4.0 * h**2 / 4.0)
    # The bins around it are as sure as without a hole.
    whole = binned(session(0.2))
    np.testing.assert_allclose(found.bridged_var_m2[:90], whole.bridged_var_m2[:90], rtol=1e-9)
    assert inside.sum() == pytest.approx(hole_s / BIN_S, abs=1.0)


def test_at_walking_pace_the_velocity_is_of_no_use() -> None:
    m = session(0.2)
    at = (m.time_s > 100.0) & (m.time_s < 110.0)
    found = binned(replace(m, speed_mps=np.where(at, 1.0, m.speed_mps)))
    middle = BIN_S * (np.arange(len(found.averaged)) + 0.5)
    touched = (middle[1:] > 100.0) & (middle[:-1] < 110.0)
    np.testing.assert_array_equal(found.whole, ~touched)
