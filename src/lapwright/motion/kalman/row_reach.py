"""
Covariances between rows, the further measurements of a session, and anything else in it.

Everything that is asked of a session with rows needs its covariance with all of them.  The chain of
gains is Markov: the rows after a time are reached through the next one, those before through the
last one.  What leads on from some of the rows, the anchors, is kept, so that each question walks
from row to row to the next anchor only.  Kept for every row it would be 60 MB for 600 rows.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.smoothing import Places, Smoothing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Rows from anchor to anchor: about the root of their number, so that neither walking nor keeping
# costs more than the other.
_SPACING = 24


@dataclass(frozen=True, eq=False)
class RowReach:
    """
    How the states at rows go with the rows.

    Attributes
    ----------
    smoothing : Smoothing
    places : Places
        Of the m rows, in order of time.
    functionals : ndarray, shape (m, c, s)
        What the rows measure of the states there.
    own : ndarray, shape (m, c, s)
        Covariance of each row with the state there.
    gain : ndarray, shape (m - 1, s, s)
        From each row to the next.
    later : ndarray, shape (anchors, c, s, m)
        Covariance of the state at every `_SPACING`-th row, the first being one, with all rows not
        before it.
    between_rows : ndarray, shape (m, m)
        Covariance between the rows.
    """

    smoothing: Smoothing
    places: Places
    functionals: Floats
    own: Floats
    gain: Floats
    later: Floats
    between_rows: Floats

    @cached_property
    def earlier(self) -> Floats:
        """
        All rows not after an anchor by the state there, shape (anchors, c, s, m).

        Times the covariance there, and any functional, it is the covariance with the rows.
        """
        m, c, s = self.functionals.shape
        head = np.zeros((c, s, m))
        out = np.zeros_like(self.later)
        for j in range(m):
            if j:
                head[:, :, :j] = self.gain[j - 1].T @ head[:, :, :j]
            head[:, :, j] = self.functionals[j]
            if j % _SPACING == 0:
                out[j // _SPACING] = head
        return out

    def cov(self, at: Places, functionals: Floats) -> Floats:
        """
        Covariance of functionals at other times with the rows.

        Parameters
        ----------
        at : Places
            Of k times, in any order.
        functionals : ndarray, shape (k, s, c)

        Returns
        -------
        ndarray, shape (k, m)
        """
        m = len(self.functionals)
        out = np.zeros((len(at.time_s), m))
        behind = np.searchsorted(self.places.time_s, at.time_s, side="right")
        some = np.flatnonzero(behind < m)
        gain = self.smoothing.gains(at.take(some), self.places.take(behind[some]))
        self._onwards(out, some, behind[some], functionals[some].swapaxes(1, 2) @ gain)
        some = np.flatnonzero(behind > 0)
        gain = self.smoothing.gains(self.places.take(behind[some] - 1), at.take(some))
        with_state = gain @ (at.cov[some] @ functionals[some])
        self._backwards(out, some, behind[some] - 1, with_state.swapaxes(1, 2))
        return out

    def _onwards(self, out: Floats, query: Ints, row: Ints, lead: Floats) -> None:
        """From functionals of the states at rows, shape (k, c, s), to all rows not before."""
        m = len(self.functionals)
        anchor = -(-row // _SPACING)
        for now in self._walk(row, np.minimum(anchor * _SPACING, m), 1):
            at = row[now]
            out[query[now], at] = np.einsum("kcs,kcs->k", lead[now], self.own[at])
            on = now[at < m - 1]
            lead[on] = lead[on] @ self.gain[row[on]]
            row[now] += 1
        for a in np.unique(anchor[anchor < len(self.later)]):
            now, first = np.flatnonzero(anchor == a), a * _SPACING
            after = self.later[a].reshape(-1, m)[:, first:]
            out[query[now], first:] = lead[now].reshape(len(now), -1) @ after

    def _backwards(self, out: Floats, query: Ints, row: Ints, lead: Floats) -> None:
        """From covariances with the states at rows, shape (k, c, s), to all rows not after."""
        anchor = row // _SPACING
        for now in self._walk(row, anchor * _SPACING, -1):
            at = row[now]
            out[query[now], at] = np.einsum("kcs,kcs->k", lead[now], self.functionals[at])
            lead[now] = lead[now] @ self.gain[at - 1].swapaxes(1, 2)
            row[now] -= 1
        for a in np.unique(anchor):
            now, last = np.flatnonzero(anchor == a), a * _SPACING + 1
            before = self.earlier[a].reshape(-1, len(self.functionals))[:, :last]
            out[query[now], :last] = lead[now].reshape(len(now), -1) @ before

    @staticmethod
    def _walk(row: Ints, stop: Ints, step: int) -> Iterator[Ints]:
        """Those that are still on the way, until the rows they are moved along are at the stop."""
        while len(now := np.flatnonzero(step * (stop - row) > 0)):
            yield now


def row_reach(smoothing: Smoothing, time_s: Floats, functionals: Floats) -> RowReach:
    """
    Find how the states at rows go with the rows.

    Parameters
    ----------
    smoothing : Smoothing
    time_s : ndarray, shape (m,)
        Ascending; equal times are allowed. [s]
    functionals : ndarray, shape (m, s, c)

    Returns
    -------
    RowReach
    """
    m, s, c = functionals.shape
    places = smoothing.places(time_s)
    gain = smoothing.gains(places.take(slice(0, -1)), places.take(slice(1, None)))
    own = np.ascontiguousarray((places.cov @ functionals).swapaxes(1, 2))
    measured = np.ascontiguousarray(functionals.swapaxes(1, 2))
    between = np.empty((m, m))
    later = np.zeros((-(-m // _SPACING), c, s, m))
    tail = np.zeros((c, s, m))
    for j in range(m - 1, -1, -1):
        if j < m - 1:
            tail[:, :, j + 1 :] = gain[j] @ tail[:, :, j + 1 :]
        tail[:, :, j] = own[j]
        between[j, j:] = between[j:, j] = measured[j].ravel() @ tail.reshape(-1, m)[:, j:]
        if j % _SPACING == 0:
            later[j // _SPACING] = tail
    return RowReach(smoothing, places, measured, own, gain, later, between)
