"""The blocked chain against the plain loop, and against trying everything."""

import itertools

import numpy as np
import pytest

from lapwright.numerics.viterbi import viterbi


def cost_of(chosen, first, step) -> float:
    total = first[chosen[0]]
    for t in range(len(step)):
        total += step[t, chosen[t], chosen[t + 1]]
    return float(total)


@pytest.mark.parametrize("count", range(8))
def test_nothing_is_cheaper(count: int) -> None:
    rng = np.random.default_rng(count)
    first, step = rng.uniform(size=3), rng.uniform(size=(count, 3, 3))
    best = min(
        cost_of(every, first, step) for every in itertools.product(range(3), repeat=count + 1)
    )
    assert cost_of(viterbi(first, step), first, step) == pytest.approx(best)


def test_a_long_chain_is_that_of_the_plain_loop() -> None:
    rng = np.random.default_rng(1)
    first, step = rng.uniform(size=4), rng.uniform(size=(1003, 4, 4))
    step[rng.uniform(size=step.shape) < 0.4] = np.inf
    step[:, 0, 0] = 0.9
    total, back = first, []
    for costs in step:
        through = total[:, np.newaxis] + costs
        back.append(np.argmin(through, axis=0))
        total = np.min(through, axis=0)
    chosen = [int(np.argmin(total))]
    for origin in reversed(back):
        chosen.append(int(origin[chosen[-1]]))
    assert viterbi(first, step).tolist() == chosen[::-1]
