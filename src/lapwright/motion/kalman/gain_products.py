"""
Sums and products along the chain of gains that links a smoothed record's nodes.

The gain of node i leads back to node i - 1; the covariance of two nodes is the product of the
gains between them.  As in `scan`, all blocks advance together.
"""

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.rts_smoother import SmoothedStates
from lapwright.numerics.batched_systems import Blocked, from_blocks, times, to_blocks

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def sum_backward(states: SmoothedStates, kicks: Floats) -> Floats:
    """
    Solve ``x_{i-1} = gain_i @ x_i + kick_{i-1}`` from the end.

    Parameters
    ----------
    states : SmoothedStates
    kicks : ndarray, shape (n, k, c)

    Returns
    -------
    ndarray, shape (n, k, c)
    """
    gain, a = states.gain.data, states.block_gain
    x = to_blocks(kicks, len(gain), 0.0)
    carry = np.zeros_like(x[0])
    for j in range(len(gain) - 1, -1, -1):
        carry = times(gain[j], x[j] + carry)
    totals = np.moveaxis(carry, -1, 0).copy()
    starts, state = np.empty_like(totals), np.zeros_like(totals[0])
    for i in range(len(a) - 1, -1, -1):
        starts[i] = state
        state = a[i] @ state + totals[i]
    carry = np.moveaxis(starts, 0, -1).copy()
    for j in range(len(gain) - 1, -1, -1):
        x[j] += carry
        carry = times(gain[j], x[j])
    return from_blocks(x, len(kicks))


def sum_forward(states: SmoothedStates, kicks: Floats) -> Floats:
    """
    Solve ``x_i = gain_i' @ x_{i-1} + kick_i`` from the beginning; see `sum_backward`.

    Parameters
    ----------
    states : SmoothedStates
    kicks : ndarray, shape (n, k, c)

    Returns
    -------
    ndarray, shape (n, k, c)
    """
    gain, a = states.gain.data, states.block_gain
    x = to_blocks(kicks, len(gain), 0.0)
    carry = np.zeros_like(x[0])
    for j in range(len(gain)):
        carry = times(gain[j].swapaxes(0, 1), carry) + x[j]
    totals = np.moveaxis(carry, -1, 0).copy()
    starts, state = np.empty_like(totals), np.zeros_like(totals[0])
    for i in range(len(a)):
        starts[i] = state
        state = a[i].T @ state + totals[i]
    carry = np.moveaxis(starts, 0, -1).copy()
    for j in range(len(gain)):
        carry = times(gain[j].swapaxes(0, 1), carry) + x[j]
        x[j] = carry
    return from_blocks(x, len(kicks))


def covariance_times(states: SmoothedStates, vectors: Floats) -> Floats:
    """Each node's covariance times a vector of its own, shape (n, k, c)."""
    x = to_blocks(vectors, len(states.cov.data), 0.0)
    for j, cov in enumerate(states.cov.steps()):
        x[j] = times(cov, x[j])
    return from_blocks(x, len(vectors))


def gain_products(states: SmoothedStates, start: Ints, stop: Ints) -> Floats:
    """
    Ordered products of the gains between nodes.

    Parameters
    ----------
    states : SmoothedStates
    start, stop : ndarray, shape (q,)
        Nodes; equal ones give the identity.

    Returns
    -------
    ndarray, shape (q, k, k)
        ``gain[start + 1] @ gain[start + 2] @ ... @ gain[stop]``.
    """
    k, length = states.mean.shape[1], len(states.gain.data)
    out = np.broadcast_to(np.eye(k), (len(start), k, k)).copy()
    begin, end = start + 1, stop + 1
    first, last = -(-begin // length), end // length
    through = last > first
    _multiply_up(out, states.gain, begin, np.where(through, first * length, end))
    _multiply_up(out, states.block_gain, np.where(through, first, 0), np.where(through, last, 0))
    _multiply_up(out, states.gain, np.where(through, last * length, end), end)
    return out


def _multiply_up(out: Floats, matrices: Floats | Blocked, at: Ints, stop: Ints) -> None:
    """Multiply each row of ``out`` by its stretch of matrices, all rows one step at a time."""
    active = np.flatnonzero(at < stop)
    at = at.copy()
    while len(active):
        out[active] = out[active] @ matrices[at[active]]
        at[active] += 1
        active = active[at[active] < stop[active]]
