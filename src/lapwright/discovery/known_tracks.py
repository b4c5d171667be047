"""
The track library: a folder of track files, and which of them a log was driven on.

A log belongs to a circuit when whole laps of it run along the circuit's path
from end to end, in its direction; a shorter variant that shares most of the
road fails at the link it leaves out, and the same road the other way fails by
its heading.  Nearness of the start line alone would confuse all three.
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from lapwright.discovery.arrays import Floats
from lapwright.discovery.follow_ring import Along, follow_ring
from lapwright.discovery.recurrence import SAME_LENGTH, SHORTEST_LAP_M
from lapwright.discovery.reference import complete_track, line_passages
from lapwright.discovery.reverse import reversed_track
from lapwright.discovery.ring import Ring, ring_from_points
from lapwright.discovery.thin import Steps, Thinned, steps, thin
from lapwright.discovery.track_folders import library_files, read_if_track
from lapwright.errors import TrackError
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.ingest.log import Log
from lapwright.plane import Plane

# A lap may leave the path for this long (a spin, an off, a hole in the log) and still be whole.
LEAVE_M = 150.0
# Circuits farther away than this are not looked at.
FAR_M = 20_000.0


@dataclass(frozen=True, eq=False)
class Recognised:
    """
    The circuit of a log, out of track files.

    Attributes
    ----------
    track : Track
        Complete, in the direction driven, with a name.
    file : Path
        The track file it came from.
    reversed : bool
        Whether the log drives it against the file's direction.
    laps : int
        Whole laps of the log along it.
    why : str
        One sentence: what was chosen and why.
    lines_only : bool
        Whether the file has no path, so that it was found in this log.
    """

    track: Track
    file: Path
    reversed: bool
    laps: int
    why: str
    lines_only: bool = False


@dataclass(frozen=True, eq=False)
class LookUp:
    """
    What came of looking a log's circuit up in track files.

    Attributes
    ----------
    found : Recognised or None
        None where no track has a whole lap in the log.
    looked_at : int
        Number of track files, also those of circuits far away.
    broken : tuple of str
        A line for each that cannot be used: which, and what is wrong with it.
    """

    found: Recognised | None
    looked_at: int = 0
    broken: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Fit:
    """How well a trace fits a track in one direction: whole laps, their length, share on it."""

    laps: int
    distance_m: float
    share: float


_Match = tuple[_Fit, Path, Track, bool]


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
        None where no track of the library has a whole lap in the log. A track file
        that cannot be used is warned of and passed over.
    """
    looked = look_up(log, library_files(folder))
    for line in looked.broken:
        warnings.warn(line, stacklevel=2)
    return looked.found


def look_up(log: Log, files: Sequence[Path], *, beside: bool = False) -> LookUp:
    """
    Find the circuit of a log in some track files.

    Parameters
    ----------
    log : Log
        A log of any kind of driving.
    files : sequence of Path
        They may hold anything.
    beside : bool
        Whether they lie beside the log and not in a library. A file there that is no
        track file is left alone, and lines without a path have to be driven over in
        their direction.

    Returns
    -------
    LookUp
    """
    tracks: list[tuple[Path, Track]] = []
    broken: list[str] = []
    for file in files:
        try:
            track = read_if_track(file, in_library=not beside)
        except TrackError as error:
            broken.append(str(error))
            continue
        if track is not None:
            tracks.append((file, track if track.name else track.renamed(file.stem)))
    found = None
    if tracks and len(log.fixes) >= 20:
        fits = _fits(log, tracks, beside=beside)
        for k in range(len(fits)):
            try:
                found = _chosen(log, fits[k:], len(tracks), beside=beside)
                break
            except TrackError as error:
                broken.append(str(error))
    return LookUp(found, len(tracks), tuple(broken))


def _fits(log: Log, tracks: Sequence[tuple[Path, Track]], *, beside: bool) -> list[_Match]:
    """Tracks of which there are whole laps in a log, the best first."""
    lat_deg, lon_deg = log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy()
    relative_deg = np.mod(lon_deg - lon_deg[0] + 180.0, 360.0) - 180.0
    plane = Plane(float(np.median(lat_deg)), float(lon_deg[0] + np.median(relative_deg)))
    near = [(file, track) for file, track in tracks if _is_near(track, plane)]
    if not near:
        return []
    trace = thin(log.fixes["time_s"].to_numpy(), *plane.to_metres(lat_deg, lon_deg))
    if len(trace.time_s) < 20:
        return []
    walk = steps(trace)
    fits: list[_Match] = []
    for file, track in near:
        for backwards in (False, True):
            if backwards and beside and track.path is None:
                continue
            fit = _fit(track, plane, backwards, trace, walk)
            if fit.laps > 0:
                fits.append((fit, file, track, backwards))
    # Most distance in whole laps wins; among equals what holds more of the log.
    fits.sort(key=lambda one: (one[0].distance_m, one[0].share), reverse=True)
    return fits


def _chosen(log: Log, fits: list[_Match], looked_at: int, *, beside: bool) -> Recognised:
    """Complete the first of the tracks that fit."""
    fit, file, track, backwards = fits[0]
    chosen = reversed_track(track) if backwards else track
    chosen = complete_track(replace(chosen, source="file" if beside else "library"), log)
    why = _why(fits, looked_at, "beside the log" if beside else "of the track library")
    return Recognised(chosen, file, backwards, fit.laps, why, track.path is None)


def _why(fits: list[_Match], looked_at: int, place: str) -> str:
    """One sentence on the choice."""
    fit, file, track, backwards = fits[0]
    way = ", against its direction" if backwards else ""
    one = fit.laps == 1
    if track.path is None:
        did = f"{'lap' if one else 'laps'} of the log {'crosses' if one else 'cross'} its lines"
    else:
        did = f"whole {'lap of the log runs' if one else 'laps of the log run'} along its path"
    text = f"{track.name!r} ({file.name} {place}): {fit.laps} {did}{way}"
    others = [
        f"{other.name!r}{' driven in reverse' if back else ''} "
        f"has {fewer.laps} whole lap{'s' if fewer.laps != 1 else ''}"
        for fewer, _, other, back in fits[1:4]
    ]
    if others:
        return f"{text}; {', '.join(others)}"
    if looked_at > 2:
        return f"{text}; none of the other {looked_at - 1} has one"
    return f"{text}; the other one has none" if looked_at == 2 else text


def _is_near(track: Track, plane: Plane) -> bool:
    """Whether a track's start/finish line is not far from a plane's origin."""
    return bool(np.hypot(*plane.point_m(track.start_finish_deg[0])) < FAR_M)


def _fit(track: Track, plane: Plane, backwards: bool, trace: Thinned, walk: Steps) -> _Fit:
    """Whole laps of a trace along a track, forwards or backwards."""
    moved = track.on_plane(plane)
    if moved.path is None:
        return _fit_of_lines(reversed_track(moved) if backwards else moved, trace, walk)
    path = moved.path.reversed() if backwards else moved.path
    ring = _ring_of(path)
    along = follow_ring(ring, trace, walk)
    laps = _laps_from_end_to_end(ring, along)
    return _Fit(laps, laps * ring.length_m, float(along.on.mean()))


def _fit_of_lines(track: Track, trace: Thinned, walk: Steps) -> _Fit:
    """Laps of a trace over all lines of a track in their direction, of about the same length."""
    at_s, _ = line_passages(track.start_finish, trace)
    laps_m = np.diff(np.interp(at_s, walk.time_s, walk.travelled_m))
    whole = laps_m > SHORTEST_LAP_M
    for gate in track.sectors:
        # A lap without this sector line is one of another variant.
        passed_s, _ = line_passages(gate, trace)
        whole &= np.diff(np.searchsorted(passed_s, at_s)) > 0
    laps_m = laps_m[whole]
    if len(laps_m) == 0:
        return _Fit(0, 0.0, 0.0)
    alike = laps_m[np.abs(laps_m / np.median(laps_m) - 1.0) < SAME_LENGTH]
    # Lines alone say less than a path, so their laps count for half as much.
    return _Fit(len(alike), 0.5 * float(alike.sum()), 0.0)


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
