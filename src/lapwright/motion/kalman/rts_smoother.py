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

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.batched_systems import (
    Blocked,
    Entries,
    Row,
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
    to_blocks,
    unpack,
)

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StateSpace:
    """
    A linear Gaussian model with ``n`` nodes, ``k`` states, ``m`` measurements a node.

    ``c`` columns (the two axes, say) may share one covariance.

    Attributes
    ----------
    transition : Entries
        Matrices of shape (n - 1, k, k), from node i to node i + 1.
    process_cov : Entries
        Of the same shape.
    observation : Entries
        Matrices of shape (n, m, k).
    observation_var : ndarray, shape (n, m)
        Independent measurement variances; ``inf`` where there is no measurement.
    value : ndarray, shape (n, m, c)
        Ignored where the variance is ``inf``.
    start_mean : ndarray, shape (k, c)
    start_cov : ndarray, shape (k, k)
    """

    transition: Entries
    process_cov: Entries
    observation: Entries
    observation_var: Floats
    value: Floats
    start_mean: Floats
    start_cov: Floats


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


class _Blocks:
    """The model in blocks side by side, padded with nodes that neither move nor measure."""

    def __init__(self, model: StateSpace) -> None:
        n, m, c = (int(size) for size in model.value.shape)
        k = len(model.start_cov)
        self.n, self.k, self.c = n, k, c
        # Between the cost of a step and that of handing over; large states fill the cache sooner.
        self.length = max(1, int(np.sqrt(n * k / 15.0)))
        self.count = -(-n // self.length)

        def blocked(entries: Entries, still: Floats, ahead: int) -> tuple[Row, ...]:
            # Padding stands still even in entries that are otherwise nowhere.
            values = dict.fromkeys(zip(*np.nonzero(still), strict=True), np.zeros(n - ahead))
            values |= entries.values
            # Entries that are one and the same array are cut once: symmetric ones, equal axes.
            done: dict[tuple[int, float], Floats] = {}
            for place, value in values.items():
                pad = float(still[place])
                if (id(value), pad) not in done:
                    whole = np.concatenate([np.full(ahead, pad), value])
                    done[id(value), pad] = to_blocks(whole, self.length, pad)
            values = {p: done[id(v), float(still[p])] for p, v in values.items()}
            return Entries(entries.shape, values).rows()

        # A node's own step leads *into* it; the first has none.
        self.f = blocked(model.transition, np.eye(k), 1)
        self.q = blocked(model.process_cov, np.zeros((k, k)), 1)
        # What padding would measure is of no account, for its variance is infinite.
        anything = np.zeros((m, k))
        for place in model.observation.values:
            anything[place] = 1.0
        self.h = blocked(model.observation, anything, 0)
        seen = np.isfinite(model.observation_var)
        self.r = to_blocks(model.observation_var, self.length, np.inf)
        self.y = to_blocks(np.where(seen[:, :, None], model.value, 0.0), self.length, 0.0)
        self.measured = int(seen.sum())

    def real(self, j: int) -> int:
        """How many blocks have a node at step j: the last is filled up with padding."""
        in_last = self.n - (self.count - 1) * self.length
        return self.count if j < in_last else self.count - 1


def _block_maps(b: _Blocks) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """
    What each block does to an unknown start, filtering from a start known to be zero.

    Returns the sensitivity A (k, k, b), mean (k, c, b), covariance (k, k, b) at the block's end,
    and the information the block holds about its start: matrix J (k, k, b), vector (k, c, b).
    """
    shape = (b.k, b.k, b.count)
    cov, info = np.zeros(shape), np.zeros(shape)
    a = np.broadcast_to(np.eye(b.k)[:, :, None], shape).copy()
    mean, score = np.zeros((b.k, b.c, b.count)), np.zeros((b.k, b.c, b.count))
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


def _block_starts(b: _Blocks, model: StateSpace) -> tuple[Floats, Floats]:
    """Hand the filtered state from block to block: mean (k, c, b) and covariance (k, k, b)."""
    a, mean, cov, info, score = (np.moveaxis(x, -1, 0).copy() for x in _block_maps(b))
    means, covs = np.empty_like(mean), np.empty_like(cov)
    m0, p0 = model.start_mean, model.start_cov
    eye = np.eye(b.k)
    for i in range(b.count):
        means[i], covs[i] = m0, p0
        # A (I + P0 J)^-1, by one solve of the transposed system.
        w = np.linalg.solve((eye + p0 @ info[i]).T, a[i].T).T
        m0 = w @ (m0 + p0 @ score[i]) + mean[i]
        p0 = w @ p0 @ a[i].T + cov[i]
        p0 = 0.5 * (p0 + p0.T)
    return np.moveaxis(means, 0, -1).copy(), np.moveaxis(covs, 0, -1).copy()


@dataclass(eq=False)
class _Filtered:
    """Forward results, in blocks; packed covariances."""

    cov: Floats
    gain: Floats  # of each node, to the one before
    rest: Floats  # mean of the one before, given this one is zero
    rest_cov: Floats  # its covariance, given this one
    last_mean: Floats
    last_cov: Floats
    log_likelihood: float


def _filter(b: _Blocks, mean: Floats, cov: Floats) -> _Filtered:
    """Filter every block from its true start, and prepare the way back."""
    triangle = (b.length, b.k * (b.k + 1) // 2, b.count)
    out = _Filtered(
        np.empty(triangle), np.empty((b.length, b.k, b.k, b.count)),
        np.empty((b.length, b.k, b.c, b.count)), np.empty(triangle), mean, cov,
        # Data count with 2 pi.
        -0.5 * b.c * b.measured * float(np.log(2.0 * np.pi)),
    )  # fmt: skip
    for j in range(b.length):
        f, h = at_step(b.f, j), at_step(b.h, j)
        before, cov_before = mean, cov
        fp, cov = predict(f, at_step(b.q, j), cov_before)
        mean = apply(f, before)
        # G = P F' Pp^-1, and P - G Pp G' = P - G F P.
        turned = solve_positive(cov.copy(), fp.copy())
        real = b.real(j)
        turned[:, :, real:] = np.eye(b.k)[:, :, None]
        out.gain[j] = turned.swapaxes(0, 1)
        out.rest[j] = before - times(out.gain[j], mean)
        rest_cov = cov_before - times(out.gain[j], fp)
        out.rest_cov[j] = pack(rest_cov)
        out.rest[j, :, :, real:] = out.rest_cov[j, :, real:] = 0.0
        for i, row in enumerate(h):
            precision, _, innovation = take_in(row, b.r[j, i], b.y[j, i], mean, cov)
            out.log_likelihood += float(log_fit(precision, innovation).sum())
        out.cov[j] = pack(cov)
    out.last_mean, out.last_cov = mean[:, :, -1], cov[:, :, -1]
    return out


def smooth(model: StateSpace) -> SmoothedStates:
    """
    Posterior of all states given all measurements.

    Parameters
    ----------
    model : StateSpace

    Returns
    -------
    SmoothedStates
        Equal to the plain recursions to rounding.
    """
    b = _Blocks(model)
    forward = _filter(b, *_block_starts(b, model))
    block_gain = _backward(b, forward)
    return SmoothedStates(
        from_blocks(forward.rest, b.n), Blocked(forward.rest_cov, b.n), Blocked(forward.cov, b.n),
        Blocked(forward.gain, b.n), block_gain, forward.log_likelihood,
    )  # fmt: skip


def _backward(b: _Blocks, forward: _Filtered) -> Floats:
    """
    Solve x_{i-1} = G_i x_i + rest_i, P_{i-1} = G_i P_i G_i' + rest_cov_i from the end.

    What is left over is overwritten by the smoothed means and covariances of the nodes.
    Returns the product of each block's gains, shape (count, k, k).
    """
    g, rest, rest_cov = forward.gain, forward.rest, forward.rest_cov
    a = np.broadcast_to(np.eye(b.k)[:, :, None], g[0].shape)
    mean, cov = np.zeros(rest[0].shape), np.zeros(g[0].shape)
    for j in range(b.length - 1, -1, -1):
        mean, a = times(g[j], mean) + rest[j], times(g[j], a)
        cov = sandwich(g[j], cov) + unpack(rest_cov[j])
    a, mean, cov = (np.moveaxis(x, -1, 0).copy() for x in (a, mean, cov))
    means, covs = np.empty_like(mean), np.empty_like(cov)
    m0, p0 = forward.last_mean, forward.last_cov
    for i in range(b.count - 1, -1, -1):
        means[i], covs[i] = m0, p0
        m0 = a[i] @ m0 + mean[i]
        p0 = a[i] @ p0 @ a[i].T + cov[i]
        p0 = 0.5 * (p0 + p0.T)
    mean, cov = np.moveaxis(means, 0, -1).copy(), np.moveaxis(covs, 0, -1).copy()
    for j in range(b.length - 1, -1, -1):
        here, here_cov = mean, cov
        mean = times(g[j], here) + rest[j]
        cov = sandwich(g[j], here_cov) + unpack(rest_cov[j])
        rest[j], rest_cov[j] = here, pack(here_cov)
    return a
