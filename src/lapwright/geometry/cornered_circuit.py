"""
`CorneredCircuit`: a circuit and ways to change its path and its corners.

The middle of a `lapwright.Track`, which adds how its lines are changed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Self

from lapwright.arguments import checked
from lapwright.geometry.circuit import Circuit
from lapwright.geometry.corner import Corner
from lapwright.geometry.corner_at import new_corner
from lapwright.geometry.corner_list import (
    added,
    find,
    merged,
    named,
    named_by_marks,
    ordered,
    split,
    with_run_ups,
    without_marks,
)
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.places import LatLon, near_point_m


@dataclass(frozen=True, eq=False)
class CorneredCircuit(Circuit):
    """A circuit as a value; its attributes are those of a `lapwright.Track`."""

    @checked
    def with_path(
        self,
        path: ReferencePath,
        corners: Sequence[Corner] = (),
        length_sd_m: float | None = None,
    ) -> Self:
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

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If the path does not cross a line, or crosses the start/finish line backwards.

        Examples
        --------
        >>> bare = lw.Track("Home", session.track.plane, session.track.start_finish)
        >>> len(bare.with_path(session.path, session.track.corners).corners)
        10
        """
        track = replace(self, path=path, corners=tuple(corners), length_sd_m=length_sd_m)
        return track.with_corners(track.corners)

    @checked
    def with_corners(self, corners: Sequence[Corner]) -> Self:
        """
        Return the track with other corners; those near a file's marks get the marks' names.

        Parameters
        ----------
        corners : sequence of Corner

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If the track has no path yet.

        Examples
        --------
        >>> len(session.track.with_corners(session.track.corners[:3]).corners)
        3
        """
        path = self._known_path()
        inside = ordered(corners, path.length_m)
        return replace(self, corners=named_by_marks(inside, self.corner_marks, path))

    @checked
    def with_run_ups(self, run_ups_m: Sequence[float]) -> Self:
        """
        Return the track with how far before each corner's entry cars usually slow for it.

        Parameters
        ----------
        run_ups_m : sequence of float
            One for each corner, 0 or more. [m]

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If there is not one for each corner, or one is below zero.

        Examples
        --------
        >>> track = session.track
        >>> track.with_run_ups([30.0] * len(track.corners)).corners[0].run_up_m
        30.0
        """
        return replace(self, corners=with_run_ups(self.corners, run_ups_m))

    @checked
    def with_corner_names(self, names: Mapping[int, str] | Sequence[str]) -> Self:
        """
        Return the track with names by corner number, or a list with one name for each.

        Parameters
        ----------
        names : mapping of int to str, or sequence of str

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If a list has not one name for each, or there is no corner of a number.

        Examples
        --------
        >>> session.track.with_corner_names({1: "Weir"}).corners[0].name
        'Weir'
        """
        return replace(self, corners=named(self.corners, names))

    @checked
    def merge_corners(self, first: int, last: int, name: str | None = None) -> Self:
        """
        Return the track in which the corners from one number to another are one.

        Parameters
        ----------
        first, last : int
            Their numbers; from a higher to a lower one the way goes across the
            start/finish line.
        name : str, optional
            Without it the first of their own names that is more than a number.

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If there is no corner of a number, or both are the same.

        Examples
        --------
        >>> len(session.track.merge_corners(1, 2).corners) - len(session.track.corners)
        -1
        """
        corners = merged(self.corners, first, last, name, self._known_path())
        return replace(self, corners=corners)

    @checked
    def split_corner(self, order: int, station_m: float, names: Sequence[str] = ("", "")) -> Self:
        """
        Return the track in which one corner is two, cut at a station.

        Parameters
        ----------
        order : int
            Its number.
        station_m : float
            Within it. [m]
        names : sequence of str
            Of the two, in driving order.

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If there is no such corner, the station is not within it, or the names are not two.

        Examples
        --------
        >>> first = session.track.corners[0]
        >>> two = session.track.split_corner(1, (first.entry_m + first.exit_m) / 2.0, ("In", "Out"))
        >>> [corner.name for corner in two.corners[:2]]
        ['In', 'Out']
        """
        corners = split(self.corners, order, station_m, names, self._known_path())
        return replace(self, corners=corners)

    @checked
    def add_corner(
        self, name: str, entry_m: float | None = None, exit_m: float | None = None,
        apex_m: float | None = None, *, at: float | LatLon | None = None,
    ) -> Self:  # fmt: skip
        """
        Return the track with one more corner, numbered by where it lies; '' for no name.

        Parameters
        ----------
        name : str
        entry_m, exit_m : float, optional
            [m]
        apex_m : float, optional
            Where the path bends most, if not given. [m]
        at : float or (float, float), optional
            Instead of them one place, a station [m] or latitude and longitude [deg]: the rest is
            filled in from the path.

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If its exit is not after its entry, the apex is not within it, or another corner is
            there already.

        Examples
        --------
        >>> last = session.track.corners[-1]
        >>> more = session.track.add_corner("Kink", last.exit_m + 10.0, last.exit_m + 40.0)
        >>> more.corners[-1].name
        'Kink'
        """
        place = near_point_m(self.plane, at) if isinstance(at, tuple | list) else at
        extent = entry_m, exit_m, apex_m
        corner = new_corner(self._known_path(), self.corners, name, extent, place)
        return replace(self, corners=added(self.corners, corner, self.length_m))

    @checked
    def without_corner(self, order: int) -> Self:
        """
        Return the track without one of its corners.

        Parameters
        ----------
        order : int
            Its number.

        Returns
        -------
        Track

        Raises
        ------
        ValueError
            If there is no such corner.

        Examples
        --------
        >>> len(session.track.without_corner(1).corners) - len(session.track.corners)
        -1
        """
        gone = find(self.corners, order)
        kept = [corner for corner in self.corners if corner is not gone]
        # Its mark would have it found again.
        marks = without_marks(self.corner_marks, gone, self._known_path())
        return replace(self, corners=ordered(kept, self.length_m), corner_marks=marks)
