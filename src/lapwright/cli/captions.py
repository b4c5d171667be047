"""`lapwright captions LOG`: captions for an on-board video, as WebVTT and SubRip."""

from pathlib import Path
from typing import Any

import click
import pandas as pd

from lapwright.captions.caption_table import EVERY_S, caption_table, compared_with
from lapwright.captions.video_start import video_start_at_line, video_start_at_time
from lapwright.captions.write import captions_of, check_files, head_lines, write_cues
from lapwright.cli.opening import open_aloud
from lapwright.cli.options import Choice, choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.caption_text import caption_lines, caption_objects
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.progress import COMPARING, TIMING
from lapwright.cli.printing.terminal import write_out
from lapwright.notes.time_zone import time_zone_for
from lapwright.session import Session


@click.command("captions")
@log_argument
@click.option(
    "--line-at", metavar="TIME",
    help="When the car crosses the start line in the video, as your player shows it (3:12.4).",
)  # fmt: skip
@click.option(
    "--lap", type=int, metavar="LAP",
    help="With --line-at: the lap that begins then (default: the first timed lap).",
)  # fmt: skip
@click.option(
    "--video-start", metavar="TIME",
    help="Or when the recording began: date and time, or a clock time, with its zone "
    "(2026-05-01T10:15:03Z, or '12:15:03 local'), or seconds from the start of the log (-8.5 is "
    "before it).",
)  # fmt: skip
@click.option(
    "--every", type=click.FloatRange(0.1, 10.0), default=EVERY_S, show_default=True,
    metavar="SECONDS", help="Time from caption to caption.",
)  # fmt: skip
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE", multiple=True,
    help="FILE.vtt or FILE.srt; may be given twice (default: both, with the log's name, in the "
    "current folder).",
)  # fmt: skip
@click.option(
    "--reference", type=int, metavar="LAP", help="The reference lap (default: the best lap)."
)
@click.option(
    "--reference-log", type=click.Path(path_type=Path), metavar="LOG2",
    help="Take the reference lap from another log of the same circuit.",
)  # fmt: skip
@track_options
def command(
    log: Path, line_at: str | None, lap: int | None, video_start: str | None, every: float,
    out: tuple[Path, ...], reference: int | None, reference_log: Path | None, **options: Any,
) -> None:  # fmt: skip
    """Write captions of LOG for an on-board video: lap, time, delta, speed, corner."""
    if (line_at is None) == (video_start is None) or (lap is not None and line_at is None):
        msg = "Say where the video begins: --line-at (with --lap, if need be), or --video-start"
        raise click.UsageError(msg)
    choice = choice_of(options)
    stem = log.name.split(".")[0]
    files = list(dict.fromkeys(out)) or [Path(f"{stem}.vtt"), Path(f"{stem}.srt")]
    check_files(files, [log, reference_log, choice.track, choice.columns])
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session, other = _opened(log, reference_log, choice)
    with choice.progress.step(TIMING):
        _ = session.laps
        start_s = _start(session, line_at, lap, video_start)
    with choice.progress.step(COMPARING):
        table = caption_table(session, start_s, every_s=every, reference=reference, other=other)
        cues = captions_of(session, table, units, reference, other)
    write_cues(cues, files, log.name)
    base = session if other is None else other
    number = base.best_lap if reference is None else reference
    compared = compared_with(session, reference, other)
    laps = caption_objects(session, table, start_s, compared)
    if choice.as_json:
        zero = session.log.start_utc
        write_json(
            out=[str(file) for file in files],
            video_start_s=start_s,
            video_start_utc=None if zero is None else zero + pd.Timedelta(start_s, unit="s"),
            every_s=every,
            captions=len(table),
            reference=number,
            reference_log=None if reference_log is None else str(reference_log),
            laps=laps,
        )
        return
    delta_to = head_lines(base, number, own=other is None)[0] if number is not None else ""
    apart = other is not None
    said = caption_lines(session, table, laps, start_s, delta_to, files, other_log=apart)
    write_out("\n".join(said))


def _opened(
    log: Path, reference_log: Path | None, choice: Choice
) -> tuple[Session, Session | None]:
    """Open the log, and the one of the reference lap where there is one."""
    if reference_log is None:
        return open_aloud(log, choice), None
    # The reference's log lays down the path where the track file has none.
    other = open_aloud(reference_log, choice)
    return open_aloud(log, choice, beside=other), other


def _start(session: Session, line_at: str | None, lap: int | None, stamp: str | None) -> float:
    """When the video begins on the log's clock."""
    option = "--line-at" if stamp is None else "--video-start"
    try:
        if line_at is not None:
            return video_start_at_line(session, line_at, lap)
        zone = time_zone_for(session.log.path, session.shared_track.other_members)
        return video_start_at_time(session.log, stamp or "", zone)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint=f"'{option}'") from error
