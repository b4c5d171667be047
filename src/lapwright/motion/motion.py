"""
`Motion`: how the car moved through a session, at any time, and how sure that is.

A motion holds one smoothing for each set of noise parameters that the data leave plausible.  The
first is the most probable one and gives the trajectory; all of them give the error bars.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lapwright.arguments import checked, of_shape
from lapwright.motion.hypothesis import Hypothesis
from lapwright.motion.kalman.pseudo_measurements import (
    PseudoMeasurements,
    car_mean_with_rows,
    condition,
)
from lapwright.motion.motion_state import MotionState
from lapwright.motion.posterior import Posterior, mixture_sd
from lapwright.plane import Plane

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Motion:
    """
    The estimated motion of a session.

    Attributes
    ----------
    plane : Plane
    hypotheses : tuple of Hypothesis
        The most probable first.
    sources : tuple of str
        What the noise parameters rest on, in plain words.
    latency_s : float
        How late the logged velocity was against the position; already removed. [s]
    latency_sd_s : float
        Its standard deviation; zero where nothing was removed. [s]
    clock_rate_sd : float
        Of the rate of the log's clock, a share; zero where the receiver's time is logged.
        Positions do not depend on it; times do, see
        `lapwright.laps.cutting.line_passages.time_errors`.

    References
    ----------
    See `lapwright.Session.motion`.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> state = session.motion.at([300.0, 300.5, 301.0])
    >>> state.speed_mps.shape, state.position_m.shape
    ((3,), (3, 2))
    """

    plane: Plane
    hypotheses: tuple[Hypothesis, ...]
    sources: tuple[str, ...] = ()
    latency_s: float = 0.0
    latency_sd_s: float = 0.0
    clock_rate_sd: float = 0.0

    @property
    def best(self) -> Hypothesis:
        """
        The most probable hypothesis.

        Examples
        --------
        >>> session.motion.best is session.motion.hypotheses[0]
        True
        """
        return self.hypotheses[0]

    @property
    def fix_time_s(self) -> Floats:
        """
        Times of the fixes, shape (n,).

        Examples
        --------
        >>> len(session.motion.fix_time_s) == len(session.log.fixes)
        True
        """
        return self.best.smoothing.node_s

    @property
    def start_s(self) -> float:
        """
        Time of the first fix.

        Examples
        --------
        >>> session.motion.start_s
        0.0
        """
        return float(self.fix_time_s[0])

    @property
    def end_s(self) -> float:
        """
        Time of the last fix.

        Examples
        --------
        >>> session.motion.end_s == session.log.duration_s
        True
        """
        return float(self.fix_time_s[-1])

    @cached_property
    def at_fixes(self) -> MotionState:
        """
        The car at the fixes: every line's crossings and the mapping begin with it.

        Examples
        --------
        >>> session.motion.at_fixes.position_m.shape == (len(session.log.fixes), 2)
        True
        """
        smoothing, effect = self.best.smoothing, self.best.effect
        node_mean = smoothing.states.mean if effect is None else effect.node_mean
        return MotionState(self.fix_time_s, *smoothing.car_at_nodes(node_mean))

    @checked
    def at(self, time_s: npt.ArrayLike) -> MotionState:
        """
        The car at any times within the record.

        Parameters
        ----------
        time_s : array_like, shape (k,)
            Since the log's first usable fix. [s]

        Returns
        -------
        MotionState
            Continuous and smooth in time.

        Raises
        ------
        ValueError
            If a time lies outside the record.

        Examples
        --------
        >>> [round(float(v)) for v in session.motion.at([300.0, 310.0]).speed_mps]
        [24, 28]
        """
        if time_s is self.fix_time_s:
            return self.at_fixes
        t = np.atleast_1d(np.asarray(time_s, dtype=np.float64))
        best = self.best
        return MotionState(t, *car_mean_with_rows(best.smoothing, best.effect, t))

    @checked
    def posterior(
        self, time_s: npt.ArrayLike, weights: Floats, *, best_only: bool = False
    ) -> Posterior:
        """
        Joint posterior of linear functionals of the motion.

        Parameters
        ----------
        time_s : array_like, shape (k,)
            In any order; equal times are allowed. [s]
        weights : ndarray, shape (k, 6)
            Of [east, north, their velocities, their accelerations] at each time.
        best_only : bool
            Under the most probable noise parameters alone: quicker for very many rows.

        Returns
        -------
        Posterior

        Raises
        ------
        ValueError
            If the weights have another shape.

        References
        ----------
        E. Veach and L. J. Guibas, "Optimally combining sampling techniques for Monte Carlo
        rendering", SIGGRAPH 1995, 419-428: the weights of the noise levels.

        Examples
        --------
        >>> import numpy as np
        >>> northwards = np.array([[0.0, 0.0, 0.0, 1.0, 0.0, 0.0]])
        >>> known = session.motion.posterior([300.0], northwards)
        >>> f"{float(known.mean[0]):.1f} m/s", bool(known.sd[0] < 1.0)
        ('-15.9 m/s', True)
        """
        t = np.atleast_1d(np.asarray(time_s, dtype=np.float64))
        weights = of_shape("weights", weights, (len(t), 6))
        used, weight = self._used(best_only)
        return Posterior(
            weight,
            np.stack([h.mean(t, weights) for h in used]),
            np.stack([h.cov(t, weights) for h in used]),
        )

    @checked
    def sds(
        self, time_s: npt.ArrayLike, weights: Floats, *, best_only: bool = False,
        more_variance: Floats | float = 0.0,
    ) -> Floats:  # fmt: skip
        """
        Error bars of linear functionals, each on its own: much quicker than their joint posterior.

        Parameters
        ----------
        time_s : array_like, shape (k,) or (k, g)
            With g moments each, their functionals are added up. [s]
        weights : ndarray, shape (k, 6) or (k, g, 6)
            As for `posterior`.
        best_only : bool
            As for `posterior`.
        more_variance : float or ndarray, shape (k,)
            Of an independent error to be added to each.

        Returns
        -------
        ndarray, shape (k,)
            As ``posterior(...).sd``.

        References
        ----------
        As `posterior`.

        Examples
        --------
        >>> import numpy as np
        >>> northwards = np.array([[0.0, 0.0, 0.0, 1.0, 0.0, 0.0]])
        >>> bool(session.motion.sds([300.0], northwards)[0] < 1.0)
        True
        """
        t = np.atleast_1d(np.asarray(time_s, dtype=np.float64))
        t, weights = t.reshape(len(t), -1), np.reshape(weights, (len(t), -1, 6))
        used, weight = self._used(best_only)
        flat = t.ravel(), weights.reshape(-1, 6)
        means = np.stack([h.mean(*flat).reshape(t.shape).sum(axis=1) for h in used])
        variances = np.stack([h.variances(t, weights) for h in used]) + more_variance
        return mixture_sd(weight, means, np.sqrt(np.maximum(variances, 0.0)))

    def _used(self, best_only: bool) -> tuple[tuple[Hypothesis, ...], Floats]:
        used = self.hypotheses[:1] if best_only else self.hypotheses
        weight = np.array([h.weight for h in used])
        return used, weight / weight.sum()

    @checked
    def position_sd_m(self, time_s: npt.ArrayLike, direction: Floats) -> Floats:
        """
        Standard deviation of the position along unit vectors, shape (k,).

        Parameters
        ----------
        time_s : array_like, shape (k,)
            Since the log's first usable fix. [s]
        direction : ndarray, shape (k, 2)
            Unit vectors, east and north.

        Returns
        -------
        sd_m : ndarray, shape (k,)
            [m]

        Examples
        --------
        >>> import numpy as np
        >>> sd_m = session.motion.position_sd_m([300.0], np.array([[1.0, 0.0]]))
        >>> bool(0.0 < sd_m[0] < 5.0)
        True
        """
        return self.sds(time_s, np.pad(np.atleast_2d(direction), ((0, 0), (0, 4))))

    @checked
    def with_rows(self, rows: PseudoMeasurements) -> "Motion":
        """
        Return the motion given further measurements.

        Parameters
        ----------
        rows : PseudoMeasurements
            They replace any rows there were.

        Returns
        -------
        Motion

        Examples
        --------
        >>> import numpy as np
        >>> from lapwright.motion.kalman.pseudo_measurements import PseudoMeasurements
        >>> alone = session.motion_without_road
        >>> time_s, east = np.array([300.0]), np.eye(1, 6)
        >>> seen_m = alone.at(time_s).position_m[:, 0] + 2.0  # seen 2 m further east
        >>> rows = PseudoMeasurements(time_s, east, seen_m, np.eye(1), np.zeros((1, 0)))
        >>> short_m = seen_m - alone.with_rows(rows).at(time_s).position_m[:, 0]
        >>> bool(0.0 < short_m[0] < 2.0)
        True
        """
        done = tuple(replace(h, effect=condition(h.smoothing, rows)) for h in self.hypotheses)
        return replace(self, hypotheses=done)
