"""
`Circuit`: an invented circuit with everything that is exactly known about it.

A circuit is a closed centre line on a plane of its own, a width, a pit lane,
a start/finish line and sector lines.  Places on it are given as station
(metres along the centre line from the start/finish line) and offset (metres
to the left of it).  The plane is a transverse Mercator with the scale of the
ground's height, made here and not borrowed: what is tested against this truth
shares nothing with it.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pyproj
from scipy.interpolate import BSpline, CubicSpline, make_interp_spline
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from lapwright.simulate.circuit.bends import Bend, find_bends

Floats = npt.NDArray[np.float64]

EARTH_RADIUS_M = 6_371_008.77  # mean radius (2a + b)/3 of WGS 84, NIMA TR8350.2

# How far ahead the usual line looks for room. [m]
LINE_REACH_M = 28.0


@dataclass(frozen=True, slots=True)
class PitLane:
    """
    A lane beside the straight that holds the start/finish line.

    Attributes
    ----------
    entry_m, exit_m : float
        Stations where the lane leaves and joins the track; `entry_m` is negative,
        before the line. [m]
    offset_m : float
        Of the lane from the centre line, positive to the left. [m]
    box_m : float
        Station of the box; negative before the line, positive past it. [m]
    limit_mps : float
        Speed limit. [m/s]
    blend_m : float
        Length over which the lane swings off and back. [m]
    """

    entry_m: float
    exit_m: float
    offset_m: float
    box_m: float
    limit_mps: float = 60.0 / 3.6
    blend_m: float = 60.0

    def __post_init__(self) -> None:
        if not self.entry_m + self.blend_m < self.box_m < self.exit_m - self.blend_m:
            msg = f"the box at {self.box_m} m is not inside the lane of this pit: {self}"
            raise ValueError(msg)

    def share(self, station_m: Floats) -> Floats:
        """How far a car in the lane has left the track: 0 on the track, 1 in the lane."""
        x = np.minimum(station_m - self.entry_m, self.exit_m - station_m) / self.blend_m
        x = np.clip(x, 0.0, 1.0)
        return x**3 * (10 - 15 * x + 6 * x**2)


@dataclass(frozen=True, eq=False)
class Circuit:
    """
    A closed circuit at a place on earth.

    Attributes
    ----------
    name : str
    east_m, north_m : ndarray, shape (n,)
        Centre line in driving direction, about 1 m apart, the first vertex (on the
        start/finish line, station 0) not repeated. [m]
    half_width_m : float
        From the centre line to either edge. [m]
    lat0_deg, lon0_deg, height_m : float
        Where the plane's origin lies. [degrees, m]
    sector_stations_m : tuple of float
        Stations of the sector lines. [m]
    pit : PitLane or None
    reach_m : float
        From the centre line to the ends of the start/finish and sector lines. [m]
    """

    name: str
    east_m: Floats
    north_m: Floats
    half_width_m: float = 5.0
    lat0_deg: float = -41.0
    lon0_deg: float = 172.0
    height_m: float = 0.0
    sector_stations_m: tuple[float, ...] = ()
    pit: PitLane | None = None
    reach_m: float = 10.0

    @cached_property
    def _spline(self) -> BSpline:
        # Of fifth degree: beside the line a car feels the line's third derivative, and its
        # acceleration must have no steps.
        points = np.column_stack([self.east_m, self.north_m])
        knots = np.arange(len(points) + 1) * self.length_m / len(points)
        closed = np.vstack([points, points[:1]])
        return make_interp_spline(knots, closed, k=5, bc_type="periodic")

    @cached_property
    def length_m(self) -> float:
        """Length of the centre line [m]."""
        points = np.column_stack([self.east_m, self.north_m])
        points = np.vstack([points, points[:1]])
        spline = CubicSpline(np.arange(len(points)), points, bc_type="periodic")
        fine = np.linspace(0, len(points) - 1, 4 * (len(points) - 1) + 1)
        rate = np.hypot(*spline(fine, 1).T)
        middle = np.hypot(*spline((fine[1:] + fine[:-1]) / 2, 1).T)
        return float(np.sum(rate[1:] + 4 * middle + rate[:-1]) / 24)

    def place(self, station_m: Floats, offset_m: Floats | float = 0.0) -> Floats:
        """East and north of stations and offsets, shape (k, 2) [m]."""
        wrapped = np.mod(station_m, self.length_m)
        tangent = self._spline(wrapped, 1)
        tangent /= np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
        left = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        return np.asarray(self._spline(wrapped) + left * np.reshape(offset_m, (-1, 1)))

    def curvature(self, station_m: Floats) -> Floats:
        """Curvature of the centre line, positive to the left [1/m]."""
        wrapped = np.mod(station_m, self.length_m)
        d1, d2 = self._spline(wrapped, 1), self._spline(wrapped, 2)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        return np.asarray(cross / np.hypot(d1[:, 0], d1[:, 1]) ** 3)

    @cached_property
    def usual_line(self) -> tuple[Floats, Floats]:
        """
        Stations and offsets of a plausible racing line, about 1 m apart.

        The offset n minimises the integral of ``(kappa + n'')**2 + n**2 / l**4``, a
        linear problem that is solved by Fourier series.  Where it leaves the road the
        whole neighbourhood is scaled down, so that no new bends appear as they would
        by clipping.  It cuts to the inside at the apex and uses the width before and
        after; it is not the fastest line and need not be.
        """
        count = len(self.east_m)
        station = np.arange(count) * self.length_m / count
        wave = 2 * np.pi * np.fft.fftfreq(count, self.length_m / count)
        gain = wave**2 / (wave**4 + LINE_REACH_M**-4.0)
        offset = np.fft.ifft(np.fft.fft(self.curvature(station)) * gain).real
        # On the inside of a hairpin no nearer to its centre than half of the radius.
        bend = maximum_filter1d(np.abs(self.curvature(station)), 61, mode="wrap")
        room = np.minimum(max(self.half_width_m - 1.2, 0.1), 0.5 / np.maximum(bend, 1e-6))
        around = maximum_filter1d(np.abs(offset), 241, mode="wrap")
        scale = gaussian_filter1d(room / np.maximum(room, around), 45.0, mode="wrap")
        return station, offset * scale

    @cached_property
    def bends(self) -> tuple[Bend, ...]:
        """The corners of the usual line: radius under 250 m and more than 12 degrees of turn."""
        return find_bends(*self.usual_curvature(), self.length_m)

    def usual_curvature(self) -> tuple[Floats, Floats]:
        """Stations and curvature of the usual line, left positive [1/m]."""
        station, offset = self.usual_line
        points = self.place(station, offset)
        knots = np.append(station, self.length_m)
        spline = CubicSpline(knots, np.vstack([points, points[:1]]), bc_type="periodic")
        d1, d2 = spline(station, 1), spline(station, 2)
        cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        return station, np.asarray(cross / np.hypot(d1[:, 0], d1[:, 1]) ** 3)

    @cached_property
    def _degrees(self) -> pyproj.Transformer:
        scale = 1.0 + self.height_m / EARTH_RADIUS_M
        plane = (
            f"+proj=tmerc +lat_0={self.lat0_deg!r} +lon_0={self.lon0_deg!r} +k_0={scale!r} "
            "+x_0=0 +y_0=0 +ellps=WGS84 +units=m +no_defs"
        )
        return pyproj.Transformer.from_crs(plane, "EPSG:4326", always_xy=True)

    def to_degrees(self, points_m: Floats) -> Floats:
        """Latitude and longitude of points on the plane, shape (k, 2) [degrees]."""
        lon, lat = self._degrees.transform(points_m[:, 0], points_m[:, 1])
        lon = np.mod(np.asarray(lon) + 180.0, 360.0) - 180.0
        return np.column_stack([lat, lon])

    def to_plane(self, degrees: Floats) -> Floats:
        """East and north of latitudes and longitudes, shape (k, 2) [m]."""
        lat, lon = degrees[:, 0], degrees[:, 1]
        near = self.lon0_deg + (np.mod(lon - self.lon0_deg + 180.0, 360.0) - 180.0)
        east, north = self._degrees.transform(near, lat, direction="INVERSE")
        return np.column_stack([east, north])

    def gate(self, station_m: float, left_m: float = 0.0, right_m: float = 0.0) -> Floats:
        """Ends of a line square to the track, left end first, shape (2, 2) [m]."""
        left_m, right_m = left_m or self.reach_m, right_m or self.reach_m
        return self.place(np.array([station_m, station_m]), np.array([left_m, -right_m]))

    @cached_property
    def gates(self) -> tuple[Floats, ...]:
        """
        The start/finish line, then the sector lines, each as `gate` gives it [m].

        The start/finish line reaches across the pit lane.
        """
        reach = {1.0: self.reach_m, -1.0: self.reach_m}
        if self.pit is not None:
            reach[float(np.sign(self.pit.offset_m))] = abs(self.pit.offset_m) + 5.0
        start = self.gate(0.0, reach[1.0], reach[-1.0])
        return (start, *(self.gate(s) for s in self.sector_stations_m))

    @cached_property
    def gates_deg(self) -> tuple[list[list[float]], ...]:
        """The same lines as [[lat, lon], [lat, lon]], left end first [degrees]."""
        return tuple(self.to_degrees(g).tolist() for g in self.gates)
