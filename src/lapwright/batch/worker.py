"""One log of a folder, looked at in a process of its own: a job in, a result out."""

import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from lapwright.batch.tables.engine import engine_table
from lapwright.batch.tables.figures import figures_of
from lapwright.coaching.car_change.corner_parts import corner_parts
from lapwright.discovery.library.track_folders import library_files
from lapwright.errors import LapwrightError, LogError
from lapwright.escaping.unseen import encodable
from lapwright.ingest.log import lines_in_file
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import Store
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session
from lapwright.session.choose_track import Place, choose_track_kept


@dataclass(frozen=True, slots=True)
class Job:
    """
    What is to be done with one log.

    Attributes
    ----------
    path : Path
    track : Path or None
        The track file of all logs, where one was given.
    tracks : tuple of (Path, None or tuple of Path)
        Where the circuit is looked up, in this order: a folder of track files; None for the
        user's own library; or complete track files from beside the logs.
    columns : Path or None
    repeat_line : bool
    notes : LogNotes
    store : Store or None
        Where results are kept.
    """

    path: Path
    track: Path | None = None
    tracks: tuple[Path | tuple[Path, ...] | None, ...] = (None,)
    columns: Path | None = None
    repeat_line: bool = True
    notes: LogNotes = field(default_factory=LogNotes)
    store: Store | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Result:
    """
    What came of one log; plain values, so that it can be kept.

    Attributes
    ----------
    status : {"ok", "failed", "unknown"}
        ``unknown``: the log can be read, but is on no circuit that is known yet.
    reason : str
        Why not ``ok``.
    track : str
        Name of the circuit.
    start_utc : str or None
    fixes : int
    laps : list of dict
        One object a lap.
    findings : list of dict
        One object a thing that was odd: ``code``, ``message``, ``count``, ``lines``.
    passes : DataFrame or None
        One row a run through a corner: those of a session, with the name of the corner and whether
        the lap is clean.
    engine : list of dict
        One object a lap and channel of the engine.
    figures : dict
        The laps summed up, see `lapwright.batch.tables.figures`; empty where there are none.
    track_file : Path or None
        The track file that was taken.
    circuit : (str, str) or None
        Its name and digest, where it was found in a run of ours; filled in where it is kept.
    corner_s : list of dict
        One object a clean lap: its number, and the time of each corner's part of it.
    """

    status: str
    reason: str = ""
    track: str = ""
    start_utc: str | None = None
    fixes: int = 0
    laps: list[dict[str, Any]] = field(default_factory=list)
    findings: list[dict[str, Any]] = field(default_factory=list)
    passes: pd.DataFrame | None = None
    engine: list[dict[str, Any]] = field(default_factory=list)
    figures: dict[str, Any] = field(default_factory=dict)
    track_file: Path | None = None
    circuit: tuple[str, str] | None = None
    corner_s: list[dict[str, Any]] = field(default_factory=list)


def look_at(job: Job) -> Result:
    """
    Cut one log into laps.

    Parameters
    ----------
    job : Job

    Returns
    -------
    Result
        Also where the log cannot be used: one bad file is no reason to stop.
    """
    try:
        _check_name(job.path)
        log, _ = read_with_map(job.path, job.columns, job.store)
        places = [_place(one) for one in job.tracks]
        chosen = choose_track_kept(job.store, log, job.track, places)
        track = chosen.track
        if track is None:
            return Result("unknown", "no circuit was found for it", fixes=len(log.fixes))
        session = Session(log, track, repeat_line=job.repeat_line, notes=job.notes, cache=job.store)
        laps = _laps(session)
        result = Result(
            "ok",
            track=track.name,
            start_utc=None if log.start_utc is None else log.start_utc.isoformat(),
            fixes=len(log.fixes),
            laps=laps,
            findings=_findings(session),
            passes=_passes(session),
            engine=[
                {str(key): _plain(value) for key, value in row.items()}
                for row in engine_table(log, session.laps).to_dict("records")
            ],
            figures=figures_of(laps),
            track_file=chosen.file,
            corner_s=_corner_s(session),
        )
        # A process of a pool ends without a word.
        session.shelf.write()
        return result
    except (LapwrightError, OSError) as error:
        return Result("failed", " ".join(str(error).split()))
    except Exception as error:
        # A mistake of ours in one log must not cost the racer the other logs; it is named so
        # that it can be reported.
        reason = f"{job.path}: unexpected {type(error).__name__}: {error}. Please report this"
        return Result("failed", " ".join(reason.split()))


def _check_name(path: Path) -> None:
    """Refuse a log whose name no table can hold, as one from a disk of another system."""
    name = encodable(str(path))
    if name != str(path):
        what = "its name, or that of its folder, is not UTF-8 text"
        raise LogError(what, Path(name), hint="Give it a name in plain letters")


def _place(place: Path | tuple[Path, ...] | None) -> Place:
    if isinstance(place, tuple):
        return Place(place, beside=True)
    return Place(library_files(place), beside=False)


def _laps(session: Session) -> list[dict[str, Any]]:
    """Return the laps as plain values, sectors as columns, None where there is nothing."""
    zero = session.log.start_utc
    rows = []
    for row in session.laps.to_dict("records"):
        flat: dict[str, Any] = {
            str(k): v for k, v in row.items() if not str(k).startswith("sector")
        }
        flat["flags"] = " ".join(row["flags"])
        flat["is_best"] = row["lap"] == session.best_lap
        flat["start_utc"] = None
        if zero is not None:
            flat["start_utc"] = (zero + pd.Timedelta(row["start_s"], unit="s")).isoformat()
        pairs = zip(row["sectors_s"], row["sector_sds_s"], strict=True)
        for k, (time, sd) in enumerate(pairs, start=1):
            flat[f"sector_{k}_s"], flat[f"sector_{k}_sd_s"] = time, sd
        rows.append({key: _plain(value) for key, value in flat.items()})
    return rows


def _corner_s(session: Session) -> list[dict[str, Any]]:
    """Return the time of each corner's part of the clean laps as plain values."""
    parts = corner_parts(session)
    rows = [] if parts is None else parts.reset_index().to_dict("records")
    return [{str(key): _plain(value) for key, value in row.items()} for row in rows]


def _findings(session: Session) -> list[dict[str, Any]]:
    """Return what was odd in the log and on the way, as plain values."""
    return [
        {"code": one.code, "message": one.message, "count": one.count,
         "lines": lines_in_file(one.lines)}
        for one in session.findings
    ]  # fmt: skip


def _passes(session: Session) -> pd.DataFrame:
    """Return the runs through the corners, each with its corner's name and its lap's state."""
    table, laps, corners = session.passes, session.laps, session.corners
    clean = dict(zip(laps["lap"], laps["representative"], strict=True))
    name = dict(zip(corners["corner"], corners["name"], strict=True))
    return table.assign(
        representative=table["lap"].map(clean).astype(bool),
        corner_name=table["corner"].map(name).astype("str"),
    )


def _plain(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value
