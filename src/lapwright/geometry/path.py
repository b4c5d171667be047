"""
`ReferencePath`: the closed line that stations and offsets are measured along.

Where points lie beside it, and other paths made from it; the curve itself is a `ClosedCurve`.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapwright.arguments import checked
from lapwright.geometry.closed_curve import ClosedCurve

Floats = NDArray[np.float64]

# Spacing of the samples among which the foot of a normal is first looked for.
_SAMPLE_M = 4.0
# Below this metric factor (1 - offset * curvature) a normal is no good guide to the station: an
# error of the position grows by more than three.
MIN_METRIC_FACTOR = 0.3


@dataclass(frozen=True, eq=False)
class ReferencePath(ClosedCurve):
    """
    A closed smooth path in driving direction.

    Attributes
    ----------
    east_m, north_m : ndarray, shape (n,)
        Five or more vertices in driving order, the first not repeated. [m]
    start_m : float
        Distance along the path from the first vertex to station 0. [m]

    Raises
    ------
    ValueError
        If there are fewer than five vertices, one is not finite, or two in a row are the same.

    References
    ----------
    C. de Boor, "A Practical Guide to Splines", rev. ed., Springer, 2001, ch. IV: the curve
    through the vertices.

    Examples
    --------
    >>> import lapwright as lw
    >>> path = lw.discover_track(lw.read_log("sample_sessions/saturday_qualifying.gpx")).track.path
    >>> point = path.at(1000.0)
    >>> station_m, offset_m = path.project(point.east_m, point.north_m)
    >>> f"{float(station_m):.1f} m, {abs(float(offset_m)):.1f} m beside it"
    '1000.0 m, 0.0 m beside it'
    """

    @checked
    def beside(self, station_m: ArrayLike, offset_m: ArrayLike) -> tuple[Floats, Floats]:
        """
        Return east and north of points some metres left (+) or right (-) of the path.

        Parameters
        ----------
        station_m, offset_m : array_like, shape (n,)
            Metres from the start, and to the left of the path. [m]

        Returns
        -------
        east_m, north_m : ndarray, shape (n,)
            [m]

        Examples
        --------
        >>> station_m, offset_m = session.path.project(*session.path.beside(1000.0, 2.0))
        >>> round(float(station_m), 3), round(float(offset_m), 3)
        (1000.0, 2.0)
        """
        point = self.at(station_m)
        offset = np.asarray(offset_m, dtype=np.float64)
        return (
            point.east_m - offset * np.sin(point.heading_rad),
            point.north_m + offset * np.cos(point.heading_rad),
        )

    @checked
    def stations(self, step_m: float) -> Floats:
        """
        Return evenly spaced stations from 0 up to, without, the length, about a step apart.

        Parameters
        ----------
        step_m : float
            [m]

        Returns
        -------
        station_m : ndarray, shape (n,)
            [m]

        Examples
        --------
        >>> session.path.stations(1000.0).round().tolist()
        [0.0, 622.0, 1243.0, 1865.0, 2486.0]
        """
        count = max(5, round(self.length_m / step_m))
        return np.arange(count, dtype=np.float64) * (self.length_m / count)

    @checked
    def resampled(self, step_m: float) -> "ReferencePath":
        """
        Return the path through evenly spaced points of this one, the first at station 0.

        Parameters
        ----------
        step_m : float
            About so far apart. [m]

        Returns
        -------
        ReferencePath

        Raises
        ------
        ValueError
            If two points of it would be the same.

        Examples
        --------
        >>> coarse = session.path.resampled(20.0)
        >>> len(coarse.east_m) == len(session.path.stations(20.0))
        True
        """
        point = self.at(self.stations(step_m))
        return ReferencePath(point.east_m, point.north_m)

    @checked
    def shifted(self, station_m: float) -> "ReferencePath":
        """
        Return the very same curve, with station 0 where a station is now.

        Parameters
        ----------
        station_m : float
            [m]

        Returns
        -------
        ReferencePath

        Examples
        --------
        >>> shifted = session.path.shifted(500.0)
        >>> bool(abs(shifted.at(0.0).east_m - session.path.at(500.0).east_m) < 1e-6)
        True
        """
        return replace(self, start_m=float(np.mod(self.start_m + station_m, self.length_m)))

    def reversed(self) -> "ReferencePath":
        """
        Return the same curve driven the other way, station 0 at the same place.

        Returns
        -------
        ReferencePath

        Examples
        --------
        >>> session.path.direction, session.path.reversed().direction
        ('clockwise', 'anticlockwise')
        """
        start = np.mod(self._vertex_arc[-2] - self.start_m, self.length_m)
        return ReferencePath(self.east_m[::-1], self.north_m[::-1], float(start))

    @checked
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

        Raises
        ------
        ValueError
            If a place or station is not a number, or there are not as many of them.

        Examples
        --------
        >>> point = session.path.at([1000.0, 1200.0])
        >>> station_m, offset_m = session.path.project(point.east_m, point.north_m)
        >>> station_m.round(3).tolist()
        [1000.0, 1200.0]
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
            near = np.asarray(near_m, dtype=np.float64).ravel()
            if len(near) not in (1, len(points)):
                msg = f"near_m has {len(near)} stations for {len(points)} places; give one each"
                raise ValueError(msg)
            near = np.broadcast_to(near, len(points))
        station, offset, _ = self.foot(points, near)
        shape = np.shape(east_m)
        return np.mod(station, self.length_m).reshape(shape), offset.reshape(shape)

    @checked
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

        Raises
        ------
        ValueError
            If there is not one station for each point, or one is not a number.

        Examples
        --------
        >>> import numpy as np
        >>> point = np.stack(session.path.beside([1000.0], [2.0]), axis=1)
        >>> station_m, offset_m, spread = session.path.foot(point, np.array([995.0]))
        >>> station_m.round(3).tolist(), offset_m.round(3).tolist()
        ([1000.0], [2.0])
        """
        station = np.array(near_m, dtype=np.float64)
        if np.shape(points_m) != (*station.shape, 2) or station.ndim != 1:
            msg = f"points_m has the shape {np.shape(points_m)}; give a row of two per station"
            raise ValueError(msg)
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
        """
        Return stations a few metres apart and the path there (n, 2), for coarse searches.

        Returns
        -------
        station_m : ndarray, shape (n,)
            [m]
        position_m : ndarray, shape (n, 2)
            East and north. [m]

        Examples
        --------
        >>> station_m, position_m = session.path.samples()
        >>> position_m.shape == (len(station_m), 2)
        True
        """
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
