"""Runs: stretches of neighbouring values for which something holds."""

import numpy as np
import numpy.typing as npt


def flag_runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """
    First and last index of each run of true flags.

    Parameters
    ----------
    flags : ndarray of bool, shape (n,)

    Returns
    -------
    list of (int, int)
        In order; both ends belong to the run.

    Examples
    --------
    >>> flag_runs(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    edge = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edge[::2], edge[1::2], strict=True)]
