"""
A state-space model, and several of them in blocks side by side.

What is done fix by fix is done for all blocks at once, see `lapwright.motion.kalman.rts_smoother`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.numerics.batched_systems import Entries, Row, to_blocks

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


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


class Blocks:
    """
    Models of one shape in blocks side by side, padded with nodes that neither move nor measure.

    The blocks of the first model come first, then those of the second, and so on.
    """

    def __init__(self, models: Sequence[StateSpace]) -> None:
        n, m, c = (int(size) for size in models[0].value.shape)
        k = len(models[0].start_cov)
        self.n, self.k, self.c, self.models = n, k, c, len(models)
        # Between the cost of a step and that of handing over; large states fill the cache sooner.
        self.length = max(1, int(np.sqrt(n * k / 15.0)))
        self.count = -(-n // self.length)
        self.lanes = self.models * self.count

        def blocked(of_models: list[Entries], still: Floats, ahead: int) -> tuple[Row, ...]:
            # Padding stands still even in entries that are otherwise nowhere.
            standing = dict.fromkeys(zip(*np.nonzero(still), strict=True), np.zeros(n - ahead))
            every = [standing | entries.values for entries in of_models]
            # Entries that are one and the same array are cut once: symmetric ones, equal axes.
            done: dict[tuple[int, ...], Floats] = {}
            values = {}
            for place in every[0]:
                arrays, pad = [values[place] for values in every], float(still[place])
                key = int(pad), *map(id, arrays)
                if key not in done:
                    whole = [np.concatenate([np.full(ahead, pad), array]) for array in arrays]
                    done[key] = self._side_by_side(whole, pad)
                values[place] = done[key]
            return Entries(of_models[0].shape, values).rows()

        # A node's own step leads *into* it; the first has none.
        self.f = blocked([model.transition for model in models], np.eye(k), 1)
        self.q = blocked([model.process_cov for model in models], np.zeros((k, k)), 1)
        # What padding would measure is of no account, for its variance is infinite.
        anything = np.zeros((m, k))
        for place in models[0].observation.values:
            anything[place] = 1.0
        self.h = blocked([model.observation for model in models], anything, 0)
        seen = [np.isfinite(model.observation_var) for model in models]
        self.r = self._side_by_side([model.observation_var for model in models], np.inf)
        values = [model.value for model in models]
        self.y = self._side_by_side(
            [np.where(s[:, :, None], v, 0.0) for s, v in zip(seen, values, strict=True)], 0.0
        )
        self.measured = np.array([s.sum() for s in seen])

    def _side_by_side(self, arrays: list[Floats], pad: float) -> Floats:
        """Arrays of shape (n, ...) to (length, ..., models * count)."""
        blocks = [to_blocks(array, self.length, pad) for array in arrays]
        return blocks[0] if len(blocks) == 1 else np.concatenate(blocks, axis=-1)

    def padding(self, j: int) -> Ints:
        """Which blocks have no node at step j: the last of each model is filled up."""
        in_last = self.n - (self.count - 1) * self.length
        last = np.arange(self.count - 1, self.lanes, self.count)
        return last if j >= in_last else last[:0]

    def model(self, h: int) -> slice:
        """Blocks of one model."""
        return slice(h * self.count, (h + 1) * self.count)

    def by_block(self, array: Floats) -> Floats:
        """Shape (..., models * count) to (count, models, ...)."""
        apart = array.reshape(*array.shape[:-1], self.models, self.count)
        return np.moveaxis(apart, (-1, -2), (0, 1)).copy()

    def in_lanes(self, array: Floats) -> Floats:
        """Reverse of `by_block`."""
        lanes = np.moveaxis(array, (0, 1), (-1, -2))
        return np.ascontiguousarray(lanes).reshape(*array.shape[2:], -1)
