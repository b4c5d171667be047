"""
A closed curve through points: the periodic cubic spline over chord length.

Why not `scipy.interpolate.CubicSpline(bc_type="periodic")`, which gives the
same curve (a test says so): importing it costs more time than a whole session
of laps.  The cyclic tridiagonal system is solved by cyclic reduction, whose
steps are plain array arithmetic.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Gauss-Legendre nodes and weights on [0, 1]; with seven nodes the arc length of a piece
# that turns through less than half a radian is exact to rounding.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(7)
_NODES, _WEIGHTS = (_NODES + 1.0) / 2.0, _WEIGHTS / 2.0


@dataclass(frozen=True, eq=False)
class PeriodicSpline:
    """
    A closed C2 curve of cubic pieces.

    Attributes
    ----------
    knots_m : ndarray, shape (n + 1,)
        Parameter at the start of each piece and at the end of the last, from 0. [m]
    coefficients : ndarray, shape (n, 4, 2)
        Ascending powers of the parameter since the start of the piece, for east and north.
    """

    knots_m: Floats
    coefficients: Floats

    def speed(self, piece: NDArray[np.intp], ahead_m: Floats) -> Floats:
        """Return metres of curve for each unit of parameter, at some parameters past a knot."""
        c = self.coefficients[piece]
        x = ahead_m[..., np.newaxis]
        derivative = c[..., 1, :] + x * (2.0 * c[..., 2, :] + x * 3.0 * c[..., 3, :])
        return np.asarray(np.hypot(derivative[..., 0], derivative[..., 1]))

    def arc_length(self, piece: NDArray[np.intp], ahead_m: Floats) -> Floats:
        """
        Length of curve from the start of a piece, by Gauss-Legendre quadrature.

        Parameters
        ----------
        piece : ndarray of int, shape (k,)
            Number of the piece.
        ahead_m : ndarray, shape (k,)
            Parameter since the start of the piece. [m]

        Returns
        -------
        length_m : ndarray, shape (k,)
            Length of curve. [m]
        """
        nodes = ahead_m[:, np.newaxis] * _NODES
        speeds = self.speed(np.broadcast_to(piece[:, np.newaxis], nodes.shape), nodes)
        return np.asarray(ahead_m * (speeds @ _WEIGHTS))

    def derivatives(
        self, piece: NDArray[np.intp], ahead_m: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Return position and its first and second derivative by the parameter, each (k, 2)."""
        c = self.coefficients[piece]
        x = ahead_m[:, np.newaxis]
        position = c[:, 0] + x * (c[:, 1] + x * (c[:, 2] + x * c[:, 3]))
        first = c[:, 1] + x * (2.0 * c[:, 2] + x * 3.0 * c[:, 3])
        second = 2.0 * c[:, 2] + 6.0 * x * c[:, 3]
        return position, first, second


def periodic_spline(points_m: Floats) -> PeriodicSpline:
    """
    Fit the closed cubic spline through points, with chord length as its parameter.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Three or more points in order, the first not repeated, no two neighbours equal. [m]

    Returns
    -------
    spline : PeriodicSpline
        Through every point, with continuous first and second derivatives.

    References
    ----------
    .. [1] C. de Boor, "A Practical Guide to Splines", rev. ed., Springer, 2001, ch. IV.
    """
    following = np.roll(points_m, -1, axis=0)
    steps = np.hypot(*(following - points_m).T)
    secants = (following - points_m) / steps[:, np.newaxis]
    before, before_secants = np.roll(steps, 1), np.roll(secants, 1, axis=0)
    slopes = _solve_cyclic(
        lower=steps,
        diagonal=2.0 * (steps + before),
        upper=before,
        right=3.0 * (steps[:, np.newaxis] * before_secants + before[:, np.newaxis] * secants),
    )
    next_slopes = np.roll(slopes, -1, axis=0)
    h = steps[:, np.newaxis]
    coefficients = np.stack(
        [
            points_m,
            slopes,
            (3.0 * secants - 2.0 * slopes - next_slopes) / h,
            (slopes + next_slopes - 2.0 * secants) / h**2,
        ],
        axis=1,
    )
    return PeriodicSpline(np.concatenate([[0.0], np.cumsum(steps)]), coefficients)


def _solve_cyclic(lower: Floats, diagonal: Floats, upper: Floats, right: Floats) -> Floats:
    """
    Solve ``lower[i] x[i-1] + diagonal[i] x[i] + upper[i] x[i+1] = right[i]``, indices modulo n.

    Every step adds to each equation its two neighbours, so that the equations
    couple at twice the distance.  With a diagonal of twice the sum of its
    neighbours the coupling shrinks quadratically: six or seven steps suffice,
    whatever n is.
    """
    a, b, c, d = lower / diagonal, np.ones_like(diagonal), upper / diagonal, right
    d = d / diagonal[:, np.newaxis]
    distance = 1
    while np.max(np.abs(a) + np.abs(c)) > 1e-17:
        minus, plus = -a, -c
        b = 1.0 + minus * np.roll(c, distance) + plus * np.roll(a, -distance)
        d = (
            d
            + minus[:, np.newaxis] * np.roll(d, distance, axis=0)
            + plus[:, np.newaxis] * np.roll(d, -distance, axis=0)
        ) / b[:, np.newaxis]
        a, c = minus * np.roll(a, distance) / b, plus * np.roll(c, -distance) / b
        distance *= 2
    return np.asarray(d)
