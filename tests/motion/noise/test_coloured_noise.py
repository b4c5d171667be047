"""Errors of positions that last seconds: how large, and who sees them."""

from dataclasses import replace

import numpy as np
import pytest
from motion_oracles import ORDINARY
from motion_worlds import lapped

from lapwright.motion.measurements import Measurements
from lapwright.motion.noise.coloured_noise import (
    contradicted_var,
    lasting_var,
    share_not_seen,
    with_lasting,
)
from lapwright.motion.noise.white_noise import short_term_noise

DRIVER = (float(np.log(0.4)), 0.6)


@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_the_mean_variance_is_that_of_a_simulated_population(rate_hz: float) -> None:
    rng = np.random.default_rng(1)
    n = 2_000_000
    there = rng.random(n) < (0.5 if rate_hz < 2.0 else 0.1)
    error = there * np.exp(0.8 * rng.standard_normal(n))
    total = np.hypot(error, np.exp(DRIVER[0] + DRIVER[1] * rng.standard_normal(n)))
    for spread in (0.45, 0.8, 1.3, 2.0):
        near = np.abs(total / spread - 1.0) < 0.02
        # Some thousands of draws each.
        assert lasting_var(np.array([spread]), DRIVER, rate_hz)[0] == pytest.approx(
            (error[near] ** 2).mean(), rel=0.1, abs=0.003
        )


def test_a_usual_driver_is_not_taken_for_a_phone_and_metres_are() -> None:
    low, high = np.sqrt(lasting_var(np.array([0.45, 2.5]), DRIVER, 1.0))
    assert low < 0.2
    assert high > 2.2


def test_a_velocity_of_its_own_sees_what_lasts_and_one_of_the_positions_does_not() -> None:
    m, _ = lapped(seed=5, rate_hz=1.0, kind="vector")
    rng = np.random.default_rng(6)
    error = np.zeros((len(m), 2))
    for i in range(1, len(m)):
        error[i] = np.exp(-0.25) * error[i - 1] + 1.6 * rng.standard_normal(2)
    moved = np.gradient(error, m.time_s, axis=0)
    fields = {k: getattr(m, k) for k in Measurements.__dataclass_fields__}
    late = Measurements(**(fields | {"position_m": m.position_m + error}))
    local = short_term_noise(late)
    by_itself = contradicted_var(late, local, m.velocity_mps)
    of_positions = contradicted_var(late, local, m.velocity_mps + moved)
    # Gauss-Markov of 2.5 m and 4 s; means over two seconds are a little steadier.
    assert 3.0 < by_itself < 9.0
    assert of_positions < 0.25 * by_itself
    assert share_not_seen(by_itself, 6.0) == pytest.approx(0.0, abs=0.8)
    assert share_not_seen(6.0, 6.0) == 0.0
    assert share_not_seen(of_positions, 6.0) == 1.0


# Logarithms of (drift, its time, spread, its length, lasting, its time), and how likely each is.
POINTS = np.log([[1.0, 200.0, 0.6, 60.0, 0.8, 2.0], [2.0, 100.0, 1.2, 30.0, 1.6, 8.0]])
WEIGHT = np.array([0.25, 0.75])


def test_what_lasts_is_taken_from_the_laps_where_there_is_no_velocity() -> None:
    m, _ = lapped(seed=5, rate_hz=1.0, kind="none", seconds=60.0)
    found = with_lasting(m, ORDINARY, POINTS, WEIGHT, DRIVER, None)
    # Spread and lasting error together are 1 m and 2 m (3-4-5); what the errors do from fix to fix
    # is in the 0.3 m of white noise. Variances of a mixture add up.
    one, two = lasting_var(np.array([1.0, 2.0]), DRIVER, 1.0)
    var = 0.25 * one * (1.0 + 0.09) + 0.75 * two * (1.0 + 0.09 / 4.0)
    assert found.coloured_m == pytest.approx(np.sqrt(var))
    # 2^(1/4) 8^(3/4) s.
    assert found.coloured_tau_s == pytest.approx(2.0**2.5)
    assert replace(found, coloured_m=0.0, coloured_tau_s=1.0) == replace(
        ORDINARY, coloured_m=0.0, coloured_tau_s=1.0
    )


def test_a_quick_receiver_hardly_has_errors_that_last() -> None:
    for rate_hz, likely in ((1.0, 0.5), (5.0, 0.1)):
        m, _ = lapped(seed=5, rate_hz=rate_hz, kind="none", seconds=60.0)
        found = with_lasting(m, ORDINARY, POINTS[:1], np.ones(1), DRIVER, None)
        slow = 1.0 if likely == 0.5 else 10.0
        var = lasting_var(np.array([1.0]), DRIVER, slow)[0] * 1.09
        assert found.coloured_m == pytest.approx(np.sqrt(var))


@pytest.mark.parametrize("kind", ["vector", "speed"])
def test_a_velocity_that_sees_nothing_lasting_does_not_take_it_away(kind: str) -> None:
    # A velocity made of the same positions agrees with them: all that the laps show remains.
    m, drive = lapped(seed=5, rate_hz=1.0, kind="vector", seconds=300.0, drift=0.0)
    velocity = drive.velocity(m.time_s)
    direction = velocity / np.linalg.norm(velocity, axis=1)[:, None]
    as_laps = with_lasting(replace(m, kind="none"), ORDINARY, POINTS, WEIGHT, DRIVER, None)
    if kind == "speed":
        m = replace(m, kind="speed", velocity_mps=np.zeros_like(velocity))
    along = None if kind == "vector" else direction
    agreed = with_lasting(m, ORDINARY, POINTS, WEIGHT, DRIVER, along)
    assert agreed.coloured_m == pytest.approx(as_laps.coloured_m)
    # One of its own that sees errors of two metres is right about where the car was.
    error = np.zeros(len(m))
    rng = np.random.default_rng(6)
    for i in range(1, len(m)):
        error[i] = np.exp(-0.25) * error[i - 1] + 1.3 * rng.standard_normal()
    wrong = replace(m, position_m=m.position_m + error[:, None] * direction)
    contradicted = with_lasting(wrong, ORDINARY, POINTS, WEIGHT, DRIVER, along)
    assert contradicted.coloured_m < 0.5 * as_laps.coloured_m


def test_what_a_velocity_contradicts_is_the_variance_of_the_positions_errors() -> None:
    # White errors of a metre along the way, in means of three fixes about each middle of two
    # seconds' bins: a third of a square metre. A median over some hundred spans that overlap.
    m, drive = lapped(seed=5, rate_hz=2.0, kind="vector", white=0.0, drift=0.0, slow=0.001)
    velocity = drive.velocity(m.time_s)
    direction = velocity / np.linalg.norm(velocity, axis=1)[:, None]
    rng = np.random.default_rng(7)
    wrong = replace(m, position_m=m.position_m + rng.standard_normal(len(m))[:, None] * direction)
    local = replace(ORDINARY, white_m=1.0)
    assert contradicted_var(wrong, local, m.velocity_mps) == pytest.approx(1.0 / 3.0, rel=0.25)
    short, _ = lapped(seed=5, rate_hz=2.0, kind="vector", seconds=60.0)
    assert contradicted_var(short, local, short.velocity_mps) == 0.0


def test_how_much_a_velocity_sees_is_a_matter_of_degree() -> None:
    # All of it up to two fifths, nothing from nine tenths on, evenly between: 0.65 is the middle.
    seen = np.array([0.0, 0.39, 0.41, 0.65, 0.89, 0.91, 3.0])
    expected = [1.0, 1.0, 0.98, 0.5, 0.02, 0.0, 0.0]
    assert [share_not_seen(4.0 * s, 4.0) for s in seen] == pytest.approx(expected)
