"""
`ClosedCurve`: a smooth curve through vertices, measured by the distance along it.

A periodic spline through the vertices defines the curve.  It is measured once
and laid down again as short quintic pieces of equal arc length, so that a
position at a station is one look-up and one polynomial, however many are asked
for.  Why not the spline itself: its parameter is not arc length, and undoing
that for each of ninety thousand fixes is the cost of a whole session.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapwright.arguments import checked
from lapwright.numerics.periodic_spline import PeriodicSpline, periodic_spline
from lapwright.numerics.quintic_hermite import Axis, quintic, quintic_cells

Floats = NDArray[np.float64]

# Cells of half a metre: the quintic then stays within a micrometre of the spline, even at
# knots where the rate of change of curvature jumps.
_CELL_M = 0.5


class PathPoint(NamedTuple):
    """
    Points of a path, one a station asked for.

    Attributes
    ----------
    east_m, north_m : ndarray, shape (n,)
        Position on the plane. [m]
    heading_rad : ndarray, shape (n,)
        Driving direction, anticlockwise from east, in (-pi, pi]. [rad]
    curvature_per_m : ndarray, shape (n,)
        Positive where the path bends left. [1/m]
    """

    east_m: Floats
    north_m: Floats
    heading_rad: Floats
    curvature_per_m: Floats


@dataclass(frozen=True, eq=False)
class ClosedCurve:
    """A closed smooth curve; what `lapwright.ReferencePath` says of itself without other points."""

    east_m: Floats
    north_m: Floats
    start_m: float = 0.0

    def __post_init__(self) -> None:
        east = np.array(self.east_m, dtype=np.float64)
        north = np.array(self.north_m, dtype=np.float64)
        if east.ndim != 1 or east.shape != north.shape:
            msg = f"a path needs as many east as north values, not {east.shape}, {north.shape}"
            raise ValueError(msg)
        if len(east) < 5:
            msg = f"a closed path needs five or more vertices, not {len(east)}"
            raise ValueError(msg)
        if not (np.isfinite(east).all() and np.isfinite(north).all()):
            msg = "a vertex of the path is not finite"
            raise ValueError(msg)
        twice = np.flatnonzero((east == np.roll(east, -1)) & (north == np.roll(north, -1)))
        if len(twice):
            msg = f"vertex {twice[0] + 1} of the path and the one after it are the same point"
            raise ValueError(msg)
        for name, values in (("east_m", east), ("north_m", north)):
            values.setflags(write=False)
            object.__setattr__(self, name, values)
        object.__setattr__(self, "start_m", float(self.start_m))

    @property
    def length_m(self) -> float:
        """
        Length of one lap along the path [m].

        Examples
        --------
        >>> f"{session.path.length_m:.0f} m"
        '3108 m'
        """
        return float(self._vertex_arc[-1])

    @property
    def signed_area_m2(self) -> float:
        """
        Area enclosed, positive when driven anticlockwise [m^2].

        Examples
        --------
        >>> session.path.signed_area_m2 < 0.0  # clockwise
        True
        """
        # Green's theorem; the sum of evenly spaced values is a good integral round a loop.
        (east, north), (east_1, north_1) = self._cells[:2]
        return float(np.mean(east * north_1 - north * east_1) * self.length_m / 2.0)

    @property
    def turning(self) -> int:
        """
        Whole turns in a lap: 1 anticlockwise, -1 clockwise, 0 for a figure of eight.

        Examples
        --------
        >>> session.path.turning
        -1
        """
        heading = np.arctan2(self._cells[1, 1], self._cells[1, 0])
        step = np.diff(heading, append=heading[:1])
        return round(float(np.sum((step + np.pi) % (2.0 * np.pi) - np.pi)) / (2.0 * np.pi))

    @property
    def direction(self) -> str:
        """
        ``"clockwise"`` or ``"anticlockwise"``, by the signed area.

        Examples
        --------
        >>> session.path.direction
        'clockwise'
        """
        return "anticlockwise" if self.signed_area_m2 > 0.0 else "clockwise"

    @property
    def vertex_stations_m(self) -> Floats:
        """
        Station of each vertex, in [0, length) [m].

        Examples
        --------
        >>> session.path.vertex_stations_m.shape == session.path.east_m.shape
        True
        """
        return np.mod(self._vertex_arc[:-1] - self.start_m, self.length_m)

    @checked
    def at(self, station_m: ArrayLike) -> PathPoint:
        """
        Return the path at stations.

        Parameters
        ----------
        station_m : array_like, shape (n,) or scalar
            Metres from the start; one lap more or less is the same place. [m]

        Returns
        -------
        point : PathPoint
            Arrays of the shape of the stations.

        Raises
        ------
        ValueError
            If a station is not a number.

        References
        ----------
        C. de Boor, "A Practical Guide to Splines", rev. ed., Springer, 2001, ch. IV.

        Examples
        --------
        >>> apex = session.path.at(session.track.corners[0].apex_m)
        >>> bool(apex.curvature_per_m < 0.0)  # bends right
        True
        """
        station = np.asarray(station_m, dtype=np.float64)
        (east, east_1, east_2), (north, north_1, north_2) = self._evaluate(station)
        curvature = (east_1 * north_2 - north_1 * east_2) / np.hypot(east_1, north_1) ** 3
        return PathPoint(east, north, np.arctan2(north_1, east_1), curvature)

    @checked
    def derivatives(self, station_m: Floats) -> tuple[Floats, Floats, Floats]:
        """
        Return position and its first two derivatives by station.

        Parameters
        ----------
        station_m : ndarray, shape (n,)
            Metres from the start. [m]

        Returns
        -------
        position_m, first, second : ndarray, shape (n, 2)
            East and north; the first derivative has length 1 but for rounding. [m, 1, 1/m]

        Raises
        ------
        ValueError
            If a station is not a number.

        Examples
        --------
        >>> import numpy as np
        >>> position_m, first, second = session.path.derivatives(np.array([0.0, 1000.0]))
        >>> np.linalg.norm(first, axis=1).round(6).tolist()
        [1.0, 1.0]
        """
        east, north = self._evaluate(np.asarray(station_m, dtype=np.float64))
        position, first, second = (
            np.stack(pair, axis=-1) for pair in zip(east, north, strict=True)
        )
        return position, first, second

    def _evaluate(self, station: Floats) -> tuple[Axis, Axis]:
        """Position and two derivatives by station, for each axis by itself: that is quickest."""
        cells = self._cells
        count = cells.shape[2]
        cell_m = self.length_m / count
        along = np.mod(station + self.start_m, self.length_m) / cell_m
        # Rounding may put the very end of the lap one cell too far.
        index = np.minimum(along.astype(np.intp), count - 1)
        x = (along - index) * cell_m
        try:
            return quintic(cells[:, 0], index, x), quintic(cells[:, 1], index, x)
        except IndexError:
            msg = "one of the stations is not a number, so nothing is there"
            raise ValueError(msg) from None

    @cached_property
    def _spline(self) -> PeriodicSpline:
        return periodic_spline(np.stack([self.east_m, self.north_m], axis=1))

    @cached_property
    def _vertex_arc(self) -> Floats:
        """Length of curve from the first vertex to each, and once round to the first again."""
        pieces = np.arange(len(self.east_m))
        lengths = self._spline.arc_length(pieces, np.diff(self._spline.knots_m))
        return np.concatenate([[0.0], np.cumsum(lengths)])

    @cached_property
    def _cells(self) -> Floats:
        """Quintic pieces of equal arc length from the first vertex on, shape (6, 2, m)."""
        arc = self._vertex_arc
        count = max(8, int(np.ceil(arc[-1] / _CELL_M)))
        target = np.arange(count) * (arc[-1] / count)
        piece = np.searchsorted(arc, target, side="right") - 1
        step, length = np.diff(self._spline.knots_m)[piece], np.diff(arc)[piece]
        wanted = target - arc[piece]
        ahead = wanted * step / length
        for _ in range(3):
            short = wanted - self._spline.arc_length(piece, ahead)
            ahead = np.clip(ahead + short / self._spline.speed(piece, ahead), 0.0, step)
        position, first, second = self._spline.derivatives(piece, ahead)
        speed = np.hypot(first[:, 0], first[:, 1])[:, np.newaxis]
        tangent = first / speed
        # The second derivative by arc length is curvature times the left normal.
        cross = (tangent[:, 0] * second[:, 1] - tangent[:, 1] * second[:, 0])[:, np.newaxis]
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
        return quintic_cells(position, tangent, normal * cross / speed**2, arc[-1] / count)
