"""`lapwright align LOG OTHER`: two logs of one car, their clocks aligned by how it moved."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.alignment_text import alignment_lines
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.progress import ALIGNING, READING, WRITING_LOG
from lapwright.cli.printing.terminal import write_out
from lapwright.ingest import Log
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import store_of
from lapwright.outputs import check_targets
from lapwright.two_logs import Alignment, align_logs, with_channels_of, write_log
from lapwright.two_logs.write import check_free
from lapwright.units import Units


@click.command("align")
@log_argument
@click.argument("other", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.csv",
    help="Write LOG with the columns of OTHER to a new file, which is read like any log.",
)  # fmt: skip
@click.option(
    "--other-columns", type=click.Path(path_type=Path), metavar="FILE",
    help="A column map for OTHER (default: the one beside it, where it fits).",
)  # fmt: skip
@track_options
def command(
    log: Path, other: Path, out: Path | None, other_columns: Path | None, **options: Any
) -> None:
    """
    Align two logs of one car, such as a phone's and a logger's, by how the car moved.

    Neither clock is trusted. LOG is the one with the better positions; --out puts the columns of
    OTHER (engine speed, pedals, ...) on its time, so that they stand on its laps.
    """
    choice = choice_of(options)
    check_targets([out], [log, other, choice.columns, other_columns])
    check_free(out)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    store = store_of(choice.cache)
    with choice.progress.step(READING):
        one, _ = read_with_map(log, choice.columns, store)
        two, _ = read_with_map(other, other_columns, store)
    with choice.progress.step(ALIGNING):
        found = align_logs(one, two)
    written = None
    if out is not None:
        with choice.progress.step(WRITING_LOG):
            written = write_log(with_channels_of(one, two, found), out)
    if choice.as_json:
        write_json(**_object(one, two, found, written))
        return
    write_out("\n".join(_lines(one, two, found, written, units)))


def _object(one: Log, two: Log, found: Alignment, written: Path | None) -> dict[str, Any]:
    apart_s = None
    if one.start_utc is not None and two.start_utc is not None:
        apart_s = found.offset_s + (two.start_utc - one.start_utc).total_seconds()
    return {
        "log": str(one.path), "other": str(two.path), "at_s": found.at_s,
        "offset_s": found.offset_s, "offset_sd_s": found.offset_sd_s, "rate": found.rate,
        "rate_sd": found.rate_sd, "overlap_s": found.overlap_s,
        "clocks_apart_s": apart_s,
        "position_rms_m": found.position_rms_m, "speed_rms_mps": found.speed_rms_mps,
        "misfit": found.misfit, "out": None if written is None else str(written),
    }  # fmt: skip


def _lines(
    one: Log, two: Log, found: Alignment, written: Path | None, units: Units
) -> list[str]:  # fmt: skip
    lines = alignment_lines(one, two, found, units)
    if written is not None:
        lines += ["", f"Written: {written}. It is read like any log: lapwright debrief {written}"]
    return lines
