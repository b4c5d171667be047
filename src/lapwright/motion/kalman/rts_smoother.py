"""
Exact fixed-interval smoothing of a linear Gaussian state-space model, in blocks.

The plain recursions (Kalman filter, then the Rauch-Tung-Striebel smoother [2]_) take one step a
fix, which in Python is a hundred times slower than the arithmetic.  Here the record is cut into
about sqrt(n) blocks which all advance together: first each block for an unknown start, then one
short pass that hands the true start from block to block, then each block again from it.  That is
the associative scan of [1]_ with two levels, in covariance form: nothing is ever divided by a
process noise, which the banded information form does and which loses metres at 100 Hz.

The formulas, with the symbols of `lapwright.motion.kalman.model` (- before, + after the fix):

- filter, `_filter`: ``m- = F m+``, ``P- = F P+ F' + Q``; a fix adds ``K (y - H m-)`` with
  ``K = P- H' (H P- H' + R)^-1`` and takes ``K H P-`` off, one row of H at a time
  (`lapwright.numerics.batched_systems.take_in`; R. E. Kalman, J. Basic Eng. 82 (1960) 35-45).
- smoother, `_backward` [2]_: ``G_i = P+_{i-1} F_i' (P-_i)^-1``,
  ``x_{i-1} = m+_{i-1} + G_i (x_i - m-_i)``, ``P_{i-1} = P+_{i-1} + G_i (P_i - P-_i) G_i'``.
- between nodes: ``cov(x_i, x_j) = G_{i+1} ... G_j P_j`` for i < j, from the smoother's recursion.
- handing over between blocks, `_block_starts` [1]_: with A the block's sensitivity to its start, J
  and z the information in it about the start, m and C what it makes of a start at zero,
  ``mean = A (I + P0 J)^-1 (m0 + P0 z) + m``, ``cov = A (I + P0 J)^-1 P0 A' + C``.

Take them as recalled from [1]_ and [2]_, without the numbers of the equations; the tests hold them
against the plain recursions in long double and against another library.

References
----------
.. [1] S. Sarkka and A. F. Garcia-Fernandez, "Temporal Parallelization of Bayesian Smoothers",
   IEEE Transactions on Automatic Control 66 (2021) 299-306, doi:10.1109/TAC.2020.2976316.
.. [2] H. E. Rauch, F. Tung and C. T. Striebel, "Maximum likelihood estimates of linear dynamic
   systems", AIAA Journal 3 (1965) 1445-1450.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.blocks import Blocks, StateSpace
from lapwright.numerics.batched_systems import (
    Blocked,
    apply,
    at_step,
    combine,
    from_blocks,
    log_fit,
    pack,
    predict,
    sandwich,
    solve_positive,
    take_in,
    times,
    unpack,
)

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class SmoothedStates:
    """
    The posterior at the nodes, and what covariances between nodes are made of.

    Attributes
    ----------
    mean : ndarray, shape (n, k, c)
    cov : Blocked
        Covariances, k by k.
    filtered_cov : Blocked
        Given the measurements up to and including each node.
    gain : Blocked
        Element i leads from node i back to node i - 1 (the first to nowhere):
        ``cov(x_i, x_j) = gain[i + 1] @ gain[i + 2] @ ... @ gain[j] @ cov[j]`` for i < j.
    block_gain : ndarray, shape (count, k, k)
        The product of all gains of each block, first to last.
    log_likelihood : float
        Of all measurements, all columns together.
    """

    mean: Floats
    cov: Blocked
    filtered_cov: Blocked
    gain: Blocked
    block_gain: Floats
    log_likelihood: float


def _block_maps(b: Blocks) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """
    What each block does to an unknown start, filtering from a start known to be zero.

    Returns the sensitivity A (k, k, b), mean (k, c, b), covariance (k, k, b) at the block's end,
    and the information the block holds about its start: matrix J (k, k, b), vector (k, c, b).
    """
    shape = (b.k, b.k, b.lanes)
    cov, info = np.zeros(shape), np.zeros(shape)
    a = np.broadcast_to(np.eye(b.k)[:, :, None], shape).copy()
    mean, score = np.zeros((b.k, b.c, b.lanes)), np.zeros((b.k, b.c, b.lanes))
    for j in range(b.length):
        f, h = at_step(b.f, j), at_step(b.h, j)
        _, cov = predict(f, at_step(b.q, j), cov)
        mean, a = apply(f, mean), apply(f, a)
        for i, row in enumerate(h):
            ha = combine(row, a)
            precision, gain, innovation = take_in(row, b.r[j, i], b.y[j, i], mean, cov)
            weighted = ha * precision
            info += weighted[:, None] * ha
            score += weighted[:, None] * innovation
            a -= gain[:, None] * ha
    return a, mean, cov, info, score


def _block_starts(b: Blocks, models: Sequence[StateSpace]) -> tuple[Floats, Floats]:
    """Hand the filtered state from block to block: mean (k, c, b) and covariance (k, k, b)."""
    a, mean, cov, info, score = (b.by_block(x) for x in _block_maps(b))
    means, covs = np.empty_like(mean), np.empty_like(cov)
    m0 = np.stack([model.start_mean for model in models])
    p0 = np.stack([model.start_cov for model in models])
    eye = np.eye(b.k)
    for i in range(b.count):
        means[i], covs[i] = m0, p0
        # A (I + P0 J)^-1, by one solve of the transposed system.
        solved = np.linalg.solve((eye + p0 @ info[i]).swapaxes(1, 2), a[i].swapaxes(1, 2))
        w = solved.swapaxes(1, 2)
        m0 = w @ (m0 + p0 @ score[i]) + mean[i]
        p0 = w @ p0 @ a[i].swapaxes(1, 2) + cov[i]
        p0 = 0.5 * (p0 + p0.swapaxes(1, 2))
    return b.in_lanes(means), b.in_lanes(covs)


@dataclass(eq=False)
class _Filtered:
    """Forward results, in blocks; packed covariances."""

    cov: Floats
    gain: Floats  # of each node, to the one before
    rest: Floats  # mean of the one before, given this one is zero
    rest_cov: Floats  # its covariance, given this one
    last_mean: Floats  # of each model, shape (models, k, c)
    last_cov: Floats
    log_likelihood: Floats  # of each model


def _filter(b: Blocks, mean: Floats, cov: Floats) -> _Filtered:
    """Filter every block from its true start, and prepare the way back."""
    lanes = b.lanes
    triangle = (b.length, b.k * (b.k + 1) // 2, lanes)
    out = _Filtered(
        np.empty(triangle), np.empty((b.length, b.k, b.k, lanes)),
        np.empty((b.length, b.k, b.c, lanes)), np.empty(triangle), mean, cov, np.zeros(0),
    )  # fmt: skip
    fit = np.zeros(lanes)
    for j in range(b.length):
        f, h = at_step(b.f, j), at_step(b.h, j)
        before, cov_before = mean, cov
        fp, cov = predict(f, at_step(b.q, j), cov_before)
        mean = apply(f, before)
        # G = P F' Pp^-1, and P - G Pp G' = P - G F P.
        turned = solve_positive(cov.copy(), fp.copy())
        padding = b.padding(j)
        turned[:, :, padding] = np.eye(b.k)[:, :, None]
        out.gain[j] = turned.swapaxes(0, 1)
        out.rest[j] = before - times(out.gain[j], mean)
        rest_cov = cov_before - times(out.gain[j], fp)
        out.rest_cov[j] = pack(rest_cov)
        out.rest[j][:, :, padding] = 0.0
        out.rest_cov[j][:, padding] = 0.0
        for i, row in enumerate(h):
            precision, _, innovation = take_in(row, b.r[j, i], b.y[j, i], mean, cov)
            fit += log_fit(precision, innovation)
        out.cov[j] = pack(cov)
    out.last_mean, out.last_cov = b.by_block(mean)[-1], b.by_block(cov)[-1]
    # Data count with 2 pi.
    constant = -0.5 * b.c * np.log(2.0 * np.pi) * b.measured
    out.log_likelihood = constant + fit.reshape(b.models, b.count).sum(axis=1)
    return out


def smooth(models: Sequence[StateSpace]) -> list[SmoothedStates]:
    """
    Posterior of all states given all measurements, of several models of one record at once.

    Parameters
    ----------
    models : sequence of StateSpace
        Of the same shape, with the same entries: they advance together, because short arrays cost
        nearly as much as longer ones.

    Returns
    -------
    list of SmoothedStates
        Equal to the plain recursions to rounding.
    """
    b = Blocks(models)
    forward = _filter(b, *_block_starts(b, models))
    block_gain = _backward(b, forward)
    out = []
    for h in range(len(models)):
        mine = b.model(h)

        def blocked(values: Floats, mine: slice = mine) -> Blocked:
            return Blocked(values[..., mine], b.n)

        out.append(
            SmoothedStates(
                from_blocks(forward.rest[..., mine], b.n), blocked(forward.rest_cov),
                blocked(forward.cov), blocked(forward.gain), block_gain[:, h],
                float(forward.log_likelihood[h]),
            )
        )  # fmt: skip
    return out


def _backward(b: Blocks, forward: _Filtered) -> Floats:
    """
    Solve x_{i-1} = G_i x_i + rest_i, P_{i-1} = G_i P_i G_i' + rest_cov_i from the end.

    What is left over is overwritten by the smoothed means and covariances of the nodes.
    Returns the product of each block's gains, shape (count, models, k, k).
    """
    g, rest, rest_cov = forward.gain, forward.rest, forward.rest_cov
    a = np.broadcast_to(np.eye(b.k)[:, :, None], g[0].shape)
    mean, cov = np.zeros(rest[0].shape), np.zeros(g[0].shape)
    for j in range(b.length - 1, -1, -1):
        mean, a = times(g[j], mean) + rest[j], times(g[j], a)
        cov = sandwich(g[j], cov) + unpack(rest_cov[j])
    a, mean, cov = (b.by_block(x) for x in (a, mean, cov))
    means, covs = np.empty_like(mean), np.empty_like(cov)
    m0, p0 = forward.last_mean, forward.last_cov
    for i in range(b.count - 1, -1, -1):
        means[i], covs[i] = m0, p0
        m0 = a[i] @ m0 + mean[i]
        p0 = a[i] @ p0 @ a[i].swapaxes(1, 2) + cov[i]
        p0 = 0.5 * (p0 + p0.swapaxes(1, 2))
    mean, cov = b.in_lanes(means), b.in_lanes(covs)
    for j in range(b.length - 1, -1, -1):
        here, here_cov = mean, cov
        mean = times(g[j], here) + rest[j]
        cov = sandwich(g[j], here_cov) + unpack(rest_cov[j])
        rest[j], rest_cov[j] = here, pack(here_cov)
    return a
