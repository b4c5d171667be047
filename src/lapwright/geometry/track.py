"""
`Track`: a circuit as a value - its lines, its closed path, its corners - and ways to change it.

A track never changes; every method gives back a new one.  Stations count from
where the path crosses the start/finish line, always: a track turns its path so
that this is station 0.  What finds a track in a log is in `lapwright.discovery`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lapwright.geometry.corner import Corner, CornerMark
from lapwright.geometry.corner_at import new_corner
from lapwright.geometry.corner_list import (
    added,
    find,
    marked,
    merged,
    named,
    named_by_marks,
    ordered,
    shifted,
    split,
    without_marks,
)
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import check_apart, gate_at, gate_station, path_crossings
from lapwright.geometry.other_plane import carried_track
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.places import LatLon, convergence_rad, line_of_points, near_point_m
from lapwright.plane import Plane

Floats = NDArray[np.float64]
Direction = Literal["clockwise", "anticlockwise"]
Source = Literal["file", "library", "discovered"]

# A usual width for a line drawn across a circuit and its verges. [m]
GATE_WIDTH_M = 25.0


@dataclass(frozen=True, eq=False)
class Track:
    """
    A circuit.

    Attributes
    ----------
    name : str
        What people call it; may be empty.
    plane : Plane
        The plane all metres are on.
    start_finish : Gate
        The start/finish line.
    sectors : tuple of Gate
        Sector lines in driving order, without the start/finish line.
    path : ReferencePath or None
        Station 0 is at the start/finish line. None in a file that has only lines.
    corners : tuple of Corner
        Numbered from the line.
    corner_marks : tuple of CornerMark
        Corners of which a file gives only apex and name.
    pit_lane : ndarray, shape (k, 2), or None
        East and north, in driving direction. [m]
    direction : {"clockwise", "anticlockwise"} or None
        From the path where there is one.
    length_sd_m : float or None
        Standard deviation of the path's length, where it is known. [m]
    source : {"file", "library", "discovered"}
        Where it comes from.
    other_features : tuple of dict
        Features of its file that say nothing of the circuit, to be written again.
    other_members : dict
        Top-level members of its file of that kind.

    Raises
    ------
    ValueError
        If the path does not cross the start/finish line, or crosses it backwards.

    Examples
    --------
    >>> import lapwright as lw
    >>> track = lw.discover_track(lw.read_log("sample_sessions/saturday_qualifying.gpx")).track
    >>> f"{track.length_m:.0f} m", track.direction, len(track.corners)
    ('3109 m', 'clockwise', 10)
    """

    name: str
    plane: Plane
    start_finish: Gate
    sectors: tuple[Gate, ...] = ()
    path: ReferencePath | None = None
    corners: tuple[Corner, ...] = ()
    corner_marks: tuple[CornerMark, ...] = ()
    pit_lane: Floats | None = None
    direction: Direction | None = None
    length_sd_m: float | None = None
    source: Source = "discovered"
    other_features: tuple[Mapping[str, Any], ...] = ()
    other_members: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        name: object = self.name
        if not isinstance(name, str):
            msg = f"a track's name is text, not {name!r}; put it in quotes"
            raise ValueError(msg)
        if self.direction not in (None, "clockwise", "anticlockwise"):
            msg = f"direction is 'clockwise' or 'anticlockwise', not {self.direction!r}"
            raise ValueError(msg)
        if self.pit_lane is not None:
            object.__setattr__(self, "pit_lane", line_of_points(self.pit_lane, "a pit lane"))
        if self.path is not None:
            self._turn_to_line(self.path)

    def _turn_to_line(self, path: ReferencePath) -> None:
        """Make the line station 0 and bring sectors and corners into order from there."""
        start = gate_station(path, self.start_finish, "the start/finish line")
        # A path that begins at the line already keeps its stations to the last digit.
        if min(start, path.length_m - start) > 1e-6:
            path = path.shifted(start)
            object.__setattr__(self, "path", path)
        else:
            start = 0.0
        stations = [
            gate_station(path, gate, f"sector line {number}")
            for number, gate in enumerate(self.sectors, start=1)
        ]
        order = np.argsort(stations, kind="stable")
        check_apart(np.array(stations), path.length_m)
        object.__setattr__(self, "sectors", tuple(self.sectors[i] for i in order))
        object.__setattr__(self, "corners", shifted(self.corners, start, path.length_m))
        object.__setattr__(self, "direction", path.direction)

    @property
    def length_m(self) -> float:
        """Length of one lap along the path; an error where there is no path [m]."""
        return self._known_path().length_m

    @cached_property
    def gate_stations_m(self) -> Floats:
        """Stations of the start/finish line (0) and the sector lines, shape (1 + sectors,) [m]."""
        path = self._known_path()
        stations = [gate_station(path, gate, "a sector line") for gate in self.sectors]
        return np.array([0.0, *stations])

    @cached_property
    def marks_without_corner(self) -> tuple[CornerMark, ...]:
        """Marks of a file at which there is no corner."""
        path = self._known_path()
        return tuple(m for m in self.corner_marks if marked(self.corners, m, path) is None)

    @property
    def start_finish_deg(self) -> tuple[LatLon, LatLon]:
        """Left and right end of the start/finish line: latitude, longitude [deg]."""
        return (
            self.plane.point_deg(self.start_finish.left_m),
            self.plane.point_deg(self.start_finish.right_m),
        )

    @property
    def sectors_deg(self) -> tuple[tuple[LatLon, LatLon], ...]:
        """Left and right end of each sector line: latitude, longitude [deg]."""
        point_deg = self.plane.point_deg
        return tuple((point_deg(gate.left_m), point_deg(gate.right_m)) for gate in self.sectors)

    def apex_deg(self, corner: Corner) -> LatLon:
        """Return latitude and longitude of the path at a corner's apex [deg]."""
        point = self._known_path().at(corner.apex_m)
        return self.plane.point_deg((float(point.east_m), float(point.north_m)))

    def renamed(self, name: str) -> "Track":
        """Return the track under another name."""
        return replace(self, name=name)

    def with_path(
        self,
        path: ReferencePath,
        corners: Sequence[Corner] = (),
        length_sd_m: float | None = None,
    ) -> "Track":
        """
        Return the track with a path, and corners on it.

        Parameters
        ----------
        path : ReferencePath
            In driving direction, station 0 anywhere.
        corners : sequence of Corner
            With stations as on the given path; they get the names of a file's marks.
        length_sd_m : float, optional
            Standard deviation of the path's length. [m]
        """
        track = replace(self, path=path, corners=tuple(corners), length_sd_m=length_sd_m)
        return track.with_corners(track.corners)

    def with_corners(self, corners: Sequence[Corner]) -> "Track":
        """Return the track with other corners; those near a file's marks get the marks' names."""
        path = self._known_path()
        inside = ordered(corners, path.length_m)
        return replace(self, corners=named_by_marks(inside, self.corner_marks, path))

    def with_corner_names(self, names: Mapping[int, str] | Sequence[str]) -> "Track":
        """Return the track with names by corner number, or a list with one name for each."""
        return replace(self, corners=named(self.corners, names))

    def merge_corners(self, first: int, last: int, name: str | None = None) -> "Track":
        """
        Return the track in which the corners from one number to another are one.

        Parameters
        ----------
        first, last : int
            Their numbers; from a higher to a lower one the way goes across the
            start/finish line.
        name : str, optional
            Without it the first of their own names that is more than a number.
        """
        corners = merged(self.corners, first, last, name, self._known_path())
        return replace(self, corners=corners)

    def split_corner(
        self, order: int, station_m: float, names: Sequence[str] = ("", "")
    ) -> "Track":
        """Return the track in which one corner is two, cut at a station."""
        corners = split(self.corners, order, station_m, names, self._known_path())
        return replace(self, corners=corners)

    def add_corner(
        self, name: str, entry_m: float | None = None, exit_m: float | None = None,
        apex_m: float | None = None, *, at: float | LatLon | None = None,
    ) -> "Track":  # fmt: skip
        """
        Return the track with one more corner, numbered by where it lies; '' for no name.

        From entry to exit; or `at` a station [m] or (lat, lon) [deg], the rest by the path.
        """
        place = near_point_m(self.plane, at) if isinstance(at, tuple | list) else at
        extent = entry_m, exit_m, apex_m
        corner = new_corner(self._known_path(), self.corners, name, extent, place)
        return replace(self, corners=added(self.corners, corner, self.length_m))

    def without_corner(self, order: int) -> "Track":
        """Return the track without one of its corners."""
        gone = find(self.corners, order)
        kept = [corner for corner in self.corners if corner is not gone]
        # Its mark would have it found again.
        marks = without_marks(self.corner_marks, gone, self._known_path())
        return replace(self, corners=ordered(kept, self.length_m), corner_marks=marks)

    def with_start_line(self, left_deg: LatLon, right_deg: LatLon) -> "Track":
        """
        Return the track with another start/finish line, from two points.

        Parameters
        ----------
        left_deg, right_deg : (float, float)
            Latitude and longitude of the ends, left end first as the driver sees
            them. Where the path is known it decides, and they may be swapped. [deg]
        """
        return self._with_line(
            Gate(near_point_m(self.plane, left_deg), near_point_m(self.plane, right_deg))
        )

    def with_start_line_at(
        self,
        lat_deg: float,
        lon_deg: float,
        heading_deg: float,
        width_m: float = GATE_WIDTH_M,
    ) -> "Track":
        """
        Return the track with another start/finish line, from its middle and a heading.

        Parameters
        ----------
        lat_deg, lon_deg : float
            The middle of the line. [deg]
        heading_deg : float
            Driving direction, clockwise from north as on a compass. [deg]
        width_m : float
            Length of the line. [m]
        """
        centre = near_point_m(self.plane, (lat_deg, lon_deg))
        if not np.isfinite(heading_deg):
            msg = f"the heading must be a number of degrees, not {heading_deg}"
            raise ValueError(msg)
        heading = np.radians(90.0 - heading_deg) + convergence_rad(self.plane, centre)
        return self._with_line(Gate.across(centre, float(heading), width_m))

    def with_start_line_at_station(
        self, station_m: float, width_m: float = GATE_WIDTH_M
    ) -> "Track":
        """Return the track with the start/finish line square to the path at a station."""
        return self._with_line(self._gate_at(station_m, width_m))

    def with_sectors(self, lines_deg: Sequence[tuple[LatLon, LatLon]]) -> "Track":
        """
        Return the track with other sector lines; none for an empty list.

        Parameters
        ----------
        lines_deg : sequence of ((lat, lon), (lat, lon))
            Left and right end of each, as the driver sees them. Where the path is
            known it decides, and ends and order may be mixed up. [deg]
        """
        gates = [
            Gate(near_point_m(self.plane, a), near_point_m(self.plane, b)) for a, b in lines_deg
        ]
        return replace(self, sectors=tuple(self._facing(gate) for gate in gates))

    def with_sector_at(self, station_m: float, width_m: float = GATE_WIDTH_M) -> "Track":
        """Return the track with one more sector line, square to the path at a station."""
        return replace(self, sectors=(*self.sectors, self._gate_at(station_m, width_m)))

    def with_pit_lane(self, lat_deg: Floats | None, lon_deg: Floats | None = None) -> "Track":
        """Return the track with a pit lane in driving direction, or without one [deg]."""
        if lat_deg is None or lon_deg is None:
            return replace(self, pit_lane=None)
        return replace(self, pit_lane=np.stack(self.plane.to_metres(lat_deg, lon_deg), axis=1))

    def on_plane(self, plane: Plane) -> "Track":
        """Return the same circuit on another plane, such as one at the true height."""
        return self if plane == self.plane else carried_track(self, plane)

    def _known_path(self) -> ReferencePath:
        if self.path is None:
            msg = "the track has no path yet; complete it from a log"
            raise ValueError(msg)
        return self.path

    def _with_line(self, gate: Gate) -> "Track":
        return replace(self, start_finish=self._facing(gate))

    def _facing(self, gate: Gate) -> Gate:
        """Turn a gate to the way the path crosses it, where there is a path that does."""
        if self.path is None:
            return gate
        found = path_crossings(self.path, gate)
        if not len(found.station_m):
            return gate
        nearest = np.argmin(np.abs(found.offset_m))
        return gate if found.forward[nearest] else gate.reversed()

    def _gate_at(self, station_m: float, width_m: float) -> Gate:
        return gate_at(self._known_path(), station_m, width_m)
