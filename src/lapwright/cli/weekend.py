"""`lapwright weekend FOLDER`: every log of a folder, in one table of all laps."""

import itertools
import math
from collections.abc import Mapping
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import click
import pandas as pd

from lapwright.batch import Weekend, init_notes, logs_in, run_weekend
from lapwright.batch.cluster import executor_at
from lapwright.batch.worker import Result
from lapwright.cli.options import choice_of, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.change_text import change_lines, change_objects
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.progress import logs_done
from lapwright.cli.printing.table import rows_of, table
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.weekend_page import checked_page, write_pages
from lapwright.cli.printing.worth_text import wrapped
from lapwright.columns import names
from lapwright.columns.weekend import SESSIONS
from lapwright.discovery.library.track_folders import check_library
from lapwright.geometry import read_track
from lapwright.ingest.archive import folder_of
from lapwright.notes.time_zone import time_zone_for
from lapwright.units import Units, clock, error_bar
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.coaching.before_after import unclear_change
from lapwright.wording.event import folder as words
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
@click.option(
    "--report", is_flag=False, flag_value="", metavar="[FILE.html]",
    help="Write the weekend's page as well (default: weekend_report.html among the results).",
)  # fmt: skip
@click.option(
    "--pdf", type=click.Path(path_type=Path), metavar="FILE.pdf",
    help="Write it as a PDF as well.",
)  # fmt: skip
@click.option(
    "--init", is_flag=True,
    help="Write weekend.toml to be filled in, with every log and key; what is there stays.",
)  # fmt: skip
@click.option(
    "--season", metavar="DIR",
    help="Add the logs to the season in DIR as well (needs pyarrow).",
)  # fmt: skip
@click.option(
    "--scheduler", metavar="ADDRESS",
    help="Work on the Dask scheduler at ADDRESS, whose machines see the same files.",
)  # fmt: skip
@track_options
@click.pass_context
def command(
    ctx: click.Context, /, folder: Path, out: Path | None, workers: int | None,
    report: str | None, pdf: Path | None, init: bool, season: str | None, scheduler: str | None,
    **options: Any,
) -> None:  # fmt: skip
    """
    Put the laps of every log in FOLDER into one table.

    Folders in it and ZIP archives are looked through too.  The tables (laps, sectors, runs through
    corners, sessions, findings, engine) are written as CSV, and as Parquet where pyarrow is
    installed.  A log that cannot be used is listed with the reason; running again does only what
    changed.  What came of each change to the car that weekend.toml names is shown with its
    interval.  --report and --pdf write the sessions side by side: laps, drivers, every corner,
    what was tried, a card for next time.
    """
    choice = choice_of(options)
    if init:
        if choice.as_json:
            what = "--init writes the notes and nothing else; leave out --json"
            raise click.UsageError(what)
        write_out("\n".join(_prepared(folder)))
        return
    page = checked_page(report, pdf, folder, out)
    if choice.tracks is not None:
        check_library(choice.tracks)
    # A copy of another log is not looked at, so the bar may be gone before its end.
    total = len(logs_in(folder))
    done = itertools.count(1)
    with choice.progress.step(logs_done(0, total)) as show:

        def progress(_path: Path, _result: Result) -> None:
            show(logs_done(next(done), total))

        where = nullcontext() if scheduler is None else executor_at(scheduler)
        with where as executor:
            weekend = run_weekend(
                folder, out, track=choice.track, tracks=choice.tracks, columns=choice.columns,
                repeat_line=choice.repeat_line, workers=workers, executor=executor,
                progress=progress, cache=choice.cache, season=season,
            )  # fmt: skip
    for place in dict.fromkeys([folder, *(folder_of(Path(p)) for p in weekend.sessions["path"])]):
        say.not_read(place)
    write_pages(weekend, page, pdf, choice)
    for said in weekend.notes:
        say.note(f"track file: {said}")
    for said in weekend.refused:
        say.note(said)
    if choice.as_json:
        sessions = [
            {k: row[k] for k in names(SESSIONS, "json")} for row in rows_of(weekend.sessions)
        ]
        for one in sessions:
            one["reason"] = one["reason"] or None
            one["track"] = one["track"] or None
        write_json(
            sessions=sessions,
            changes=change_objects(weekend.changes),
            out=str(weekend.out),
            report=None if page is None else str(page),
            pdf=None if pdf is None else str(pdf),
        )
        for session, entry in weekend.unclear_changes:
            say.note(unclear_change(session, entry))
        for said in _copies(weekend):
            say.note(said)
        for path in weekend.left_out:
            say.note(f"{weekend.below(path)}: not a log, left out")
    else:
        members = {} if choice.track is None else read_track(choice.track).other_members
        written = [file for file in (page, pdf) if file is not None]
        write_out("\n".join(_lines(weekend, members, written)))
    if weekend.failed:
        ctx.exit(SOME_FAILED)


def _lines(weekend: Weekend, members: Mapping[str, Any], written: list[Path]) -> list[str]:
    good = [row for row in rows_of(weekend.sessions) if row["status"] == "ok"]
    head = heads(SCREEN, "sessions", Units())
    lines = [table(head, [_row(row) for row in good], left=[0, 1])]
    lines += ["", words.circuits(sorted({row["track"] for row in good if row["track"]}))]
    for row in good:
        said = "; ".join(text for text in (_began(row, members), words.noted(row)) if text)
        if said:
            lines += wrapped(said, f"{row['session']}: ")
    lines += change_lines(weekend)
    bad = weekend.sessions[weekend.sessions["status"] == "failed"]
    if len(bad):
        lines += ["", f"{words.NOT_USED} ({len(bad)}):"]
        for row in rows_of(bad):
            lines += wrapped(row["reason"], "- ")
    if weekend.copies:
        lines.append("")
    for said in _copies(weekend):
        lines += wrapped(said, "")
    if weekend.left_out:
        names = ", ".join(map(weekend.below, weekend.left_out))
        lines += ["", *wrapped(names, f"{words.LEFT_OUT}: ")]
    lines += [
        "",
        f"{weekend.done} analysed now, {weekend.kept} unchanged since last time. Written:",
        *_written(weekend),
        *(f"  {file}" for file in written),
        "median, spread [s]: median and standard deviation (sd) of the clean laps.",
        PLUS_MINUS,
        NOT_OFFICIAL,
    ]
    return lines


def _row(row: dict[str, Any]) -> list[str]:
    spread = error_bar(row["spread_s"], most=2)
    return [
        row["session"],
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


def _copies(weekend: Weekend) -> list[str]:
    return words.copies((weekend.below(a), weekend.below(b)) for a, b in weekend.copies)


def _written(weekend: Weekend) -> list[str]:
    """Name each table once, with what it is written as."""
    endings: dict[Path, list[str]] = {}
    for file in weekend.files:
        endings.setdefault(file.with_suffix(""), []).append(file.suffix)
    lines = [f"  {stem}{', '.join(each)}" for stem, each in endings.items()]
    if weekend.season is None:
        return lines
    good = int((weekend.sessions["status"] == "ok").sum())
    return [*lines, f"  {words.season(good, weekend.season)}"]


def _prepared(folder: Path) -> list[str]:
    """Prepare the notes, and say what became of them."""
    lines = []
    for one in init_notes(folder):
        lines.append(f"{one.path}:")
        for said in words.prepared(one.added, one.already):
            lines += wrapped(said, "  ")
    return [*lines, words.FILL_IN]
