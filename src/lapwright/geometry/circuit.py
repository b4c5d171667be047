"""
`Circuit`: what a track is - its lines, its closed path, its corners - and what follows from them.

Stations count from where the path crosses the start/finish line, always: a circuit turns its path
so that this is station 0.  Ways to change it are in `lapwright.geometry.track`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lapwright.arguments import checked
from lapwright.errors import shown
from lapwright.geometry.corner import Corner, CornerMark
from lapwright.geometry.corner_list import marked, shifted
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import check_apart, gate_station
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.places import LatLon, line_of_points
from lapwright.plane import Plane

Floats = NDArray[np.float64]
Direction = Literal["clockwise", "anticlockwise"]
Source = Literal["file", "library", "discovered"]


@dataclass(frozen=True, eq=False)
class Circuit:
    """A circuit as a value; its attributes are those of a `lapwright.Track`."""

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
            msg = f"a track's name is text, not {shown(name)}; put it in quotes"
            raise ValueError(msg)
        if self.direction not in (None, "clockwise", "anticlockwise"):
            msg = f"direction is 'clockwise' or 'anticlockwise', not {shown(self.direction)}"
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
        """
        Length of one lap along the path; an error where there is no path [m].

        Raises
        ------
        ValueError
            If the track has no path yet.

        Examples
        --------
        >>> f"{session.track.length_m:.0f} m"
        '3108 m'
        """
        return self._known_path().length_m

    @cached_property
    def gate_stations_m(self) -> Floats:
        """
        Stations of the start/finish line (0) and the sector lines, shape (1 + sectors,) [m].

        Raises
        ------
        ValueError
            If the track has no path yet, or it does not cross a line.

        Examples
        --------
        >>> len(session.track.gate_stations_m) == 1 + len(session.track.sectors)
        True
        """
        path = self._known_path()
        stations = [gate_station(path, gate, "a sector line") for gate in self.sectors]
        return np.array([0.0, *stations])

    @cached_property
    def marks_without_corner(self) -> tuple[CornerMark, ...]:
        """
        Marks of a file at which there is no corner.

        Raises
        ------
        ValueError
            If the track has no path yet.

        Examples
        --------
        >>> session.track.marks_without_corner
        ()
        """
        path = self._known_path()
        return tuple(m for m in self.corner_marks if marked(self.corners, m, path) is None)

    @property
    def start_finish_deg(self) -> tuple[LatLon, LatLon]:
        """
        Left and right end of the start/finish line: latitude, longitude [deg].

        Examples
        --------
        >>> left, right = session.track.start_finish_deg
        >>> [round(degrees, 3) for degrees in left]
        [-42.998, 144.0]
        """
        return (
            self.plane.point_deg(self.start_finish.left_m),
            self.plane.point_deg(self.start_finish.right_m),
        )

    @property
    def sectors_deg(self) -> tuple[tuple[LatLon, LatLon], ...]:
        """
        Left and right end of each sector line: latitude, longitude [deg].

        Examples
        --------
        >>> len(session.track.sectors_deg) == len(session.track.sectors)
        True
        """
        point_deg = self.plane.point_deg
        return tuple((point_deg(gate.left_m), point_deg(gate.right_m)) for gate in self.sectors)

    @checked
    def apex_deg(self, corner: Corner) -> LatLon:
        """
        Return latitude and longitude of the path at a corner's apex [deg].

        Parameters
        ----------
        corner : Corner

        Returns
        -------
        (float, float)
            [deg]

        Raises
        ------
        ValueError
            If the track has no path yet.

        Examples
        --------
        >>> [round(degrees, 3) for degrees in session.track.apex_deg(session.track.corners[0])]
        [-42.998, 144.004]
        """
        point = self._known_path().at(corner.apex_m)
        return self.plane.point_deg((float(point.east_m), float(point.north_m)))

    def _known_path(self) -> ReferencePath:
        if self.path is None:
            msg = "the track has no path yet; complete it from a log"
            raise ValueError(msg)
        return self.path
