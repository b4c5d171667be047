"""The circuits of a folder of logs: track files completed, or found, once for all logs."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lapwright.batch.kept_results import digest
from lapwright.batch.worker import Job
from lapwright.discovery import complete_track, discover_track, look_up
from lapwright.discovery.library.track_fit import same_circuit
from lapwright.discovery.library.track_folders import (
    check_library,
    files_beside,
    library_files,
    read_if_track,
    save_to_library,
)
from lapwright.errors import LapwrightError, TrackError
from lapwright.geometry import Track, read_track, write_track
from lapwright.ingest import Log
from lapwright.ingest.archive import folder_of, size_of
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import Store

FOLDER = "circuits"
Places = tuple[Path | tuple[Path, ...] | None, ...]


@dataclass(frozen=True, slots=True)
class Circuits:
    """
    Where the circuits of a folder of logs are looked up.

    Attributes
    ----------
    kept : Path
        The folder of the circuits that are found.
    library : Path or None
        The track library; None for the user's own.
    beside : tuple of Path
        Files beside the logs that may be track files; none where one was given.
    columns : Path or None
        A column map.
    store : Store or None
        Where logs that were read are kept.
    """

    kept: Path
    library: Path | None
    beside: tuple[Path, ...]
    columns: Path | None
    store: Store | None = None

    def places(self, paths: Sequence[Path]) -> tuple[Places, list[str]]:
        """
        Return where each log looks its circuit up, and what is to be said of the track files.

        Parameters
        ----------
        paths : sequence of Path
            The logs; from one of them a file that has only lines gets its path.
        """
        tracks: dict[Path, Track] = {}
        said: list[str] = []
        for file in self.beside:
            try:
                track = read_if_track(file, in_library=False)
            except TrackError as error:
                said.append(str(error))
                continue
            if track is not None:
                tracks[file] = track
        files = []
        for names in _by_circuit(tracks):
            first = names[0]
            if len(names) > 1:
                others = ", ".join(file.name for file in names[1:])
                said.append(
                    f"{first.name} is taken before {others}, of the same circuit; give --track "
                    "to choose"
                )
            for file in names:
                if _is_whole(tracks[file]):
                    files.append(file)
                elif not _is_whole(tracks[first]) and (
                    whole := self._whole_beside(file, paths, said)
                ):
                    files.append(whole)
        here: Places = (tuple(files),) if files else ()
        if self.library is None:
            return (*here, None, self.kept), said
        # The library was named: it comes before what merely lies there.
        for file in library_files(self.library):
            try:
                read_if_track(file, in_library=True)
            except TrackError as error:
                said.append(str(error))
        return (self.library, *here, self.kept), said

    def _whole_beside(self, file: Path, paths: Sequence[Path], said: list[str]) -> Path | None:
        """Complete a file that has only lines from the first log that drives over them."""
        whole = self._whole_of(file)
        if whole.exists():
            return whole
        for path in _largest_first(paths):
            try:
                found = look_up(self._read(path), (file,), beside=True).found
            except LapwrightError:
                continue
            if found is not None:
                write_track(found.track, whole)
                said.append(_completed(file, path, whole))
                return whole
        return None

    def complete(self, file: Path, paths: Sequence[Path]) -> tuple[Path, list[str]]:
        """Give a given track file that has only lines its path; return the file to use."""
        track = read_track(file)
        whole = self._whole_of(file)
        if _is_whole(track):
            return file, []
        if whole.exists():
            return whole, []
        for path in _largest_first(paths):
            try:
                found = complete_track(track, self._read(path))
            except LapwrightError:
                continue
            write_track(found if found.name else found.renamed(file.stem), whole)
            return whole, [_completed(file, path, whole)]
        # No log has a lap between the lines: each will say so for itself.
        return file, []

    def _read(self, path: Path) -> Log:
        return read_with_map(path, self.columns, self.store)[0]

    def _whole_of(self, file: Path) -> Path:
        return self.kept / f"{file.stem}-{digest(file)[:12]}.geojson"


def circuits_of(
    folder: Path, logs: Sequence[Path], kept: Path, library: Path | None, columns: Path | None,
    store: Store | None = None, *, given: bool,
) -> Circuits:  # fmt: skip
    """
    Gather where the circuits of a folder of logs may be.

    Parameters
    ----------
    folder : Path
        The folder of the logs.
    logs : sequence of Path
        In it and in folders of it, beside which there may be track files too.
    kept : Path
        The folder of the circuits that are found.
    library : Path or None
    columns : Path or None
    store : Store or None
    given : bool
        Whether a track file was given, so that no other is looked at.

    Raises
    ------
    TrackError
        If the library is no folder.
    """
    if library is not None:
        check_library(library)
    same = library is not None and library.samefile(folder)
    places = dict.fromkeys([folder, *map(folder_of, logs)])
    found = () if given or same else tuple(f for place in places for f in files_beside(place))
    return Circuits(kept, library, found, columns, store)


def find_circuit(job: Job, kept: Path) -> Path:
    """Find the circuit of a log and keep it with the results; return its file."""
    log, _ = read_with_map(job.path, job.columns, job.store)
    found = discover_track(log, f"circuit of {job.path.name.split('.')[0]}")
    file = save_to_library(found.track, kept)
    # Another run at the same time may have found it too.
    same = [one for one in library_files(kept) if digest(one) == digest(file)]
    if same[0] != file:
        file.unlink()
    return same[0]


def _is_whole(track: Track) -> bool:
    return track.path is not None and bool(track.corners)


def _by_circuit(tracks: dict[Path, Track]) -> list[list[Path]]:
    """Put the files of one circuit together, the one that is taken first in front."""
    groups: list[list[Path]] = []
    for file in sorted(tracks, key=lambda f: (not _is_whole(tracks[f]), f.name)):
        for group in groups:
            if same_circuit(tracks[group[0]], tracks[file]):
                group.append(file)
                break
        else:
            groups.append([file])
    return groups


def _completed(file: Path, log: Path, whole: Path) -> str:
    return (
        f"{file.name} has only the start and sector lines; path and corners come "
        f"from {log.name} for all logs and are kept in {whole}"
    )


def _largest_first(paths: Sequence[Path]) -> list[Path]:
    return sorted(paths, key=size_of, reverse=True)
