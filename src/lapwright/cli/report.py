"""`lapwright report LOG`: the coach's report, as one HTML file, a PDF and tables."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.previous import came_of_it
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.progress import CORNERS, TIMING, WRITING
from lapwright.cli.printing.terminal import write_out
from lapwright.outputs import check_ending, check_targets
from lapwright.report import write_html, write_pdf, write_tables
from lapwright.session import Session
from lapwright.wording.cautions import NOT_OFFICIAL


@click.command("report")
@log_argument
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.html",
    help="The report (default: the log's name with '_report.html', in the current folder).",
)  # fmt: skip
@click.option(
    "--pdf", type=click.Path(path_type=Path), metavar="FILE.pdf", help="Write a PDF as well."
)
@click.option(
    "--tables", type=click.Path(path_type=Path), metavar="DIR",
    help="Write every table as CSV (and Parquet where pyarrow is installed) as well.",
)  # fmt: skip
@click.option("--reference", type=int, metavar="LAP", help="A lap to compare the best lap with.")
@click.option(
    "--reference-log", type=click.Path(path_type=Path), metavar="LOG2",
    help="Take that lap (default: its best) from another log of the same circuit.",
)  # fmt: skip
@track_options
def command(
    log: Path, out: Path | None, pdf: Path | None, tables: Path | None, reference: int | None,
    reference_log: Path | None, **options: Any,
) -> None:  # fmt: skip
    """Write the coach's report of LOG: one HTML file that needs no network."""
    choice = choice_of(options)
    target = Path(f"{log.name.split('.')[0]}_report.html") if out is None else out
    check_targets([target, pdf], [log, reference_log, choice.track, choice.columns])
    check_ending(target, (".html", ".htm"))
    check_ending(pdf, (".pdf",))
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    compared: int | tuple[Session, int | None] | None = reference
    if reference_log is None:
        session = open_aloud(log, choice, notes_aloud=False)
    else:
        base = open_aloud(reference_log, choice)
        session = open_aloud(log, choice, beside=base, notes_aloud=False)
        compared = (base, reference)
    with choice.progress.step(TIMING):
        _ = session.laps
    with choice.progress.step(CORNERS):
        _ = session.judgement
    came = came_of_it(session, units, choice.progress)
    with choice.progress.step(WRITING):
        write_html(session, target, compared, None, came.texts, units, came.name)
        if pdf is not None:
            write_pdf(session, pdf, compared, None, came.texts, units, came.name)
        if tables is not None:
            write_tables(session, tables, units)
    if choice.as_json:
        written = {"out": target, "pdf": pdf, "tables": tables}
        write_json(**{k: None if v is None else str(v) for k, v in written.items()})
        return
    write_out("\n".join(f"Written: {v}" for v in (target, pdf, tables) if v is not None))
    write_out(NOT_OFFICIAL)
