"""
`Track`: a circuit as a value, and ways to change it.

A track never changes; every method gives back a new one.  What it is made of is in
`lapwright.geometry.circuit`, what finds one in a log in `lapwright.discovery`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapwright.arguments import checked
from lapwright.geometry.cornered_circuit import CorneredCircuit
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import gate_at, path_crossings
from lapwright.geometry.other_plane import carried_track
from lapwright.geometry.places import LatLon, convergence_rad, near_point_m
from lapwright.plane import Plane

Floats = NDArray[np.float64]
# A usual width for a line drawn across a circuit and its verges. [m]
GATE_WIDTH_M = 25.0


@dataclass(frozen=True, eq=False)
class Track(CorneredCircuit):
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
        If the name is no text, the path does not cross a line or crosses the start/finish line
        backwards, two lines are at one place, or the pit lane has fewer than two points.

    Examples
    --------
    >>> import lapwright as lw
    >>> track = lw.discover_track(lw.read_log("sample_sessions/saturday_qualifying.gpx")).track
    >>> f"{track.length_m:.0f} m", track.direction, len(track.corners)
    ('3109 m', 'clockwise', 10)
    """

    @checked
    def renamed(self, name: str) -> "Track":
        """
        Return the track under another name.

        Parameters
        ----------
        name : str

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If the name is no text.

        Examples
        --------
        >>> session.track.renamed("Wren Hollow short").name
        'Wren Hollow short'
        """
        return replace(self, name=name)

    @checked
    def with_start_line(self, left_deg: LatLon, right_deg: LatLon) -> "Track":
        """
        Return the track with another start/finish line, from two points.

        Parameters
        ----------
        left_deg, right_deg : (float, float)
            Latitude and longitude of the ends, left end first as the driver sees
            them. Where the path is known it decides, and they may be swapped. [deg]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If a point is not near the track, or the path does not cross the line.

        Examples
        --------
        >>> left, right = session.track.start_finish_deg
        >>> moved = session.track.with_start_line(right, left)  # swapped: the path decides
        >>> north_m = [line.start_finish.left_m[1] for line in (moved, session.track)]
        >>> round(north_m[0], 3) == round(north_m[1], 3)
        True
        """
        return self._with_line(
            Gate(near_point_m(self.plane, left_deg), near_point_m(self.plane, right_deg))
        )

    @checked
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

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If a number is not one of degrees near the track, or the path does not cross the line.

        Examples
        --------
        >>> middle_deg = session.track.plane.point_deg(session.track.start_finish.centre_m)
        >>> moved = session.track.with_start_line_at(*middle_deg, 90.0, width_m=20.0)
        >>> round(moved.start_finish.width_m, 3)
        20.0
        """
        centre = near_point_m(self.plane, (lat_deg, lon_deg))
        if not np.isfinite(heading_deg):
            msg = f"the heading must be a number of degrees, not {heading_deg}"
            raise ValueError(msg)
        heading = np.radians(90.0 - heading_deg) + convergence_rad(self.plane, centre)
        return self._with_line(Gate.across(centre, float(heading), width_m))

    @checked
    def with_start_line_at_station(
        self, station_m: float, width_m: float = GATE_WIDTH_M
    ) -> "Track":
        """
        Return the track with the start/finish line square to the path at a station.

        Parameters
        ----------
        station_m, width_m : float
            [m]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If the track has no path yet, or the station is no number.

        Examples
        --------
        >>> moved = session.track.with_start_line_at_station(500.0)
        >>> round(moved.length_m) == round(session.track.length_m)
        True
        """
        return self._with_line(self._gate_at(station_m, width_m))

    @checked
    def with_sectors(self, lines_deg: Sequence[tuple[LatLon, LatLon]]) -> "Track":
        """
        Return the track with other sector lines; none for an empty list.

        Parameters
        ----------
        lines_deg : sequence of ((lat, lon), (lat, lon))
            Left and right end of each, as the driver sees them. Where the path is
            known it decides, and ends and order may be mixed up. [deg]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If a point is not near the track, or the path does not cross a line.

        Examples
        --------
        >>> session.track.with_sectors([]).sectors
        ()
        """
        gates = [
            Gate(near_point_m(self.plane, a), near_point_m(self.plane, b)) for a, b in lines_deg
        ]
        return replace(self, sectors=tuple(self._facing(gate) for gate in gates))

    @checked
    def with_sector_at(self, station_m: float, width_m: float = GATE_WIDTH_M) -> "Track":
        """
        Return the track with one more sector line, square to the path at a station.

        Parameters
        ----------
        station_m, width_m : float
            [m]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If the track has no path yet, the station is no number, or a line is there already.

        Examples
        --------
        >>> len(session.track.with_sectors([]).with_sector_at(1000.0).sectors)
        1
        """
        return replace(self, sectors=(*self.sectors, self._gate_at(station_m, width_m)))

    @checked
    def with_pit_lane(self, lat_deg: Floats | None, lon_deg: Floats | None = None) -> "Track":
        """
        Return the track with a pit lane in driving direction, or without one [deg].

        Parameters
        ----------
        lat_deg, lon_deg : ndarray, shape (k,), or None
            In driving direction. [deg]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If there are fewer than two points.

        Examples
        --------
        >>> session.track.with_pit_lane(None).pit_lane is None
        True
        """
        if lat_deg is None or lon_deg is None:
            return replace(self, pit_lane=None)
        return replace(self, pit_lane=np.stack(self.plane.to_metres(lat_deg, lon_deg), axis=1))

    @checked
    def on_plane(self, plane: Plane) -> "Track":
        """
        Return the same circuit on another plane, such as one at the true height.

        Parameters
        ----------
        plane : Plane

        Returns
        -------
        Track

        Examples
        --------
        >>> plane = lw.Plane(session.track.plane.lat0_deg, session.track.plane.lon0_deg, 500.0)
        >>> higher = session.track.on_plane(plane)
        >>> higher.length_m > session.track.length_m
        True
        """
        return self if plane == self.plane else carried_track(self, plane)

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
