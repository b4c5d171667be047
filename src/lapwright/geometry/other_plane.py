"""The same circuit on another plane, such as one at the true height."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lapwright.geometry.corner_list import scaled
from lapwright.geometry.gate import Gate
from lapwright.geometry.gate_stations import gate_station
from lapwright.geometry.path import ReferencePath
from lapwright.plane import Plane

if TYPE_CHECKING:
    from lapwright.geometry.track import Track

Floats = NDArray[np.float64]


def carried(old: Plane, new: Plane, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
    """Coordinates on another plane."""
    return new.to_metres(*old.to_degrees(east_m, north_m))


def carried_gate(old: Plane, new: Plane, gate: Gate) -> Gate:
    """Return the gate on another plane."""
    return Gate(new.point_m(old.point_deg(gate.left_m)), new.point_m(old.point_deg(gate.right_m)))


def carried_track(track: "Track", plane: Plane) -> "Track":
    """
    Return the track on another plane.

    Parameters
    ----------
    track : Track
    plane : Plane

    Returns
    -------
    Track
        Stations change with the path's length, by the scale of the one plane to the other.
    """
    old, path, pit_lane = track.plane, track.path, track.pit_lane
    line = carried_gate(old, plane, track.start_finish)
    scale = 1.0
    if path is not None:
        path = ReferencePath(*carried(old, plane, path.east_m, path.north_m))
        scale = path.length_m / track.length_m
        path = path.shifted(gate_station(path, line, "the start/finish line"))
    if pit_lane is not None:
        pit_lane = np.stack(carried(old, plane, *pit_lane.T), axis=1)
    return replace(
        track,
        plane=plane,
        start_finish=line,
        sectors=tuple(carried_gate(old, plane, gate) for gate in track.sectors),
        path=path,
        corners=scaled(track.corners, scale),
        corner_marks=tuple(
            replace(mark, apex_m=plane.point_m(old.point_deg(mark.apex_m)))
            for mark in track.corner_marks
        ),
        pit_lane=pit_lane,
    )
