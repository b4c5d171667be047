"""
The car's motion run forward only: a Kalman filter that remembers some moments.

State, transition and noise are those of `lapwright.motion.kalman.model`, of both axes together.
What the smoother of a whole log does afterwards, a filter can do only for moments that it keeps in
its state: the place at such a moment (a `Mark`) is carried along as two more numbers that stand
still [1]_.  Every later fix refines it, and the covariance between two marks, which a lap time's
error bar needs, is there at any time.

References
----------
.. [1] B. D. O. Anderson and J. B. Moore, "Optimal Filtering", Prentice-Hall, 1979, sec. 7.2
   (fixed-point smoothing by a larger state); from memory.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters, axis_start_cov, axis_step
from lapwright.motion.kalman.state_space import POSITION, VELOCITY
from lapwright.motion.outliers import FULL_WEIGHT_TO

Floats = npt.NDArray[np.float64]

_K = 5  # states of an axis
_CAR = 2 * _K
# Below this speed a course is random, as in `lapwright.motion.measurements`. [m/s]
_SLOW_MPS = 2.0
_SLOW_SD_MPS = 0.3
# A receiver that disagrees for so long is believed. [s]
_BELIEVED_AFTER_S = 2.0


@dataclass(eq=False)
class Mark:
    """
    A moment that is kept.

    Attributes
    ----------
    time_s : float
    row : int
        Of its east in the filter's state; north is the next.
    position_m, velocity_mps : ndarray, shape (2,)
        As first known.
    """

    time_s: float
    row: int
    position_m: Floats
    velocity_mps: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Measured:
    """One fix on the plane: what is not sent is NaN, and a variance factor goes with each."""

    time_s: float
    position_m: Floats
    speed_mps: float
    course_rad: float
    factor: float = 1.0
    news: bool = True


class ForwardFilter:
    """
    The filter of one stretch of fixes.

    Parameters
    ----------
    noise : NoiseParameters
        With a velocity's noise, also where none is sent.
    latency_s : float
        How late the velocity is against the position. [s]
    """

    def __init__(self, noise: NoiseParameters, latency_s: float = 0.0) -> None:
        self.noise = noise
        self.latency_s = latency_s
        self.time_s = np.nan
        self.marks: list[Mark] = []
        self._mean = np.zeros(_CAR)
        self._cov = np.zeros((_CAR, _CAR))
        self._odd_since_s = np.nan

    @property
    def position_m(self) -> Floats:
        """East and north now, shape (2,). [m]."""
        return self._mean[[0, _K]]

    @property
    def velocity_mps(self) -> Floats:
        """East and north now, shape (2,). [m/s]."""
        return self._mean[[1, _K + 1]]

    def step(self, fix: Measured) -> None:
        """Go on to a fix and take it in."""
        if np.isnan(self.time_s):
            self._begin(fix)
        self.go_to(fix.time_s)
        if not fix.news:
            return
        noise = self.noise
        seen = np.zeros((2, _CAR))
        for axis in (0, 1):
            seen[axis, [axis * _K + i for i in POSITION]] = 1.0
        odd = self._take(seen, fix.position_m, np.full(2, noise.white_m**2 * fix.factor))
        self._believe(fix, odd=odd)
        if np.isfinite(fix.speed_mps):
            self._take(*self._velocity_rows(fix))

    def go_to(self, time_s: float) -> None:
        """Predict."""
        dt_s = time_s - self.time_s
        self.time_s = time_s
        if dt_s <= 0.0:
            return
        f, q = _step_matrices(round(dt_s, 6), self.noise)
        mean, cov = self._mean, self._cov
        mean[:_CAR] = f @ mean[:_CAR]
        cov[:_CAR] = f @ cov[:_CAR]
        cov[:, :_CAR] = cov[:, :_CAR] @ f.T
        cov[:_CAR, :_CAR] += q
        # Rounding would make it less and less symmetric over the hours.
        cov[:_CAR, :_CAR] = 0.5 * (cov[:_CAR, :_CAR] + cov[:_CAR, :_CAR].T)
        cov[_CAR:, :_CAR] = cov[:_CAR, _CAR:].T

    def mark(self) -> Mark:
        """Keep this moment."""
        rows = [*range(len(self._mean)), 0, _K]
        self._mean = self._mean[rows]
        self._cov = self._cov[np.ix_(rows, rows)]
        kept = Mark(self.time_s, len(rows) - 2, self.position_m, self.velocity_mps)
        self.marks.append(kept)
        return kept

    def drop(self, marks: list[Mark]) -> None:
        """Let go of some moments."""
        gone = {id(mark) for mark in marks}
        if not gone:
            return
        kept = [mark for mark in self.marks if id(mark) not in gone]
        rows = [*range(_CAR), *(r for mark in kept for r in (mark.row, mark.row + 1))]
        self._mean, self._cov = self._mean[rows], self._cov[np.ix_(rows, rows)]
        for place, mark in enumerate(kept):
            mark.row = _CAR + 2 * place
        self.marks = kept

    def place_at(self, mark: Mark) -> Floats:
        """Where the car was at a mark, as known now, shape (2,). [m]."""
        return self._mean[mark.row : mark.row + 2]

    def variance(self, rows: list[tuple[Mark | None, Floats]]) -> float:
        """
        Variance of a sum of functionals of places.

        Parameters
        ----------
        rows : list of (Mark or None, ndarray of shape (2,))
            Weights of east and north at each mark; None is now.

        Returns
        -------
        float
        """
        weights = np.zeros(len(self._mean))
        for mark, weight in rows:
            if mark is None:
                weights[[0, _K]] += weight
            else:
                weights[mark.row : mark.row + 2] += weight
        variance = float(weights @ self._cov @ weights)
        noise = self.noise
        if noise.coloured_m > 0.0:
            # As in `Hypothesis._lasting_cov`: errors that last seconds go through the filter as if
            # the car had done it.
            times = np.array([self.time_s if mark is None else mark.time_s for mark, _ in rows])
            alike = np.exp(-np.abs(times[:, None] - times) / noise.coloured_tau_s)
            places = np.stack([weight for _, weight in rows])
            variance += noise.coloured_m**2 * float(np.sum(alike * (places @ places.T)))
        return max(variance, 0.0)

    def saved(self) -> tuple[float, Floats, Floats, int, float]:
        """Return what `restore` needs to come back here."""
        return (
            self.time_s, self._mean.copy(), self._cov.copy(), len(self.marks), self._odd_since_s
        )  # fmt: skip

    def restore(self, saved: tuple[float, Floats, Floats, int, float]) -> None:
        """Come back; marks made since are gone."""
        self.time_s, self._mean, self._cov, count, self._odd_since_s = saved
        del self.marks[count:]

    def _begin(self, fix: Measured) -> None:
        self.time_s = fix.time_s
        self._mean[[0, _K]] = fix.position_m
        self._cov[:_CAR, :_CAR] = np.kron(np.eye(2), axis_start_cov(self.noise))

    def _believe(self, fix: Measured, *, odd: bool) -> None:
        """Begin with the car's own states again where the receiver insists."""
        if not odd:
            self._odd_since_s = np.nan
            return
        if np.isnan(self._odd_since_s):
            self._odd_since_s = fix.time_s
        if fix.time_s - self._odd_since_s < _BELIEVED_AFTER_S:
            return
        self._odd_since_s = np.nan
        self._mean[:_CAR] = 0.0
        self._cov[:_CAR], self._cov[:, :_CAR] = 0.0, 0.0
        self._begin(fix)

    def _velocity_rows(self, fix: Measured) -> tuple[Floats, Floats, Floats]:
        """What a velocity measures: as a vector, along the way, or 'about zero'."""
        noise = self.noise
        per_axis = np.zeros((2, _CAR))
        for axis in (0, 1):
            per_axis[axis, [axis * _K + i for i in VELOCITY]] = 1.0
            # Measured so long ago: the car has sped up since.
            per_axis[axis, axis * _K + 2] = -self.latency_s
        var = noise.speed_mps**2 * fix.factor
        if np.isfinite(fix.course_rad) or fix.speed_mps < _SLOW_SD_MPS:
            angle = fix.course_rad if np.isfinite(fix.course_rad) else 0.0
            seen = fix.speed_mps * np.array([np.sin(angle), np.cos(angle)])
            return per_axis, seen, np.full(2, var)
        velocity = self.velocity_mps
        speed = float(np.hypot(*velocity))
        if fix.speed_mps < _SLOW_MPS or speed < _SLOW_MPS:
            # At walking pace the direction is random.
            sd = max(fix.speed_mps, 0.0) + _SLOW_SD_MPS
            if fix.speed_mps >= _SLOW_MPS:
                return per_axis[:0], np.zeros(0), np.zeros(0)
            return per_axis, np.zeros(2), np.full(2, sd**2)
        along = velocity / speed
        across = np.array([-along[1], along[0]])
        of_velocity = self._cov[np.ix_([1, _K + 1], [1, _K + 1])]
        # A speed is longer than the component along a direction that is a little wrong.
        longer = float(across @ of_velocity @ across) / (2.0 * max(fix.speed_mps, 1.0))
        return (along @ per_axis)[None], np.array([fix.speed_mps - longer]), np.array([var])

    def _take(self, seen: Floats, value: Floats, var: Floats) -> bool:
        """Take measurements in; say whether they were so odd that they counted less."""
        if not len(value):
            return False
        cross = seen @ self._cov[:_CAR]
        predicted = cross[:, :_CAR] @ seen.T
        innovation = value - seen @ self._mean[:_CAR]
        total = predicted + np.diag(var)
        size = float(innovation @ np.linalg.solve(total, innovation))
        normalised = float(np.sqrt(max(size, 0.0) / len(value)))
        odd = normalised > FULL_WEIGHT_TO
        if odd:
            # As in `lapwright.motion.outliers`: a wild fix has no say at all.
            total = total * (normalised / FULL_WEIGHT_TO) ** 4
        lower = np.linalg.cholesky(total)
        # One solve for both; the square keeps the covariance symmetric to the last bit.
        done = np.linalg.solve(lower, np.column_stack([cross, innovation]))
        self._mean += done[:, -1] @ done[:, :-1]
        self._cov -= done[:, :-1].T @ done[:, :-1]
        return odd


@lru_cache(maxsize=256)
def _step_matrices(dt_s: float, noise: NoiseParameters) -> tuple[Floats, Floats]:
    """Transition and process covariance of both axes over a step, each (10, 10)."""
    f, q = axis_step(np.array([dt_s]), noise)
    both = np.eye(2)
    return np.kron(both, f.dense(1)[0]), np.kron(both, q.dense(1)[0])
