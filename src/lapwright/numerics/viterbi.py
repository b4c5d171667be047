"""
The cheapest chain of choices (Viterbi's algorithm), in about sqrt(n) array operations.

The usual loop takes one step per choice; here the steps of all blocks are
taken together, once for each choice a block may begin with.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


def viterbi(first: Floats, step: Floats) -> Ints:
    """
    Choose one of k candidates at each of n places so that the total cost is least.

    Parameters
    ----------
    first : ndarray, shape (k,)
        Cost of beginning with each candidate.
    step : ndarray, shape (n - 1, k, k)
        ``step[t, i, j]`` is the cost of candidate j at place t + 1 after candidate i at
        place t. Infinite where it cannot be.

    Returns
    -------
    chosen : ndarray of int, shape (n,)
        The candidate at each place.

    References
    ----------
    .. [1] A. J. Viterbi, "Error bounds for convolutional codes and an asymptotically
       optimum decoding algorithm", IEEE Trans. Inf. Theory 13, 1967,
       doi:10.1109/TIT.1967.1054010.
    """
    count, k = len(step), len(first)
    if not count:
        return np.array([np.argmin(first)], dtype=np.intp)
    width = int(np.ceil(np.sqrt(count)))
    blocks = -(-count // width)
    # The last block is filled up with steps that cost nothing and change nothing.
    idle = np.where(np.eye(k, dtype=bool), 0.0, np.inf)
    filled = np.broadcast_to(idle, (blocks * width, k, k)).copy()
    filled[:count] = step
    filled = filled.reshape(blocks, width, k, k)

    # cost[b, i, j]: the cheapest way through block b that begins with i and ends with j.
    cost = np.broadcast_to(idle, (blocks, k, k))
    origin = np.empty((width, blocks, k, k), dtype=np.intp)
    for t in range(width):
        through = cost[:, :, :, np.newaxis] + filled[:, t, np.newaxis, :, :]
        origin[t] = np.argmin(through, axis=2)
        cost = np.min(through, axis=2)

    total, entry = first, np.empty((blocks, k), dtype=np.intp)
    for block in range(blocks):
        through = total[:, np.newaxis] + cost[block]
        entry[block] = np.argmin(through, axis=0)
        total = np.min(through, axis=0)

    ends, begins = np.empty(blocks, dtype=np.intp), np.empty(blocks, dtype=np.intp)
    choice = np.argmin(total)
    for block in reversed(range(blocks)):
        ends[block] = choice
        choice = begins[block] = entry[block, choice]

    chosen = np.empty((blocks, width), dtype=np.intp)
    every, current = np.arange(blocks), ends
    for t in reversed(range(width)):
        chosen[:, t] = current
        current = origin[t, every, begins, current]
    return np.concatenate([begins[:1], chosen.ravel()[:count]])
