"""Arithmetic side by side equals the same done one by one."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lapwright.numerics.batched_systems import (
    Blocked,
    Entries,
    Row,
    apply,
    combine,
    from_blocks,
    log_fit,
    pack,
    predict,
    sandwich,
    solve_positive,
    take_in,
    to_blocks,
    unpack,
)

RNG = np.random.default_rng(0)


def spd(k: int, b: int) -> np.ndarray:
    """Positive definite matrices, shape (k, k, b)."""
    a = RNG.standard_normal((b, k, k))
    return np.moveaxis(a @ a.swapaxes(1, 2) + 0.1 * np.eye(k), 0, -1).copy()


def test_entries_give_back_the_matrices_they_were_made_of() -> None:
    dense = RNG.standard_normal((7, 3, 3))
    dense[:, 0, 1] = 0.0
    dense[:, 2, 2] = 1.0
    entries = Entries.of(dense)
    assert (0, 1) not in entries.values
    np.testing.assert_array_equal(entries.dense(7), dense)
    x = RNG.standard_normal((3, 2, 7))
    expected = np.einsum("bij,jcb->icb", dense, x)
    np.testing.assert_allclose(apply(entries.rows(), x), expected, atol=1e-14)
    for i, row in enumerate(entries.rows()):
        np.testing.assert_allclose(combine(row, x), expected[i], atol=1e-14)
    twice = entries.twice().dense(7)
    np.testing.assert_array_equal(twice[:, 3:, 3:], dense)
    np.testing.assert_array_equal(twice[:, :3, :3], dense)
    assert not twice[:, :3, 3:].any()


def test_a_row_of_ones_does_not_change_what_it_adds_up() -> None:
    x = RNG.standard_normal((3, 4))
    before = x.copy()
    combine(((0, None), (2, None)), x)[:] = 9.0
    np.testing.assert_array_equal(x, before)


def test_prediction_and_sandwich() -> None:
    f, q, p = RNG.standard_normal((6, 3, 3)), spd(3, 6), spd(3, 6)
    fp, ahead = predict(Entries.of(f).rows(), Entries.of(np.moveaxis(q, -1, 0)).rows(), p)
    one = np.stack([f[b] @ p[..., b] @ f[b].T for b in range(6)], axis=-1)
    np.testing.assert_allclose(fp, np.einsum("bij,jkb->ikb", f, p), atol=1e-13)
    np.testing.assert_allclose(ahead, one + q, atol=1e-12)
    np.testing.assert_allclose(sandwich(np.moveaxis(f, 0, -1), p), one, atol=1e-12)


def test_one_measurement_is_a_kalman_update() -> None:
    # R. E. Kalman, "A new approach to linear filtering and prediction problems", 1960.
    k, c, b = 4, 2, 5
    mean, cov = RNG.standard_normal((k, c, b)), spd(k, b)
    h = RNG.standard_normal(k)
    row: Row = tuple((i, np.full(b, h[i])) for i in range(k))
    var, value = RNG.uniform(0.1, 1.0, b), RNG.standard_normal((c, b))
    var[3] = np.inf
    new_mean, new_cov = mean.copy(), cov.copy()
    precision, gain, innovation = take_in(row, var, value, new_mean, new_cov)
    fit = log_fit(precision, innovation)
    for i in range(b):
        if i == 3:
            np.testing.assert_array_equal(new_mean[..., i], mean[..., i])
            np.testing.assert_array_equal(new_cov[..., i], cov[..., i])
            assert fit[i] == 0.0
            continue
        p = cov[..., i]
        s = h @ p @ h + var[i]
        np.testing.assert_allclose(gain[:, i], p @ h / s, atol=1e-12)
        expected = mean[..., i] + np.outer(p @ h / s, value[:, i] - h @ mean[..., i])
        np.testing.assert_allclose(new_mean[..., i], expected, atol=1e-12)
        np.testing.assert_allclose(new_cov[..., i], p - np.outer(p @ h, p @ h) / s, atol=1e-12)
        off = value[:, i] - h @ mean[..., i]
        assert np.isclose(fit[i], -0.5 * (off @ off) / s - np.log(s))


def test_elimination_solves_what_numpy_solves() -> None:
    a, right = spd(5, 8), RNG.standard_normal((5, 3, 8))
    expected = np.linalg.solve(np.moveaxis(a, -1, 0), np.moveaxis(right, -1, 0))
    found = solve_positive(a.copy(), right.copy())
    np.testing.assert_allclose(np.moveaxis(found, -1, 0), expected, rtol=1e-9)


@given(st.integers(1, 40), st.integers(1, 50))
def test_laying_out_and_back(n: int, length: int) -> None:
    matrices = np.arange(n * 9, dtype=float).reshape(n, 3, 3)
    matrices = matrices + matrices.swapaxes(1, 2)
    blocked = to_blocks(matrices, length, 7.0)
    np.testing.assert_array_equal(from_blocks(blocked, n), matrices)
    packed = np.stack([pack(step) for step in blocked])
    every = np.arange(n)
    for sequence in (Blocked(blocked, n), Blocked(packed, n)):
        np.testing.assert_array_equal(sequence[every], matrices)
        np.testing.assert_array_equal(sequence.diagonal(2), matrices[:, 2, 2])
        assert len(sequence) == n
    np.testing.assert_array_equal(unpack(packed[0]), blocked[0])
