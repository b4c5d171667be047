"""`lapwright check LOG`: how a log was read, and what is odd in it."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.objects import log_object
from lapwright.cli.printing.progress import READING
from lapwright.cli.printing.table import table
from lapwright.cli.printing.terminal import write_out
from lapwright.ingest import Log
from lapwright.ingest.archive import folder_of
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import store_of
from lapwright.notes.time_zone import TimeZone, time_zone_for
from lapwright.units import clock
from lapwright.wording.findings import finding_text
from lapwright.wording.time_of_day import utc_and_local

_SCALES = {
    "utc": "UTC",
    "local": "local time with its offset from UTC",
    "gps": "GPS week and seconds",
    "time_of_day": "time of day, without a date",
    "relative": "from the logger's own start, without a date",
}


@click.command("check")
@log_argument
@track_options
def command(log: Path, **options: Any) -> None:
    """Show how LOG was read, column by column, and what is odd in it."""
    choice = choice_of(options)
    with choice.progress.step(READING):
        read, _ = read_with_map(log, choice.columns, store_of(choice.cache))
    say.not_read(folder_of(log), broken_too=True)
    zone = time_zone_for(read.path)
    if zone.odd:
        say.note(zone.odd)
    if choice.as_json:
        columns = [
            {"name": c.name, "read_as": c.read_as, "unit": c.unit, "filled": c.filled}
            for c in read.columns
        ]
        write_json(log=log_object(read), columns=columns)
        return
    write_out("\n".join(_lines(read, zone)))


def _lines(log: Log, zone: TimeZone) -> list[str]:
    # Scales without a date say so themselves.
    start = log.start_utc
    when = "" if start is None else f"; from {utc_and_local(start, zone, seconds=True)}"
    lines = [
        f"{log.path.name}: read as {log.reader.upper()}, {len(log.fixes)} fixes, "
        f"{log.rate_hz:.3g} per second, {_long(log.duration_s)}",
        f"time: {_SCALES.get(log.time_scale, log.time_scale)}{when}",
        "",
    ]
    if log.columns:
        rows = [
            [c.name, c.read_as or "(kept as it is)", c.unit or "", f"{100.0 * c.filled:.0f} %"]
            for c in log.columns
        ]
        lines += [table(["column", "read as", "unit", "filled"], rows, left=[0, 1, 2]), ""]
    if not log.findings:
        return [*lines, "Nothing odd in the log."]
    lines.append("Odd in the log:")
    lines += [f"- {finding_text(one)}" for one in log.findings]
    return lines


def _long(duration_s: float) -> str:
    """Say how long: minutes and seconds, or seconds with their unit."""
    return f"{duration_s:.0f} s" if duration_s < 60.0 else f"{clock(duration_s, most=0)} long"
