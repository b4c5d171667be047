"""`run_weekend`: a folder of logs in, tables of all laps out."""

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from pathlib import Path

import pandas as pd

from lapwright.batch.circuits import FOLDER as CIRCUITS
from lapwright.batch.circuits import circuits_of, find_circuit
from lapwright.batch.folder import left_out, logs_in, without_copies
from lapwright.batch.kept_results import keep, key_of, load
from lapwright.batch.pool import each
from lapwright.batch.tables import engine_table, lap_table, session_table, write_table
from lapwright.batch.worker import Job, Result, look_at
from lapwright.errors import LapwrightError, OutputError
from lapwright.in_notebook import ShowsItself
from lapwright.kept import USUAL, CacheChoice, store_of
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes

Progress = Callable[[Path, Result], None]


@dataclass(frozen=True, eq=False)
class Weekend(ShowsItself):
    """
    A folder of logs, looked at; in a notebook it shows itself, see `lapwright.show`.

    Attributes
    ----------
    sessions : DataFrame
        One row a log; see `lapwright.batch.tables.session_table`.
    laps : DataFrame
        One row a lap of every log; see `lapwright.batch.tables.lap_table`.
    out : Path
        The folder of the results.
    files : tuple of Path
        The tables written.
    done, kept : int
        Logs that were looked at now, and those whose results were kept from before.
    engine : DataFrame
        One row a lap and engine channel; see `lapwright.batch.tables.engine_table`.
    left_out : tuple of Path
        Text files that are plainly no logs.
    notes : tuple of str
        What is to be said of the track files, a sentence each.
    copies : tuple of (Path, Path)
        Logs that are the same to the byte as another, which alone is counted, and that other.
    folder : Path
        The folder of the logs.
    jobs : dict of Job
        By path: how each log that could be used was opened, with the track file that was taken.
    """

    sessions: pd.DataFrame
    laps: pd.DataFrame
    out: Path
    files: tuple[Path, ...]
    done: int
    kept: int
    engine: pd.DataFrame
    left_out: tuple[Path, ...] = ()
    notes: tuple[str, ...] = ()
    copies: tuple[tuple[Path, Path], ...] = ()
    folder: Path = Path()
    jobs: Mapping[Path, Job] = field(default_factory=dict)

    @property
    def failed(self) -> int:
        """Number of logs that could not be used."""
        return int((self.sessions["status"] == "failed").sum())


def run_weekend(
    folder: str | Path, out: str | Path | None = None, *, track: str | Path | None = None,
    tracks: str | Path | None = None, columns: str | Path | None = None, repeat_line: bool = True,
    workers: int | None = None, executor: Executor | None = None,
    progress: Progress | None = None, cache: CacheChoice = USUAL,
) -> Weekend:  # fmt: skip
    """
    Look at every log of a folder; one that lies there twice, the same to the byte, counts once.

    Parameters
    ----------
    folder : path
        The logs, with `weekend.toml` beside them where there are notes.
    out : path, optional
        The folder of the results: ``laps``, ``sessions`` and, where a log has channels of the
        engine, ``engine`` as CSV, and as Parquet where pyarrow is installed.  ``results`` in the
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
        look at all logs anew.  The user's cache folder where not given.

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
        If the results would come to lie among the logs.
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
    notes = read_notes(folder / FILE_NAME)
    paths, copies = without_copies(paths, notes)
    kept_circuits = out / CIRCUITS
    library = None if tracks is None else Path(tracks)
    map_file = None if columns is None else Path(columns)
    store = store_of(cache)
    circuits = circuits_of(folder, kept_circuits, library, map_file, store, given=track is not None)
    kept_circuits.mkdir(parents=True, exist_ok=True)
    given, said = (None, []) if track is None else circuits.complete(Path(track), paths)
    base = Job(folder, given, (), map_file, repeat_line, store=store)
    jobs = {
        path: replace(base, path=path, notes=notes.get(path.name, LogNotes())) for path in paths
    }
    asked = dict(jobs)
    keys = {path: key_of(job, library, circuits.beside) for path, job in jobs.items()}
    found = {path: load(store, key, kept_circuits) for path, key in keys.items()}
    results = {path: result for path, result in found.items() if result is not None}
    kept = len(results)
    crew = _Crew(
        os.cpu_count() or 1 if workers is None else workers, executor, progress,
        lambda path, result: keep(store, keys[path], result, kept_circuits),
    )  # fmt: skip
    for path, result in results.items():
        crew.tell(path, result)
    jobs = {path: job for path, job in jobs.items() if path not in results}
    if jobs and track is None:
        places, said = circuits.places(paths)
        jobs = {path: replace(job, tracks=places) for path, job in jobs.items()}
    results |= _look_at_all(jobs, crew, kept_circuits)
    ordered = {path: results[path] for path in paths}
    sessions, laps = session_table(ordered, notes), lap_table(ordered, notes)
    files = [*write_table(laps, out / "laps"), *write_table(sessions, out / "sessions")]
    engine = engine_table(ordered, notes)
    if len(engine):
        files += write_table(engine, out / "engine")
    done = len(paths) - kept
    return Weekend(
        sessions, laps, out, tuple(files), done, kept, engine, tuple(left_out(folder)), tuple(said),
        copies, folder, _used(asked, ordered, kept_circuits),
    )  # fmt: skip


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
            beside = [] if file is None else [circuits / file.name, path.parent / file.name]
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
    keep: Progress

    def work(self, jobs: Mapping[Path, Job]) -> dict[Path, Result]:
        """Do jobs; a log whose circuit is not known is not done yet, so nobody is told."""
        results = {}
        paths = list(jobs)
        done = each(look_at, list(jobs.values()), self.workers, _died, self.executor)
        for i, result in done:
            results[paths[i]] = result
            if result.status != "unknown":
                # At once: whatever happens to the other logs, this one is done.
                self.keep(paths[i], result)
                self.tell(paths[i], result)
        return results

    def tell(self, path: Path, result: Result) -> None:
        """Report a log that is done."""
        if self.progress is not None:
            self.progress(path, result)


def _died(job: Job) -> Result:
    reason = f"{job.path}: the process that worked on it died, twice. The other logs went on"
    return Result("failed", reason)


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
