"""Covariances with the rows against the chain through all times at once."""

import numpy as np
import pytest
from motion_oracles import ORDINARY, driven, uneven_times

from lapwright.motion.kalman.row_reach import _SPACING, row_reach
from lapwright.motion.kalman.state_space import smooth_measurements


@pytest.mark.parametrize("rows", [1, 2, _SPACING, _SPACING + 1, 3 * _SPACING + 5])
def test_it_is_what_the_whole_chain_says(rows: int) -> None:
    rng = np.random.default_rng(rows)
    m = driven(rng, uneven_times(rng, 400, 10.0), ORDINARY)
    smoothing = smooth_measurements(m, ORDINARY)
    ends = m.time_s[[0, -1]]
    time = np.sort(rng.uniform(*ends, rows))
    # Before all rows, after them, at a row, at a fix, two in one step between fixes.
    asked = np.concatenate([rng.uniform(*ends, 9), ends, time[:1], m.time_s[[7, 200]], [5.0, 5.01]])
    of_rows, of_asked = rng.normal(size=(rows, 6)), rng.normal(size=(len(asked), 6))

    reach = row_reach(smoothing, time, smoothing.functionals(of_rows))
    found = reach.cov(smoothing.places(asked), smoothing.functionals(of_asked))

    # Rows first among equal times, as the reach has them.
    both = np.concatenate([time, asked])
    order = np.argsort(both, kind="stable")
    weights = np.concatenate([of_rows, of_asked])[order]
    chain = smoothing.chain(smoothing.places(both[order]))
    cov = np.empty((len(both), len(both)))
    cov[np.ix_(order, order)] = chain.covariance(smoothing.functionals(weights))
    scale = np.sqrt(np.outer(np.diagonal(cov), np.diagonal(cov)))
    np.testing.assert_allclose(found / scale[rows:, :rows], (cov / scale)[rows:, :rows], atol=1e-9)
    np.testing.assert_allclose(reach.between_rows / scale[:rows, :rows],
                               (cov / scale)[:rows, :rows], atol=1e-9)  # fmt: skip
