"""`lapwright laps LOG`: laps and sectors, with their error bars."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.lap_text import closing_lines, header_lines, lap_lines, summary_lines
from lapwright.cli.printing.objects import session_object
from lapwright.cli.printing.progress import TIMING
from lapwright.cli.printing.terminal import write_out


@click.command("laps")
@log_argument
@track_options
def command(log: Path, **options: Any) -> None:
    """Show the laps and sectors of LOG, each with its error bar."""
    choice = choice_of(options)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session = open_aloud(log, choice)
    with choice.progress.step(TIMING):
        _ = session.laps
    if choice.as_json:
        write_json(**session_object(session))
        return
    lines = [*header_lines(session, units), "", *lap_lines(session, units), ""]
    lines += [*summary_lines(session, units), *closing_lines()]
    write_out("\n".join(lines))
