"""
`Circuit`: an invented circuit with everything that is exactly known about it.

A circuit is a closed centre line on a plane of its own, a width, a pit lane,
a start/finish line and sector lines.  Places on it are given as station
(metres along the centre line from the start/finish line) and offset (metres
to the left of it).  The plane is a transverse Mercator with the scale of the
ground's height, made here and not borrowed: what is tested against this truth
shares nothing with it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pyproj
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from lapwright.simulate import shapes

Floats = npt.NDArray[np.float64]

EARTH_RADIUS_M = 6_371_008.77  # mean radius (2a + b)/3 of WGS 84, NIMA TR8350.2

# How far ahead the usual line looks for room. [m]
LINE_REACH_M = 28.0


class Bend(NamedTuple):
    """A corner of the usual line: begin, tightest point and end, and how far it turns."""

    order: int
    direction: str
    entry_m: float
    apex_m: float
    exit_m: float
    radius_m: float
    turn_deg: float


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
    def _spline(self) -> CubicSpline:
        points = np.column_stack([self.east_m, self.north_m])
        knots = np.arange(len(points) + 1) * self.length_m / len(points)
        return CubicSpline(knots, np.vstack([points, points[:1]]), bc_type="periodic")

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
        room = max(self.half_width_m - 1.2, 0.1)
        around = maximum_filter1d(np.abs(offset), 241, mode="wrap")
        scale = gaussian_filter1d(room / np.maximum(room, around), 45.0, mode="wrap")
        return station, offset * scale

    @cached_property
    def bends(self) -> tuple[Bend, ...]:
        """The corners of the usual line: radius under 250 m and more than 12 degrees of turn."""
        return find_bends(*self._usual_curvature(), self.length_m)

    def _usual_curvature(self) -> tuple[Floats, Floats]:
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


def find_bends(station_m: Floats, curvature_per_m: Floats, length_m: float) -> tuple[Bend, ...]:
    """
    Corners of a closed line from its curvature.

    A corner is a stretch that bends to one side with a radius under 250 m; it is cut
    in two where the curvature falls below half of the lower of two peaks.  Stretches
    that turn less than 12 degrees are no corners.
    """
    step = length_m / len(station_m)
    tight = np.abs(curvature_per_m) > 1 / 250
    side = np.where(tight, np.sign(curvature_per_m), 0.0)
    quiet = np.flatnonzero(~tight)
    if len(quiet) == 0:
        return ()
    roll = int(quiet[0])
    side, kappa = np.roll(side, -roll), np.roll(np.abs(curvature_per_m), -roll)
    edges = np.flatnonzero(np.diff(np.r_[0.0, side, 0.0]) != 0)
    pieces: list[tuple[int, int]] = []
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        if side[a] != 0:
            pieces += _cut(kappa, a, b)
    found = []
    for a, b in pieces:
        turn = float(np.degrees(np.sum(kappa[a:b]) * step))
        if turn < 12:
            continue
        apex = a + int(np.argmax(kappa[a:b]))
        at = [float((roll + k) * step % length_m) for k in (a, apex, b)]
        found.append((at, "left" if side[apex] > 0 else "right", float(1 / kappa[apex]), turn))
    found.sort(key=lambda f: f[0][1])
    return tuple(
        Bend(i + 1, direction, at[0], at[1], at[2], radius, turn)
        for i, (at, direction, radius, turn) in enumerate(found)
    )


def _cut(kappa: Floats, a: int, b: int) -> list[tuple[int, int]]:
    """Split [a, b) at the deepest hollow between two peaks, again and again."""
    inside = kappa[a:b]
    before, after = np.maximum.accumulate(inside), np.maximum.accumulate(inside[::-1])[::-1]
    depth = inside / np.minimum(before, after)
    k = int(np.argmin(depth))
    if depth[k] > 0.5 or k < 8 or b - a - k < 8:
        return [(a, b)]
    return _cut(kappa, a, a + k) + _cut(kappa, a + k, b)


def from_arrays(
    name: str,
    east_m: Floats,
    north_m: Floats,
    *,
    half_width_m: float = 5.0,
    reach_m: float = 10.0,
    smooth_sd_m: float = 0.0,
    start_m: float | None = None,
    place: tuple[float, float, float] = (-41.0, 172.0, 0.0),
    pit: bool = True,
    box_m: float = -45.0,
    pit_side: str = "right",
) -> Circuit:
    """
    Make a circuit of a closed centre line.

    Parameters
    ----------
    name : str
    east_m, north_m : ndarray, shape (n,)
        Closed, in driving order, the first vertex not repeated, any spacing up to
        some 10 m. [m]
    half_width_m, reach_m : float
        From the centre line to either edge, and to the ends of the lines. [m]
    smooth_sd_m : float
        Gaussian smoothing along the line, for lines drawn by hand. [m]
    start_m : float or None
        Where the start/finish line lies, metres from the first vertex; None puts it on
        the longest straight. [m]
    place : (lat, lon, height)
        Where on earth the middle of the circuit lies. [degrees, m]
    pit : bool
        Whether there is a pit lane beside the straight that holds the line.
    box_m : float
        Station of the box, negative before the line. [m]
    pit_side : {"left", "right"}
        The side of the track on which the pit lane lies.

    Returns
    -------
    circuit : Circuit
        With two sector lines at a third and two thirds of the lap, moved to the
        nearest quiet place.
    """
    if pit_side not in ("left", "right"):
        msg = f"pit_side must be 'left' or 'right', not {pit_side!r}"
        raise ValueError(msg)
    east, north = shapes.even(np.asarray(east_m, float), np.asarray(north_m, float))
    if smooth_sd_m > 0:
        east, north = shapes.smoothed(east, north, smooth_sd_m)
    east, north = east - east.mean(), north - north.mean()
    curvature = np.abs(Circuit(name, east, north)._usual_curvature()[1])
    first, before_m, after_m = _straight(curvature, start_m)
    east, north, curvature = (np.roll(a, -first) for a in (east, north, curvature))
    lane = None
    if pit:
        reach = half_width_m + 9.0
        lane = PitLane(
            entry_m=-max(before_m, abs(box_m) + 110.0, 160.0),
            exit_m=max(after_m, abs(box_m) + 110.0, 160.0),
            offset_m=-reach if pit_side == "right" else reach,
            box_m=box_m,
        )
    return Circuit(
        name=name,
        east_m=east,
        north_m=north,
        half_width_m=half_width_m,
        lat0_deg=place[0],
        lon0_deg=place[1],
        height_m=place[2],
        sector_stations_m=_sector_stations(curvature),
        pit=lane,
        reach_m=reach_m,
    )


def _straight(curvature_abs: Floats, start_m: float | None) -> tuple[int, float, float]:
    """Index of the line and how many metres (vertices) are straight before and after it."""
    count = len(curvature_abs)
    quiet = np.tile(curvature_abs < 1 / 400, 3)
    edges = np.flatnonzero(np.diff(np.r_[False, quiet, False].astype(int)))
    begins, ends = edges[::2], edges[1::2]
    if len(begins) == 0 or start_m is not None or ends[0] - begins[0] == 3 * count:
        first = round(start_m or 0.0) % count
        around = [(b, e) for b, e in zip(begins, ends, strict=True) if b <= first + count < e]
        if not around:
            return first, 0.0, 0.0
        return (
            first,
            min(400.0, first + count - around[0][0]),
            min(400.0, around[0][1] - first - count),
        )
    longest = int(np.argmax(np.where(begins < 2 * count, ends - begins, 0)))
    size = int(ends[longest] - begins[longest])
    line = int(begins[longest]) + round(0.45 * size)
    return line % count, min(400.0, 0.45 * size), min(400.0, 0.55 * size)


def _sector_stations(curvature_abs: Floats) -> tuple[float, ...]:
    """A third and two thirds of the lap, each moved to where its neighbourhood bends least."""
    count = len(curvature_abs)
    around = np.convolve(np.tile(curvature_abs, 3), np.ones(61) / 61, "same")[count : 2 * count]
    found = []
    for third in (1, 2):
        near = np.arange(round((third / 3 - 0.1) * count), round((third / 3 + 0.1) * count))
        found.append(float(near[int(np.argmin(around[near]))]))
    return tuple(found)


def invented(name: str | int) -> Circuit:
    """
    Make an invented circuit by name, or a random one by seed.

    Parameters
    ----------
    name : str or int
        ``"wren_hollow"``, the circuit of the sample sessions; the paper circuits
        ``"oval"``, ``"eight"`` (crosses over itself), ``"parallel"`` (two straights 8 m
        apart) and ``"circle"``; or an int, the seed of a random circuit.
    """
    if isinstance(name, int):
        rng = np.random.default_rng([7402, name])
        length = float(rng.uniform(1400, 4200))
        place = (
            float(rng.uniform(-50, 60)),
            float(rng.uniform(-179, 179)),
            float(rng.uniform(0, 600)),
        )
        return from_arrays(
            f"invented {name}",
            *shapes.random_shape(name, length),
            place=place,
            box_m=float(rng.choice([-45.0, 35.0])),
            pit_side=str(rng.choice(["left", "right"])),
        )
    paper: dict[str, Callable[[], tuple[Floats, Floats]]] = {
        "oval": shapes.clothoid_oval,
        "eight": shapes.figure_of_eight,
        "parallel": shapes.parallel_straights,
    }
    if name == "wren_hollow":
        return wren_hollow()
    if name == "circle":
        return from_arrays("circle", *shapes.circle(100.0), start_m=0.0, pit=False)
    if name not in paper:
        msg = (
            f"no circuit {name!r}; there are 'wren_hollow', 'circle', {', '.join(map(repr, paper))}"
        )
        raise ValueError(msg)
    if name == "parallel":
        return from_arrays(name, *paper[name](), half_width_m=3.5, reach_m=3.9)
    return from_arrays(name, *paper[name]())


def wren_hollow() -> Circuit:
    """
    Wren Hollow, the circuit of the sample sessions.

    It is invented: about 3 km, clockwise, with a hairpin, a chicane, two straights
    close together and a fast sweep, put in open farmland at a southern latitude.
    """
    corners = [
        (330.0, 0.0, 32.0),
        (372.0, -190.0, 45.0),
        (-150.0, -232.0, 12.5),
        (-150.0, -258.0, 12.5),
        (255.0, -240.0, 38.0),
        (300.0, -400.0, 55.0),
        (40.0, -415.0, 24.0),
        (8.0, -386.0, 24.0),
        (-400.0, -400.0, 150.0),
        (-560.0, -190.0, 110.0),
        (-430.0, 0.0, 48.0),
    ]
    east, north = shapes.rounded_polygon(corners, sd_m=7.0)
    return from_arrays(
        "Wren Hollow",
        east,
        north,
        half_width_m=5.0,
        place=(-43.0, 144.0, 85.0),
        box_m=-38.0,
    )
