"""
The track library: a folder of track files, and which of them a log was driven on.

A log belongs to a circuit when whole laps of it run along the circuit's path
from end to end, in its direction; a shorter variant that shares most of the
road fails at the link it leaves out, and the same road the other way fails by
its heading.  Nearness of the start line alone would confuse all three.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from lapwright.discovery.arrays import Floats
from lapwright.discovery.follow_ring import Along, follow_ring
from lapwright.discovery.reference import complete_track, line_passages
from lapwright.discovery.ring import Ring, ring_from_points
from lapwright.discovery.thin import Steps, Thinned, steps, thin
from lapwright.errors import TrackError
from lapwright.geometry.corner import Corner
from lapwright.geometry.corner_list import ordered
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.geometry.track_file import read_track, write_track
from lapwright.ingest.log import Log
from lapwright.plane import Plane

# A lap may leave the path for this long (a spin, an off, a hole in the log) and still be whole.
LEAVE_M = 150.0
# Circuits farther away than this are not looked at.
FAR_M = 20_000.0
CELL_M = 10.0


@dataclass(frozen=True, eq=False)
class Recognised:
    """
    The circuit of a log, out of the library.

    Attributes
    ----------
    track : Track
        In the direction driven, with ``source="library"``.
    file : Path
        The track file it came from.
    reversed : bool
        Whether the log drives it against the file's direction.
    laps : int
        Whole laps of the log along it.
    why : str
        One sentence: what was chosen and why.
    """

    track: Track
    file: Path
    reversed: bool
    laps: int
    why: str


@dataclass(frozen=True, slots=True)
class _Fit:
    """How well a trace fits a track in one direction: whole laps, their length, share on it."""

    laps: int
    distance_m: float
    share: float


def library_folder(folder: str | Path | None = None) -> Path:
    """Return the folder of track files: the given one, or the user's own data folder."""
    if folder is not None:
        return Path(folder)
    from platformdirs import user_data_path  # only the default needs it

    return user_data_path("lapwright", appauthor=False) / "tracks"


def library_files(folder: str | Path | None = None) -> tuple[Path, ...]:
    """Return the track files of the library, by name; none where there is no folder."""
    place = library_folder(folder)
    if not place.is_dir():
        return ()
    return tuple(sorted(p for p in place.iterdir() if p.suffix.lower() in (".geojson", ".json")))


def save_to_library(track: Track, folder: str | Path | None = None) -> Path:
    """
    Write a track into the library.

    Parameters
    ----------
    track : Track
        With a name, which gives the file its name.
    folder : str or Path, optional
        The library; else the user's own data folder. Made where it is missing.

    Returns
    -------
    Path
        The new file; a file that is there already is never replaced.
    """
    place = library_folder(folder)
    place.mkdir(parents=True, exist_ok=True)
    stem = re.sub(r"[^\w]+", "_", track.name.lower()).strip("_") or "track"
    file = place / f"{stem}.geojson"
    number = 2
    while file.exists():
        file = place / f"{stem}_{number}.geojson"
        number += 1
    write_track(track, file)
    return file


def recognise(log: Log, folder: str | Path | None = None) -> Recognised | None:
    """
    Find the circuit of a log in the library.

    Parameters
    ----------
    log : Log
        A log of any kind of driving.
    folder : str or Path, optional
        The library; else the user's own data folder.

    Returns
    -------
    Recognised or None
        None where no track of the library has a whole lap in the log. Files that
        are no track files are passed over.
    """
    files = library_files(folder)
    if not files or len(log.fixes) < 20:
        return None
    lat_deg, lon_deg = log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy()
    relative_deg = np.mod(lon_deg - lon_deg[0] + 180.0, 360.0) - 180.0
    plane = Plane(float(np.median(lat_deg)), float(lon_deg[0] + np.median(relative_deg)))
    trace = thin(log.fixes["time_s"].to_numpy(), *plane.to_metres(lat_deg, lon_deg))
    if len(trace.time_s) < 20:
        return None
    walk = steps(trace)
    fits = []
    for file, track in _near(files, plane):
        for backwards in (False, True):
            fit = _fit(track, plane, backwards, trace, walk)
            if fit.laps > 0:
                fits.append((fit, file, track, backwards))
    if not fits:
        return None
    # Most distance in whole laps wins; among equals what holds more of the log.
    fits.sort(key=lambda one: (one[0].distance_m, one[0].share), reverse=True)
    fit, file, track, backwards = fits[0]
    chosen = reversed_track(track) if backwards else track
    chosen = complete_track(replace(chosen, source="library"), log)
    return Recognised(chosen, file, backwards, fit.laps, _why(fits, len(files)))


def _why(fits: list[tuple[_Fit, Path, Track, bool]], looked_at: int) -> str:
    """One sentence on the choice."""
    fit, file, track, backwards = fits[0]
    name = track.name or file.stem
    way = " against its direction" if backwards else ""
    text = (
        f"{name!r} of the track library ({file.name}), driven{way}: "
        f"{fit.laps} whole lap{'s' if fit.laps != 1 else ''} of the log run along its path"
    )
    others = [
        f"{(other.name or path.stem)!r}{' reversed' if back else ''} "
        f"has {one.laps} whole lap{'s' if one.laps != 1 else ''}"
        for one, path, other, back in fits[1:4]
    ]
    if others:
        return f"{text}; {', '.join(others)}"
    return f"{text}; none of the other {looked_at - 1} has one" if looked_at > 1 else text


def _near(files: tuple[Path, ...], plane: Plane) -> Iterator[tuple[Path, Track]]:
    """Tracks whose start/finish line is not far from a plane's origin."""
    for file in files:
        try:
            track = read_track(file)
        except TrackError:
            continue
        east_m, north_m = plane.point_m(track.start_finish_deg[0])
        if np.hypot(east_m, north_m) < FAR_M:
            yield file, track


def _fit(track: Track, plane: Plane, backwards: bool, trace: Thinned, walk: Steps) -> _Fit:
    """Whole laps of a trace along a track, forwards or backwards."""
    moved = track.on_plane(plane)
    if moved.path is None:
        gate = moved.start_finish.reversed() if backwards else moved.start_finish
        at_s, _ = line_passages(gate, trace)
        laps_m = np.diff(np.interp(at_s, walk.time_s, walk.travelled_m))
        # Without a path only laps of equal length speak for it, and for half as much.
        alike = (
            laps_m[np.abs(laps_m / max(float(np.median(laps_m)), 1.0) - 1.0) < 0.03]
            if len(laps_m)
            else laps_m
        )
        return _Fit(len(alike), 0.5 * float(alike.sum()), 0.0)
    path = moved.path.reversed() if backwards else moved.path
    ring = _ring_of(path)
    along = follow_ring(ring, trace, walk)
    laps = _laps_from_end_to_end(ring, along)
    return _Fit(laps, laps * ring.length_m, float(along.on.mean()))


def _ring_of(path: ReferencePath) -> Ring:
    """Return a path as a ring of points from its station 0."""
    point = path.at(path.stations(2.0))
    return ring_from_points(point.east_m, point.north_m)


def _laps_from_end_to_end(ring: Ring, along: Along) -> int:
    """Count laps, from anywhere to the same place, in which every part of the ring is driven."""
    laps = 0
    for number in np.unique(along.stretch[along.on]):
        rows = along.station_m[along.stretch == number]
        laps += _whole(np.sort(rows), ring.length_m)
    return laps


def _whole(station_m: Floats, length_m: float) -> int:
    """Laps in ascending running stations, cut where a hole of over `LEAVE_M` is."""
    holes = np.flatnonzero(np.diff(station_m) > LEAVE_M)
    begin, end = np.r_[0, holes + 1], np.r_[holes, len(station_m) - 1]
    # 30 m short of a lap is one: the log began on the line.
    driven_m = station_m[end] - station_m[begin] + 30.0
    return int(np.floor(driven_m / length_m).sum())


def reversed_track(track: Track) -> Track:
    """
    Return a track driven the other way.

    Parameters
    ----------
    track : Track

    Returns
    -------
    Track
        Lines turned round, corners renumbered from the line (names that are more
        than a number stay with their corner), left and right changed over.
    """
    name = f"{track.name} (reversed)" if track.name else "reversed"
    pit_lane = None if track.pit_lane is None else track.pit_lane[::-1]
    turned = replace(
        track,
        name=name,
        start_finish=track.start_finish.reversed(),
        sectors=tuple(gate.reversed() for gate in track.sectors[::-1]),
        path=None,
        corners=(),
        pit_lane=pit_lane,
        direction=None,
    )
    if track.path is None:
        return turned
    length_m = track.path.length_m
    corners = [
        Corner(
            corner.order,
            corner.name,
            "left" if corner.direction == "right" else "right",
            length_m - corner.exit_m,
            length_m - corner.apex_m,
            length_m - corner.entry_m,
            corner.radius_m,
        )
        for corner in track.corners
    ]
    return replace(
        turned,
        path=track.path.reversed(),
        corners=ordered(corners, length_m),
        length_sd_m=track.length_sd_m,
    )
