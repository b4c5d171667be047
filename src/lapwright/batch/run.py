"""`run_weekend`: a folder of logs in, tables of all laps out."""

import os
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Executor
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from lapwright.arguments import checked
from lapwright.batch.circuits import FOLDER as CIRCUITS
from lapwright.batch.circuits import circuits_of, find_circuit
from lapwright.batch.folder import led_out, left_out, logs_in, names_in, without_copies
from lapwright.batch.kept_results import KeptJob, keep, key_of, load, look_at_and_keep
from lapwright.batch.pool import each
from lapwright.batch.season import add_to_season, check_season, log_id
from lapwright.batch.tables.changes import change_table, changes_in
from lapwright.batch.tables.details import finding_table, pass_table, sector_table
from lapwright.batch.tables.laps_and_sessions import (
    engine_table,
    lap_table,
    session_table,
    write_table,
)
from lapwright.batch.weekend import Weekend
from lapwright.batch.worker import Job, Result
from lapwright.errors import LapwrightError, OutputError
from lapwright.ingest.archive import folder_of, name_of
from lapwright.kept import USUAL, CacheChoice, Store, store_of
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes

Progress = Callable[[Path, Result], None]


@checked
def run_weekend(
    folder: str | Path, out: str | Path | None = None, *, track: str | Path | None = None,
    tracks: str | Path | None = None, columns: str | Path | None = None, repeat_line: bool = True,
    workers: int | None = None, executor: Executor | None = None,
    progress: Progress | None = None, cache: CacheChoice = USUAL,
    season: str | Path | None = None,
) -> Weekend:  # fmt: skip
    """
    Look at every log of a folder; one that lies there twice, the same to the byte, counts once.

    Each log is kept the moment it is done: a run that is stopped, by whatever, goes on from there
    when it is started again.

    Parameters
    ----------
    folder : path
        The logs, with `weekend.toml` beside them where there are notes; in folders in it and in
        ZIP archives as well.
    out : path, optional
        The folder of the results: ``laps``, ``sessions``, ``sectors``, ``passes``, ``findings``
        and, where a log has channels of the engine, ``engine`` as CSV, and as Parquet where pyarrow
        is installed; ``changes`` where the notes name changes to the car.  ``results`` in the
        folder of the logs where not given.
    track : path, optional
        The track file of all logs.  Else each circuit is looked up in the track files beside the
        logs and in the track library, and one that is not there is found once, from the log with
        most fixes, and kept in ``circuits``.  What a file lacks is found once too.
    tracks : path, optional
        The track library, where it is not the user's own.
    columns : path, optional
        A column map.
    repeat_line : bool
        See `lapwright.Session`.
    workers : int, optional
        Processes; as many as there are processors where not given.  With 1 all is done in this
        process.
    executor : Executor, optional
        Where to work instead, for several machines that see the same files.
    progress : callable, optional
        Called with path and result whenever a log is done.
    cache : Store, path or None, optional
        The folder in which results are kept from one run to the next, see `lapwright.kept`; None to
        look at all logs again.  The user's cache folder where not given.
    season : path or str, optional
        The folder of a season's tables as Parquet, parted by year and circuit, which the logs are
        added to; one that is in it already is replaced.  Needs pyarrow.  With ``://`` it is an
        address that fsspec knows.

    Returns
    -------
    Weekend

    Raises
    ------
    LogError
        If there is no log in the folder.
    NotesError
        If the weekend notes cannot be read.
    OutputError
        If the results would come to lie among the logs, or cannot be written.
    TrackError
        If the given track file or library cannot be used.

    Examples
    --------
    >>> from pathlib import Path
    >>> from shutil import copy
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> with TemporaryDirectory() as folder:
    ...     for name in ("saturday_qualifying.gpx", "wren_hollow.geojson", "weekend.toml"):
    ...         _ = copy(Path("sample_sessions", name), folder)
    ...     weekend = lw.run_weekend(folder, repeat_line=False, workers=1)
    >>> weekend.failed, int((weekend.laps["kind"] == "timed").sum())
    (0, 5)
    """
    folder = Path(folder)
    paths = logs_in(folder)
    out = folder / "results" if out is None else Path(out)
    if out.exists() and out.samefile(folder):
        what = "is the folder of the logs"
        raise OutputError(what, out, hint="Give the results a folder of their own")
    if season is not None:
        check_season(season)
    notes = _notes_of(paths)
    paths, copies = without_copies(paths, notes.__contains__)
    kept_circuits = out / CIRCUITS
    library = None if tracks is None else Path(tracks)
    map_file = None if columns is None else Path(columns)
    store = store_of(cache)
    circuits = circuits_of(
        folder, paths, kept_circuits, library, map_file, store, given=track is not None
    )
    kept_circuits.mkdir(parents=True, exist_ok=True)
    given, said = (None, []) if track is None else circuits.complete(Path(track), paths)
    base = Job(folder, given, (), map_file, repeat_line, store=store)
    jobs = {path: replace(base, path=path, notes=notes.get(path, LogNotes())) for path in paths}
    asked = dict(jobs)
    keys = {path: key_of(job, library, circuits.beside) for path, job in jobs.items()}
    found = {path: load(store, key, kept_circuits) for path, key in keys.items()}
    results = {path: result for path, result in found.items() if result is not None}
    kept = len(results)
    crew = _Crew(
        os.cpu_count() or 1 if workers is None else workers, executor, progress, keys,
        kept_circuits, store,
    )  # fmt: skip
    for path, result in results.items():
        crew.tell(path, result)
    jobs = {path: job for path, job in jobs.items() if path not in results}
    if jobs and track is None:
        places, said = circuits.places(paths)
        jobs = {path: replace(job, tracks=places) for path, job in jobs.items()}
    results |= _look_at_all(jobs, crew, kept_circuits)
    named = names_in(paths, folder)
    ordered = {path: results[path] for path in paths}
    made = tables_of(ordered, notes, named)
    if season is not None:
        ids = {named[path][0]: log_id(path) for path in paths if results[path].status == "ok"}
        add_to_season(season, made, ids)
    files = [file for name, table in made.items() for file in write_table(table, out / name)]
    made.setdefault("engine", engine_table({}, {}))
    changes, unclear = changes_in(ordered, notes, named)
    if len(table := change_table(changes)):
        files += write_table(table, out / "changes")
    return Weekend(
        **made, out=out, files=tuple(files), done=len(paths) - kept, kept=kept,
        left_out=tuple(left_out(folder)), notes=tuple(said), copies=copies,
        refused=tuple(led_out(folder)), folder=folder, changes=changes, unclear_changes=unclear,
        season=None if season is None else str(season),
        jobs=_used(asked, ordered, kept_circuits),
    )  # fmt: skip


def tables_of(
    results: Mapping[Path, Result], notes: Mapping[Path, LogNotes],
    named: Mapping[Path, tuple[str, str]],
) -> dict[str, pd.DataFrame]:  # fmt: skip
    """
    Make the tables of a weekend.

    Parameters
    ----------
    results : mapping of Path to Result
    notes : mapping of Path to LogNotes
    named : mapping of Path to (str, str)
        See `lapwright.batch.folder.names_in`.

    Returns
    -------
    dict of DataFrame
        By the names of their files; no ``engine`` where no log has channels of it.
    """
    made = {
        "laps": lap_table(results, notes, named),
        "sessions": session_table(results, notes, named),
        "sectors": sector_table(results, notes, named),
        "passes": pass_table(results, notes, named),
        "findings": finding_table(results, named),
    }
    engine = engine_table(results, notes, named)
    return made | ({"engine": engine} if len(engine) else {})


def _notes_of(paths: Iterable[Path]) -> dict[Path, LogNotes]:
    """Read the notes beside each log, in their order; logs without any are not in it."""
    by_place: dict[Path, dict[str, Path]] = {}
    for path in paths:
        by_place.setdefault(folder_of(path), {})[name_of(path)] = path
    return {
        by_name[name]: notes
        for place, by_name in by_place.items()
        for name, notes in read_notes(place / FILE_NAME).items()
        if name in by_name
    }


def _used(
    jobs: Mapping[Path, Job], results: Mapping[Path, Result], circuits: Path
) -> dict[Path, Job]:
    """Jobs of the logs that could be used, each with the track file that was taken."""
    out = {}
    for path, result in results.items():
        if result.status == "ok":
            file = result.track_file
            # A result is known by what is in its files, so it may name those of a folder that was
            # moved since: the same file is then where this run would have looked.
            beside = [] if file is None else [circuits / file.name, folder_of(path) / file.name]
            moved = next((one for one in beside if one.is_file()), None)
            there = file is not None and file.is_file()
            out[path] = replace(jobs[path], track=file if there else moved)
    return out


@dataclass(frozen=True, slots=True)
class _Crew:
    """Who does the work, and who is told."""

    workers: int
    executor: Executor | None
    progress: Progress | None
    keys: Mapping[Path, str]
    circuits: Path
    store: Store | None

    def work(self, jobs: Mapping[Path, Job]) -> dict[Path, Result]:
        """Do jobs; a log whose circuit is not known is not done yet, so nobody is told."""
        results = {}
        kept = [KeptJob(job, self.keys[path], self.circuits) for path, job in jobs.items()]
        done = each(look_at_and_keep, kept, self.workers, _died, self.executor)
        # Closed at once when this run is stopped, or its processes would work on.
        with closing(done):
            for i, result in done:
                path = kept[i].job.path
                results[path] = result
                if result.status != "unknown":
                    if self.executor is not None:
                        # It may have been done where nothing of ours is kept.
                        keep(self.store, self.keys[path], result, self.circuits)
                    self.tell(path, result)
        return results

    def tell(self, path: Path, result: Result) -> None:
        """Report a log that is done."""
        if self.progress is not None:
            self.progress(path, result)


def _died(kept: KeptJob, why: str) -> Result:
    return Result("failed", f"{kept.job.path}: {' '.join(why.split())}. The other logs went on")


def _look_at_all(jobs: dict[Path, Job], crew: _Crew, circuits: Path) -> dict[Path, Result]:
    """Look at logs; find the circuits nobody knows yet, each once, and look again."""
    results: dict[Path, Result] = {}
    while jobs:
        now = crew.work(jobs)
        unknown = {path: result for path, result in now.items() if result.status == "unknown"}
        results |= {path: result for path, result in now.items() if path not in unknown}
        jobs = {path: jobs[path] for path in unknown}
        # The log with most fixes shows its circuit best.
        for path in sorted(unknown, key=lambda p: unknown[p].fixes, reverse=True):
            try:
                # Its own log is given it outright, so that every round leaves fewer logs.
                jobs[path] = replace(jobs[path], track=find_circuit(jobs[path], circuits))
                break
            except LapwrightError as error:
                reason = " ".join(str(error).split())
                results[path] = Result("failed", reason, fixes=unknown[path].fixes)
                crew.tell(path, results[path])
                del jobs[path]
    return results
