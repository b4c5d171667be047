"""Plan views of the page: the whole circuit, or one corner, in units of about a pixel."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Track
from lapwright.report.html.figure import Curve, nice_step, path
from lapwright.report.two_laps import TwoLaps
from lapwright.units import Units

Floats = npt.NDArray[np.float64]

_MARGIN = 26.0
# A number stands so far from the line, towards the inside of its corner.
_NUMBER_AWAY = 15.0


@dataclass(frozen=True, slots=True)
class Place:
    """A place on a plan with what stands there."""

    kind: str
    role: str
    x: float
    y: float
    text: str = ""
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Plan:
    """
    One plan view.

    Attributes
    ----------
    label : str
        What it shows, in words.
    width, height : float
        Of the picture.
    scale, east_m, north_m : float
        Picture units a metre, and the place of its upper left corner; for the script.
    curves : tuple of Curve
    places : tuple of Place
    bar : float
        Length of the scale bar in picture units.
    bar_text : str
    """

    label: str
    width: float
    height: float
    scale: float
    east_m: float
    north_m: float
    curves: tuple[Curve, ...]
    places: tuple[Place, ...]
    bar: float
    bar_text: str


def circuit_plan(material: TwoLaps, units: Units) -> Plan:
    """Plan of the whole circuit with its line, sector lines and corner numbers."""
    return track_plan(material.track, units)


def track_plan(track: Track, units: Units) -> Plan:
    """
    Draw the plan of a circuit, whoever drove there.

    Parameters
    ----------
    track : Track
        With a path.
    units : Units

    Returns
    -------
    Plan
    """
    assert track.path is not None
    s = np.linspace(0.0, track.length_m, max(round(track.length_m / 4.0), 60))
    point = track.path.at(s)
    points = np.stack([point.east_m, point.north_m], axis=-1)
    frame = _Frame(points, 460.0, 420.0, units)
    places = []
    for number, gate in enumerate((track.start_finish, *track.sectors)):
        turn = float(np.degrees(np.arctan2(-gate.along[1], gate.along[0])))
        x, y = frame.xy(np.array(gate.centre_m))
        kind, text = ("line", "start/finish line") if number == 0 else ("sector", f"line {number}")
        places.append(Place(kind, "", x, y, text, turn))
    for corner in track.corners:
        apex = track.path.at(np.mod(corner.apex_m, track.length_m))
        side = 1.0 if corner.direction == "left" else -1.0
        heading = float(apex.heading_rad)
        x, y = frame.xy(np.array([float(apex.east_m), float(apex.north_m)]))
        x -= _NUMBER_AWAY * side * np.sin(heading)
        y -= _NUMBER_AWAY * side * np.cos(heading)
        places.append(Place("number", "", x, y, str(corner.order)))
    places += _arrows(track, frame)
    label = f"Plan of {track.name or 'the circuit'} with numbered corners"
    return frame.plan(label, (Curve("road", frame.path(points)),), tuple(places))


def corner_plan(
    material: TwoLaps, laps: "list[tuple[int, str]]", window: tuple[float, float],
    marks: "list[tuple[str, str, float, str]]", label: str, units: Units,
) -> Plan:  # fmt: skip
    """
    Plan of one corner with the lines driven and marked places on them.

    Parameters
    ----------
    material : TwoLaps
    laps : list of (int, str)
        Lap and role, in drawing order.
    window : (float, float)
        Stations at the ends. [m]
    marks : list of (kind, role, station_m, text)
    label : str
    units : Units

    Returns
    -------
    Plan
    """
    s = np.linspace(*window, max(round((window[1] - window[0]) / 3.0), 20))
    lines = {
        role: np.stack(
            [material.traces[lap].at_station(f"{c}_m", s) for c in ("east", "north")], axis=-1
        )
        for lap, role in laps
    }
    frame = _Frame(np.concatenate(list(lines.values())), 260.0, 250.0, units)
    places = []
    for kind, role, station, text in marks:
        if role in lines and window[0] <= station <= window[1]:
            at = np.array([np.interp(station, s, lines[role][:, k]) for k in (0, 1)])
            x, y = frame.xy(at)
            places.append(Place(kind, role, x, y, text))
    curves = tuple(Curve(role, frame.path(points)) for role, points in lines.items())
    return frame.plan(label, curves, tuple(places))


class _Frame:
    """From metres to a picture that holds some points, north up."""

    def __init__(self, points: Floats, width: float, tallest: float, units: Units) -> None:
        low, high = points.min(axis=0), points.max(axis=0)
        size = np.maximum(high - low, 1.0)
        self.scale = float(
            min((width - 2.0 * _MARGIN) / size[0], (tallest - 2.0 * _MARGIN) / size[1])
        )
        self.width, self.units = width, units
        self.height = float(self.scale * size[1] + 2.0 * _MARGIN)
        spare = 0.5 * (width - 2.0 * _MARGIN - self.scale * size[0])
        self.east_m = float(low[0] - (_MARGIN + spare) / self.scale)
        self.north_m = float(high[1] + _MARGIN / self.scale)

    def xy(self, point_m: Floats) -> tuple[float, float]:
        """Place in the picture."""
        x = self.scale * (point_m[0] - self.east_m)
        return float(x), float(self.scale * (self.north_m - point_m[1]))

    def path(self, points: Floats) -> str:
        """Path in tenths of a unit, which the template scales back."""
        x = 10.0 * self.scale * (points[:, 0] - self.east_m)
        return path(x, 10.0 * self.scale * (self.north_m - points[:, 1]))

    def plan(self, label: str, curves: tuple[Curve, ...], places: tuple[Place, ...]) -> Plan:
        """Put it together with a scale bar."""
        per_unit = self.scale / self.units.distance_of(1.0)
        length = nice_step(0.35 * self.width / per_unit, 1) / 2.0
        return Plan(
            label, self.width, self.height + 16.0, self.scale, self.east_m, self.north_m, curves,
            places, length * per_unit, f"{length:.0f} {self.units.distance}",
        )  # fmt: skip


def _arrows(track: Track, frame: _Frame) -> list[Place]:
    """Which way it is driven."""
    path_ = track.path
    assert path_ is not None
    out = []
    for station in (np.arange(5) + 0.35) / 5.0 * track.length_m:
        point = path_.at(station)
        x, y = frame.xy(np.array([float(point.east_m), float(point.north_m)]))
        out.append(Place("arrow", "", x, y, "", float(-np.degrees(point.heading_rad))))
    return out
