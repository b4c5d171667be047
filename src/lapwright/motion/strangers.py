"""
Fixes of another drive among those of this one: another car's lines, a moment somewhere else.

A single wild fix stands out from its neighbours.  Where two cars take turns, every fix does, and
which are whose only the way before and behind can tell: the car went on where it can have gone.  So
the fixes are cut where no car could go from one to the next, and of the pieces those are kept that
make the longest drive (a longest path, by dynamic programming [1]_).

References
----------
.. [1] R. Bellman, "Dynamic Programming", Princeton University Press, 1957, ch. 3.
"""

import numpy as np
import numpy.typing as npt

from lapwright.ingest.oddities import FASTEST_MPS

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A step of a car as fast as any has its noise.
_NOISE_M = 5.0
# A place that does not fit for longer than twice this is no stranger's: something else is wrong.
_SECONDS, _AT_LEAST = 5.0, 5
# So many pieces are looked back at; a log in more pieces than this is not one of two drives.
_BACK, _MOST = 40, 600


def strangers(time_s: Floats, position_m: Floats, used: Flags) -> Flags:
    """
    Tell fixes that belong to another drive.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
    position_m : ndarray, shape (n, 2)
    used : ndarray of bool, shape (n,)
        Which fixes to look at; the others are none.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    out = np.zeros(len(time_s), np.bool_)
    rows = np.flatnonzero(used)
    time, place = time_s[rows], position_m[rows]
    cut = np.hypot(*np.diff(place, axis=0).T) > FASTEST_MPS * np.diff(time) + _NOISE_M
    first = np.append(0, np.flatnonzero(cut) + 1)
    if not 2 < len(first) <= _MOST:
        return out
    last = np.append(first[1:], len(rows)) - 1
    penalty = max(_AT_LEAST, round(_SECONDS / float(np.median(np.diff(time)))))
    kept = _longest_drive(time, place, first, last, penalty)
    size = last - first + 1
    out[rows] = np.repeat(~kept, size)
    return out


def _longest_drive(
    time: Floats,
    place: Floats,
    first: npt.NDArray[np.intp],
    last: npt.NDArray[np.intp],
    penalty: int,
) -> Flags:
    """Tell the pieces of the longest drive; to jump from one to the very next costs a penalty."""
    count = len(first)
    best, before = (last - first + 1).astype(np.float64), np.full(count, -1)
    for one in range(1, count):
        back = np.arange(max(0, one - _BACK), one)
        gone = np.hypot(*(place[first[one]] - place[last[back]]).T)
        jump = gone > FASTEST_MPS * (time[first[one]] - time[last[back]]) + _NOISE_M
        gain = best[back] - np.where(jump, np.where(back == one - 1, penalty, np.inf), 0.0)
        at = int(np.argmax(gain))
        if gain[at] > 0.0:
            best[one] += gain[at]
            before[one] = back[at]
    kept = np.zeros(count, np.bool_)
    one = int(np.argmax(best))
    while one >= 0:
        kept[one] = True
        one = int(before[one])
    return kept
