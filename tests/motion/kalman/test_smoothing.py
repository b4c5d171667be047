"""Times between fixes, and covariances between times, against one dense normal distribution."""

import numpy as np
import pytest
from motion_oracles import ORDINARY, POSITIONS_ONLY, DenseSession, driven, uneven_times

from lapwright.motion.hypothesis import Hypothesis
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.kalman.pseudo_measurements import PseudoMeasurements, condition
from lapwright.motion.kalman.smoothing import Smoothing
from lapwright.motion.kalman.state_space import smooth_measurements
from lapwright.motion.measurements import Measurements

RNG = np.random.default_rng(5)
KINDS = ["vector", "none", "speed"]


def session(
    kind: str, count: int = 45
) -> tuple[Measurements, NoiseParameters, Smoothing, np.ndarray]:
    """A short session with missing measurements, its smoothing and the directions used."""
    noise = POSITIONS_ONLY if kind == "none" else ORDINARY
    m = driven(np.random.default_rng(2), uneven_times(np.random.default_rng(3), count, 4.0), noise)
    position = np.where(np.arange(count) % 9 == 4, np.inf, 1.0)
    velocity = np.where(np.arange(count) % 7 == 3, np.inf, m.velocity_factor)
    m = m.weighted(position, velocity)
    direction = m.velocity_mps / np.maximum(m.speed_mps, 1e-9)[:, None]
    if kind == "speed":
        m = Measurements(
            m.time_s, m.position_m, m.position_factor, "speed", m.velocity_mps,
            m.speed_mps, m.velocity_factor, None,
        )  # fmt: skip
    return m, noise, smooth_measurements(m, noise, direction), direction


def dense_of(
    m: Measurements, noise: NoiseParameters, direction: np.ndarray, others_s: np.ndarray
) -> DenseSession:
    """The same session as one big normal distribution."""
    dense = DenseSession(m, noise, others_s)
    for i, t in enumerate(m.time_s):
        if np.isfinite(m.position_factor[i]):
            for axis in (0, 1):
                row = dense.row(t, {(axis, 0): 1.0, (axis, 3): 1.0})
                var = noise.white_m**2 * m.position_factor[i]
                dense.measure(row, m.position_m[i, axis], var)
        if not np.isfinite(m.velocity_factor[i]):
            continue
        var = noise.speed_mps**2 * m.velocity_factor[i]
        if m.kind == "vector":
            for axis in (0, 1):
                row = dense.row(t, {(axis, 1): 1.0, (axis, 4): 1.0})
                dense.measure(row, m.velocity_mps[i, axis], var)
        elif m.kind == "speed":
            assert m.speed_mps[i] > 2.0
            u = direction[i]
            row = dense.row(t, {(axis, s): u[axis] for axis in (0, 1) for s in (1, 4)})
            dense.measure(row, m.speed_mps[i], var)
    return dense


def some_times(m: Measurements) -> np.ndarray:
    """Unordered times: at fixes, between them, in the gap, twice the same, both ends."""
    inside = RNG.uniform(m.time_s[0], m.time_s[-1], 14)
    gap = np.argmax(np.diff(m.time_s))
    in_gap = m.time_s[gap] + np.array([0.2, 0.5, 0.9]) * np.diff(m.time_s)[gap]
    at_fixes = m.time_s[[0, 0, 7, 20, -1]]
    return RNG.permutation(np.concatenate([inside, inside[:1], in_gap, at_fixes]))


@pytest.mark.parametrize("kind", KINDS)
def test_mean_and_covariance_between_any_times(kind: str) -> None:
    m, noise, smoothing, direction = session(kind)
    t = some_times(m)
    weights = RNG.standard_normal((len(t), 6))
    dense = dense_of(m, noise, direction, t)
    mean, cov = dense.posterior(dense.car_rows(t, weights))
    ours = Hypothesis(1.0, smoothing)
    sd = np.sqrt(np.diag(cov))
    assert (np.abs(ours.mean(t, weights) - mean) / sd).max() < 1e-6
    assert (np.abs(ours.cov(t, weights) - cov) / sd[:, None] / sd).max() < 1e-6


@pytest.mark.parametrize("kind", KINDS)
def test_rows_are_further_measurements(kind: str) -> None:
    # Correlated noise and two shared unknowns with a flat prior; three rows at one time.
    m, noise, smoothing, direction = session(kind)
    t = some_times(m)
    weights = RNG.standard_normal((len(t), 6))
    row_t = np.sort(np.concatenate([RNG.uniform(m.time_s[0], m.time_s[-1], 6), [m.time_s[9]] * 3]))
    row_w = RNG.standard_normal((9, 6))
    root = RNG.standard_normal((9, 9))
    unknowns = np.stack([np.ones(9), np.arange(9.0)], axis=-1)
    rows = PseudoMeasurements(row_t, row_w, 30.0 * RNG.standard_normal(9), root @ root.T, unknowns)
    ours = Hypothesis(1.0, smoothing, condition(smoothing, rows))

    dense = dense_of(m, noise, direction, np.concatenate([t, row_t]))
    mean, cov = dense.posterior_given(
        dense.car_rows(t, weights),
        dense.car_rows(row_t, row_w),
        rows.value,
        rows.noise_cov,
        unknowns,
    )
    sd = np.sqrt(np.diag(cov))
    assert (np.abs(ours.mean(t, weights) - mean) / sd).max() < 1e-5
    assert (np.abs(ours.cov(t, weights) - cov) / sd[:, None] / sd).max() < 1e-5


@pytest.mark.parametrize("kind", KINDS)
def test_a_time_between_fixes_equals_a_node_put_there(kind: str) -> None:
    m, noise, smoothing, direction = session(kind)
    extra = np.sort(RNG.uniform(m.time_s[0], m.time_s[-1], 11))
    order = np.argsort(np.concatenate([m.time_s, extra]), kind="stable")

    def insert(values: np.ndarray, fill: float) -> np.ndarray:
        blank = np.full((len(extra), *values.shape[1:]), fill)
        return np.concatenate([values, blank])[order]

    time = np.concatenate([m.time_s, extra])[order]
    more = Measurements(
        time, insert(m.position_m, 0.0), insert(m.position_factor, np.inf), m.kind,
        insert(m.velocity_mps, 0.0), insert(m.speed_mps, 9.0), insert(m.velocity_factor, np.inf),
        None,
    )  # fmt: skip
    with_nodes = smooth_measurements(more, noise, insert(direction, 1.0))
    for a, b in zip(smoothing.car_mean(extra), with_nodes.car_mean(extra), strict=True):
        np.testing.assert_allclose(a, b, atol=1e-8)
    nodes = np.flatnonzero(order >= len(m.time_s))
    inserted = with_nodes.states.cov[nodes]
    np.testing.assert_allclose(smoothing.places(extra).cov, inserted, rtol=1e-7, atol=1e-10)
    assert smoothing.states.log_likelihood == pytest.approx(
        with_nodes.states.log_likelihood, abs=1e-8
    )


@pytest.mark.parametrize("kind", KINDS)
def test_the_trajectory_is_smooth_across_fixes(kind: str) -> None:
    m, _, smoothing, _ = session(kind)
    h = 1e-6
    before, at, after = (smoothing.car_mean(m.time_s[1:-1] + d) for d in (-h, 0.0, h))
    # Position and velocity are continuous with slopes, acceleration is continuous.
    for left, here, right in zip(before, at, after, strict=True):
        np.testing.assert_allclose(left, here, atol=1e-3)
        np.testing.assert_allclose(right, here, atol=1e-3)
    for order in (0, 1):
        slope = (after[order] - before[order]) / (2.0 * h)
        np.testing.assert_allclose(slope, at[order + 1], atol=1e-3)
    # At a fix itself it is that node's mean.
    np.testing.assert_allclose(smoothing.car_mean(m.time_s)[0][5], at[0][4], atol=1e-9)


def test_a_long_chain_crosses_many_blocks() -> None:
    # 3000 fixes and times at both ends: products over whole blocks against step by step.
    m = driven(
        np.random.default_rng(1), uneven_times(np.random.default_rng(1), 3000, 10.0), ORDINARY
    )
    smoothing = smooth_measurements(m, ORDINARY)
    t = np.array([m.time_s[0], m.time_s[3], 40.01, 150.0, 290.7, m.time_s[-1]])
    few = smoothing.chain(smoothing.places(t))
    every = smoothing.chain(smoothing.places(np.sort(np.concatenate([t, m.time_s[1:-1] + 1e-3]))))
    place = np.searchsorted(np.sort(np.concatenate([t, m.time_s[1:-1] + 1e-3])), t)
    for i in range(len(t) - 1):
        product = np.eye(5)
        for j in range(place[i], place[i + 1]):
            product = product @ every.gain[j]
        np.testing.assert_allclose(
            few.gain[i] @ few.cov[i + 1], product @ few.cov[i + 1], atol=1e-9
        )


def test_times_outside_the_record_are_refused() -> None:
    *_, smoothing, _ = session("vector")
    with pytest.raises(ValueError, match=r"beyond the record, which runs from 0\.000 to"):
        smoothing.car_mean(np.array([-0.1]))
