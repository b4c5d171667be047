"""
`ReferencePath`: the closed line that stations and offsets are measured along.

A periodic spline through the vertices defines the curve.  It is measured once
and laid down again as short quintic pieces of equal arc length, so that a
position at a station is one look-up and one polynomial, however many are asked
for.  Why not the spline itself: its parameter is not arc length, and undoing
that for each of ninety thousand fixes is the cost of a whole session.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapwright.numerics.periodic_spline import PeriodicSpline, periodic_spline
from lapwright.numerics.quintic_hermite import Axis, quintic, quintic_cells

Floats = NDArray[np.float64]

# Cells of half a metre: the quintic then stays within a micrometre of the spline, even at
# knots where the rate of change of curvature jumps.
_CELL_M = 0.5
# Spacing of the samples among which the foot of a normal is first looked for.
_SAMPLE_M = 4.0
# Below this metric factor (1 - offset * curvature) a normal is no good guide to the station: an
# error of the position grows by more than three.
MIN_METRIC_FACTOR = 0.3


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
class ReferencePath:
    """
    A closed smooth path in driving direction.

    Attributes
    ----------
    east_m, north_m : ndarray, shape (n,)
        Five or more vertices in driving order, the first not repeated. [m]
    start_m : float
        Distance along the path from the first vertex to station 0. [m]

    Examples
    --------
    >>> import lapwright as lw
    >>> path = lw.discover_track(lw.read_log("sample_sessions/saturday_qualifying.gpx")).track.path
    >>> point = path.at(1000.0)
    >>> station_m, offset_m = path.project(point.east_m, point.north_m)
    >>> f"{float(station_m):.1f} m, {abs(float(offset_m)):.1f} m beside it"
    '1000.0 m, 0.0 m beside it'
    """

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
        """Length of one lap along the path [m]."""
        return float(self._vertex_arc[-1])

    @property
    def signed_area_m2(self) -> float:
        """Area enclosed, positive when driven anticlockwise [m^2]."""
        # Green's theorem; the sum of evenly spaced values is a good integral round a loop.
        (east, north), (east_1, north_1) = self._cells[:2]
        return float(np.mean(east * north_1 - north * east_1) * self.length_m / 2.0)

    @property
    def turning(self) -> int:
        """Whole turns in a lap: 1 anticlockwise, -1 clockwise, 0 for a figure of eight."""
        heading = np.arctan2(self._cells[1, 1], self._cells[1, 0])
        step = np.diff(heading, append=heading[:1])
        return round(float(np.sum((step + np.pi) % (2.0 * np.pi) - np.pi)) / (2.0 * np.pi))

    @property
    def direction(self) -> str:
        """``"clockwise"`` or ``"anticlockwise"``, by the signed area."""
        return "anticlockwise" if self.signed_area_m2 > 0.0 else "clockwise"

    @property
    def vertex_stations_m(self) -> Floats:
        """Station of each vertex, in [0, length) [m]."""
        return np.mod(self._vertex_arc[:-1] - self.start_m, self.length_m)

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
        """
        station = np.asarray(station_m, dtype=np.float64)
        (east, east_1, east_2), (north, north_1, north_2) = self._evaluate(station)
        curvature = (east_1 * north_2 - north_1 * east_2) / np.hypot(east_1, north_1) ** 3
        return PathPoint(east, north, np.arctan2(north_1, east_1), curvature)

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
        return quintic(cells[:, 0], index, x), quintic(cells[:, 1], index, x)

    def beside(self, station_m: ArrayLike, offset_m: ArrayLike) -> tuple[Floats, Floats]:
        """Return east and north of points some metres left (+) or right (-) of the path."""
        point = self.at(station_m)
        offset = np.asarray(offset_m, dtype=np.float64)
        return (
            point.east_m - offset * np.sin(point.heading_rad),
            point.north_m + offset * np.cos(point.heading_rad),
        )

    def stations(self, step_m: float) -> Floats:
        """Return evenly spaced stations from 0 up to, without, the length, about a step apart."""
        count = max(5, round(self.length_m / step_m))
        return np.arange(count, dtype=np.float64) * (self.length_m / count)

    def resampled(self, step_m: float) -> "ReferencePath":
        """Return the path through evenly spaced points of this one, the first at station 0."""
        point = self.at(self.stations(step_m))
        return ReferencePath(point.east_m, point.north_m)

    def shifted(self, station_m: float) -> "ReferencePath":
        """Return the very same curve, with station 0 where a station is now."""
        return replace(self, start_m=float(np.mod(self.start_m + station_m, self.length_m)))

    def reversed(self) -> "ReferencePath":
        """Return the same curve driven the other way, station 0 at the same place."""
        start = np.mod(self._vertex_arc[-2] - self.start_m, self.length_m)
        return ReferencePath(self.east_m[::-1], self.north_m[::-1], float(start))

    def project(
        self, east_m: ArrayLike, north_m: ArrayLike, near_m: ArrayLike | None = None
    ) -> tuple[Floats, Floats]:
        """
        Return the foot of the nearest normal of each point, each point by itself.

        For the fixes of a car use `lapwright.geometry.map_matching`, which knows that a
        car cannot jump to the other leg of a hairpin.

        Parameters
        ----------
        east_m, north_m : array_like, shape (n,)
            Points. [m]
        near_m : array_like, shape (n,), optional
            Stations to look near (the foot found downhill from there); without
            them the whole path is searched. [m]

        Returns
        -------
        station_m : ndarray, shape (n,)
            In [0, length). [m]
        offset_m : ndarray, shape (n,)
            Positive to the left of the path. [m]
        """
        points = np.stack(
            np.broadcast_arrays(
                np.asarray(east_m, dtype=np.float64).ravel(),
                np.asarray(north_m, dtype=np.float64).ravel(),
            ),
            axis=1,
        )
        if near_m is None:
            near = self._nearest_sample(points)
        else:
            near = np.broadcast_to(np.asarray(near_m, dtype=np.float64).ravel(), len(points))
        station, offset, _ = self.foot(points, near)
        shape = np.shape(east_m)
        return np.mod(station, self.length_m).reshape(shape), offset.reshape(shape)

    def foot(
        self, points_m: Floats, near_m: Floats, steps: int = 6
    ) -> tuple[Floats, Floats, Floats]:
        """
        Slide stations to the feet of the normals through points.

        Parameters
        ----------
        points_m : ndarray, shape (n, 2)
            East and north. [m]
        near_m : ndarray, shape (n,)
            Stations to begin from, as unwrapped as they come. [m]
        steps : int
            Newton steps; each at most a few metres long.

        Returns
        -------
        station_m : ndarray, shape (n,)
            Unwrapped as the starting values were. [m]
        offset_m : ndarray, shape (n,)
            Positive to the left. [m]
        metric_factor : ndarray, shape (n,)
            One minus offset times curvature: metres driven at this offset for each
            metre of station. Where it is small the normal is no guide. [1]
        """
        station = np.array(near_m, dtype=np.float64)
        for _ in range(steps):
            along, _, metric_factor = self._seen_from(points_m, station)
            move = along / np.maximum(metric_factor, MIN_METRIC_FACTOR)
            station += np.clip(move, -_SAMPLE_M, _SAMPLE_M)
            if np.max(np.abs(move), initial=0.0) < 1e-6:
                break
        _, offset, metric_factor = self._seen_from(points_m, station)
        return station, offset, metric_factor

    def _seen_from(self, points: Floats, station: Floats) -> tuple[Floats, Floats, Floats]:
        """How far points are ahead and to the left of the path at stations; the metric factor."""
        (east, east_1, east_2), (north, north_1, north_2) = self._evaluate(station)
        away_east, away_north = points[:, 0] - east, points[:, 1] - north
        return (
            away_east * east_1 + away_north * north_1,
            (away_north * east_1 - away_east * north_1) / np.hypot(east_1, north_1),
            1.0 - away_east * east_2 - away_north * north_2,
        )

    def samples(self) -> tuple[Floats, Floats]:
        """Return stations a few metres apart and the path there (n, 2), for coarse searches."""
        return self._samples

    def _nearest_sample(self, points: Floats) -> Floats:
        """Station of the sample nearest to each point, in blocks that stay in the cache."""
        stations, samples = self._samples
        squares = np.einsum("ij,ij->i", samples, samples)
        nearest = np.empty(len(points), dtype=np.intp)
        for begin in range(0, len(points), 256):
            block = points[begin : begin + 256]
            nearest[begin : begin + 256] = np.argmin(squares - 2.0 * block @ samples.T, axis=1)
        return stations[nearest]

    @cached_property
    def _samples(self) -> tuple[Floats, Floats]:
        stations = self.stations(_SAMPLE_M)
        return stations, self.derivatives(stations)[0]

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
