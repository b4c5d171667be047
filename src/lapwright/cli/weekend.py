"""`lapwright weekend FOLDER`: every log of a folder, in one table of all laps."""

import itertools
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click
import pandas as pd

from lapwright.batch import Weekend, logs_in, run_weekend
from lapwright.batch.worker import Result
from lapwright.cli.options import choice_of, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.change_text import change_lines, change_objects
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.progress import logs_done
from lapwright.cli.printing.table import rows_of, table
from lapwright.cli.printing.worth_text import wrapped
from lapwright.columns import names
from lapwright.columns.weekend import SESSIONS
from lapwright.discovery.library.track_folders import check_library
from lapwright.geometry import read_track
from lapwright.notes.time_zone import time_zone_for
from lapwright.units import Units, clock, error_bar
from lapwright.wording import folder as words
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.coaching.before_after import unclear_change
from lapwright.wording.heads import SCREEN, heads
from lapwright.wording.terms import PLUS_MINUS
from lapwright.wording.time_of_day import utc_and_local

SOME_FAILED = 3


@click.command("weekend")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR",
    help="The folder of the results (default: 'results' in FOLDER).",
)  # fmt: skip
@click.option(
    "--workers", type=click.IntRange(min=1), metavar="N",
    help="Number of parallel processes (default: one per processor).",
)  # fmt: skip
@track_options
@click.pass_context
def command(
    ctx: click.Context, /, folder: Path, out: Path | None, workers: int | None, **options: Any
) -> None:
    """
    Put the laps of every log in FOLDER into one table.

    The table is written as CSV, and as Parquet where pyarrow is installed.  A log that cannot be
    used is listed with the reason; running again does only what changed.  What came of each change
    to the car that weekend.toml names is shown with its interval.
    """
    choice = choice_of(options)
    if choice.tracks is not None:
        check_library(choice.tracks)
    # A copy of another log is not looked at, so the bar may be gone before its end.
    total = len(logs_in(folder))
    done = itertools.count(1)
    with choice.progress.step(logs_done(0, total)) as show:

        def progress(_path: Path, _result: Result) -> None:
            show(logs_done(next(done), total))

        weekend = run_weekend(
            folder, out, track=choice.track, tracks=choice.tracks, columns=choice.columns,
            repeat_line=choice.repeat_line, workers=workers, progress=progress, cache=choice.cache,
        )  # fmt: skip
    say.not_read(folder)
    for said in weekend.notes:
        say.note(f"track file: {said}")
    if choice.as_json:
        sessions = [
            {k: row[k] for k in names(SESSIONS, "json")} for row in rows_of(weekend.sessions)
        ]
        for one in sessions:
            one["reason"] = one["reason"] or None
            one["track"] = one["track"] or None
        write_json(sessions=sessions, changes=change_objects(weekend.changes), out=str(weekend.out))
        for session, entry in weekend.unclear_changes:
            say.note(unclear_change(session, entry))
        for said in words.copies(weekend.copies):
            say.note(said)
        for path in weekend.left_out:
            say.note(f"{path.name}: not a log, left out")
    else:
        members = {} if choice.track is None else read_track(choice.track).other_members
        click.echo("\n".join(_lines(weekend, members)))
    if weekend.failed:
        ctx.exit(SOME_FAILED)


def _lines(weekend: Weekend, members: Mapping[str, Any]) -> list[str]:
    good = [row for row in rows_of(weekend.sessions) if row["status"] == "ok"]
    head = heads(SCREEN, "sessions", Units())
    lines = [table(head, [_row(row) for row in good], left=[0, 1])]
    lines += ["", words.circuits(sorted({row["track"] for row in good if row["track"]}))]
    for row in good:
        said = "; ".join(text for text in (_began(row, members), words.noted(row)) if text)
        if said:
            lines += wrapped(said, f"{_stem(row)}: ")
    lines += change_lines(weekend)
    bad = weekend.sessions[weekend.sessions["status"] == "failed"]
    if len(bad):
        lines += ["", f"{words.NOT_USED} ({len(bad)}):"]
        for row in rows_of(bad):
            lines += wrapped(row["reason"], "- ")
    if weekend.copies:
        lines.append("")
    for said in words.copies(weekend.copies):
        lines += wrapped(said, "")
    if weekend.left_out:
        names = ", ".join(path.name for path in weekend.left_out)
        lines += ["", *wrapped(names, f"{words.LEFT_OUT}: ")]
    lines += [
        "",
        f"{weekend.done} analysed now, {weekend.kept} unchanged since last time. Written:",
        *(f"  {file}" for file in weekend.files),
        "median, spread [s]: median and standard deviation (sd) of the clean laps.",
        PLUS_MINUS,
        NOT_OFFICIAL,
    ]
    return lines


def _row(row: dict[str, Any]) -> list[str]:
    spread = error_bar(row["spread_s"], most=2)
    return [
        _stem(row),
        row["driver"],
        str(row["laps"]),
        str(row["clean_laps"]),
        clock(row["best_lap_s"], row["best_lap_sd_s"]),
        error_bar(row["best_lap_sd_s"]),
        clock(row["median_s"], most=2),
        "" if math.isnan(row["spread_s"]) else spread,
    ]


def _began(row: dict[str, Any], members: Mapping[str, Any]) -> str:
    """Say when a log begins; nothing where it has no date."""
    start = row["start_utc"]
    if pd.isna(start):
        return ""
    return utc_and_local(start, time_zone_for(Path(row["path"]), members))


def _stem(row: dict[str, Any]) -> str:
    return Path(row["path"]).name.split(".")[0]
