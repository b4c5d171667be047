"""`Weekend`: what a folder of logs came to."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from lapwright.batch.folder import below
from lapwright.batch.worker import Job
from lapwright.coaching.car_change.noted_changes import NotedChange
from lapwright.in_notebook import ShowsItself


@dataclass(frozen=True, eq=False)
class Weekend(ShowsItself):
    """
    A folder of logs, looked at; in a notebook it shows itself, see `lapwright.show`.

    Attributes
    ----------
    sessions : DataFrame
        One row a log; see `lapwright.batch.tables.laps_and_sessions.session_table`.
    laps : DataFrame
        One row a lap of every log; see `lapwright.batch.tables.laps_and_sessions.lap_table`.
    out : Path
        The folder of the results.
    files : tuple of Path
        The tables written.
    done, kept : int
        Logs that were looked at now, and those whose results were kept from before.
    engine : DataFrame
        One row a lap and engine channel; see
        `lapwright.batch.tables.laps_and_sessions.engine_table`.
    left_out : tuple of Path
        Text files that are plainly no logs.
    notes : tuple of str
        What is to be said of the track files, a sentence each.
    copies : tuple of (Path, Path)
        Logs that are the same to the byte as another, which alone is counted, and that other.
    changes : tuple of NotedChange
        What came of each change to the car that the notes name; see
        `lapwright.coaching.car_change.noted_changes`.
    unclear_changes : tuple of (str, str)
        Session and entry of the notes that takes off a change which is not on the car.
    sectors : DataFrame
        One row a lap and sector; see `lapwright.batch.tables.details.sector_table`.
    passes : DataFrame
        One row a run through a corner; see `lapwright.batch.tables.details.pass_table`.
    findings : DataFrame
        One row a thing that was odd in a log.
    folder : Path
        The folder of the logs.
    season : str or None
        The season that the logs were added to.
    refused : tuple of str
        Archives with names that lead out of them, a sentence each.
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
    changes: tuple[NotedChange, ...] = ()
    unclear_changes: tuple[tuple[str, str], ...] = ()
    sectors: pd.DataFrame = field(default_factory=pd.DataFrame)
    passes: pd.DataFrame = field(default_factory=pd.DataFrame)
    findings: pd.DataFrame = field(default_factory=pd.DataFrame)
    folder: Path = Path()
    season: str | None = None
    refused: tuple[str, ...] = ()
    jobs: Mapping[Path, Job] = field(default_factory=dict)

    def below(self, path: Path) -> str:
        """Return the name of a log as seen from the folder."""
        return below(path, self.folder)

    @property
    def failed(self) -> int:
        """Number of logs that could not be used."""
        return int((self.sessions["status"] == "failed").sum())
