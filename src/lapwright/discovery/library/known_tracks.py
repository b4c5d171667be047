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

from lapwright.arguments import checked
from lapwright.discovery.library.line_use import line_use
from lapwright.discovery.library.reverse import reversed_track
from lapwright.discovery.library.track_fit import Fit, fit_of, same_circuit
from lapwright.discovery.library.track_folders import library_files, read_if_track
from lapwright.discovery.loop.reference import complete_track
from lapwright.discovery.loop.thin import Thinned, steps, thin
from lapwright.errors import TrackError
from lapwright.geometry.track import Track
from lapwright.ingest.log import Log
from lapwright.plane import Plane, middle_longitude_deg

# Circuits farther away than this are not looked at.
FAR_M = 20_000.0
# A line no farther from the log than this may have been meant for it. [m]
NEAR_LINE_M = 200.0


@dataclass(frozen=True, eq=False)
class KnownTrack:
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
    found : KnownTrack or None
        None where no track has a whole lap in the log.
    looked_at : int
        Number of track files, also those of circuits far away.
    broken : tuple of str
        A line for each that cannot be used: which, and what is wrong with it. Where none
        fits, also what is wrong with the start/finish line of those the log comes near.
    """

    found: KnownTrack | None
    looked_at: int = 0
    broken: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Match:
    """A track file that fits: how well, and the track as driven, on the log's plane."""

    fit: Fit
    file: Path
    track: Track
    backwards: bool
    driven: Track

    @property
    def rank(self) -> tuple[bool, bool, str]:
        """Order among files of the same circuit, the same for every log."""
        return self.track.path is None, self.backwards, self.file.name


@checked
def find_known_track(log: Log, folder: str | Path | None = None) -> KnownTrack | None:
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
    KnownTrack or None
        None where no track of the library has a whole lap in the log. A track file
        that cannot be used is warned of and passed over.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> known = lw.find_known_track(log, "sample_sessions")
    >>> known.track.name, known.laps
    ('Wren Hollow', 6)
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
    passed_by: list[str] = []
    if tracks and len(log.fixes) >= 20:
        fits, passed_by = _fits(log, tracks, beside=beside)
        for k in range(len(fits)):
            try:
                found = _chosen(log, fits[k:], len(tracks), beside=beside)
                break
            except TrackError as error:
                broken.append(str(error))
    if found is None:
        # With another file in its place nobody misses it.
        broken += passed_by
    return LookUp(found, len(tracks), tuple(broken))


def _fits(
    log: Log, tracks: Sequence[tuple[Path, Track]], *, beside: bool
) -> tuple[list[_Match], list[str]]:
    """
    Tracks of which there are whole laps in a log, the best first.

    Also what is wrong with the line of those that only fit but for it.
    """
    lat_deg, lon_deg = log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy()
    plane = Plane(float(np.median(lat_deg)), middle_longitude_deg(lon_deg))
    near = [(file, track) for file, track in tracks if _is_near(track, plane)]
    if not near:
        return [], []
    trace = thin(log.fixes["time_s"].to_numpy(), *plane.to_metres(lat_deg, lon_deg))
    if len(trace.time_s) < 20:
        return [], []
    walk = steps(trace)
    fits: list[_Match] = []
    passed_by: list[str] = []
    for file, track in near:
        moved = track.on_plane(plane)
        # Lines beside a log have to be meant as they are drawn.
        ways = (False,) if beside and track.path is None else (False, True)
        mine = []
        for backwards in ways:
            driven = reversed_track(moved) if backwards else moved
            fit = fit_of(driven, trace, walk)
            if fit.laps > 0:
                mine.append(_Match(fit, file, track, backwards, driven))
        fits += [one for one in mine if one.track.path is None or not _line_trouble(one, trace)]
        said = _not_over(mine[0].driven if mine else moved, trace)
        if said and (mine or (beside and _comes_near(moved, trace))):
            passed_by.append(f"{file.name}{' beside the log' if beside else ''}: {said}")
    return _in_order(fits), passed_by


def _line_trouble(match: _Match, trace: Thinned) -> str:
    """Say why the line of a track along which whole laps run makes no laps."""
    return line_use(match.driven.start_finish, trace).trouble


def _not_over(track: Track, trace: Thinned) -> str:
    """Say why the line of a track makes no laps, and what to do; '' where it does."""
    use = line_use(track.start_finish, trace)
    return f"{use.trouble}: {use.remedy}" if use.trouble else ""


def _comes_near(track: Track, trace: Thinned) -> bool:
    """Whether a trace comes near the start/finish line of a track."""
    east_m, north_m = track.start_finish.centre_m
    return bool(np.hypot(trace.east_m - east_m, trace.north_m - north_m).min() < NEAR_LINE_M)


def _in_order(fits: list[_Match]) -> list[_Match]:
    """
    Put first the circuit with most distance in whole laps, and of its files always the same one.

    Among equals what holds more of the log.  Files of one circuit differ only in their lines: a
    lap more or less by the one or the other must not split the logs of a day between them.
    """
    fits = sorted(fits, key=lambda one: (one.fit.distance_m, one.fit.share), reverse=True)
    if not fits:
        return fits
    same = [one for one in fits if one is fits[0] or same_circuit(fits[0].driven, one.driven)]
    same.sort(key=lambda one: one.rank)
    return [*same, *(one for one in fits if one not in same)]


def _chosen(log: Log, fits: list[_Match], looked_at: int, *, beside: bool) -> KnownTrack:
    """Complete the first of the tracks that fit."""
    first = fits[0]
    chosen = reversed_track(first.track) if first.backwards else first.track
    chosen = complete_track(replace(chosen, source="file" if beside else "library"), log)
    why = _why(fits, looked_at, "beside the log" if beside else "of the track library")
    lines_only = first.track.path is None
    return KnownTrack(chosen, first.file, first.backwards, first.fit.laps, why, lines_only)


def _why(fits: list[_Match], looked_at: int, place: str) -> str:
    """One sentence on the choice."""
    first = fits[0]
    way = ", driven the other way round" if first.backwards else ""
    one = first.fit.laps == 1
    if first.track.path is None:
        did = f"{'lap' if one else 'laps'} of the log {'crosses' if one else 'cross'} its lines"
    else:
        did = f"full {'lap of the log runs' if one else 'laps of the log run'} along its path"
    text = f"{first.track.name!r} ({first.file.name} {place}): {first.fit.laps} {did}{way}"
    same = [one for one in fits[1:] if same_circuit(first.driven, one.driven)]
    if same:
        names = ", ".join(dict.fromkeys(one.file.name for one in same))
        text = (
            f"{text}; also {'fits' if ',' not in names else 'fit'}: {names}; give --track to choose"
        )
    others = [f"{_had(other)}" for other in fits[1:] if other not in same][:3]
    if others:
        return f"{text}; {', '.join(others)}"
    if same:
        return text
    if looked_at > 2:
        return f"{text}; none of the other {looked_at - 1} track files fits"
    return f"{text}; the other track file does not fit" if looked_at == 2 else text


def _had(other: _Match) -> str:
    """Say what a track that was not taken has of the log."""
    laps, name = other.fit.laps, repr(other.track.name)
    what = "lap over its lines" if other.track.path is None else "full lap"
    if laps != 1:
        what = what.replace("lap", "laps", 1)
    return f"{name}{' driven the other way round' if other.backwards else ''} has {laps} {what}"


def _is_near(track: Track, plane: Plane) -> bool:
    """Whether a track's start/finish line is not far from a plane's origin."""
    return bool(np.hypot(*plane.point_m(track.start_finish_deg[0])) < FAR_M)
