"""Captions to files: whole ones or none, and never over what Lapwright has not written."""

import math
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path

import pandas as pd

from lapwright.arguments import checked
from lapwright.captions.caption_table import EVERY_S, HOLD_S, caption_table, compared_with
from lapwright.captions.subtitles import Cue, subrip, webvtt
from lapwright.columns import records
from lapwright.errors import OutputError
from lapwright.laps.comparison import Comparison
from lapwright.outputs import check_ending, check_targets, whole_file
from lapwright.session import Session
from lapwright.units import Units, clock, error_bar
from lapwright.wording.captions import caption_lines, done_line
from lapwright.wording.cautions import NOT_OFFICIAL, WATCH_AFTERWARDS

ENDINGS = (".vtt", ".srt")
# Who made a file: in its first lines, so that it may be written again.
_MADE_BY = "Lapwright"
_HEAD_BYTES = 2000


@checked
def write_captions(
    session: Session, path: str | Path, video_start_s: float, *, every_s: float = EVERY_S,
    reference: int | None = None, other: Session | None = None, units: Units | str = "km/h",
) -> pd.DataFrame:  # fmt: skip
    """
    Write the captions of a video.

    Parameters
    ----------
    session : Session
    path : str or Path
        Its ending says what is written: ``.vtt`` for WebVTT, ``.srt`` for SubRip.
    video_start_s : float
        When the video begins, on the log's clock. [s]
    every_s, reference, other
        As for `caption_table`.
    units : Units or str
        For speeds.

    Returns
    -------
    DataFrame
        What is in it, see `caption_table`.

    Raises
    ------
    OutputError
        If the file cannot be written, has another ending, is the log, or holds captions that
        Lapwright has not written.
    LogError, LapError, ValueError
        As `caption_table`.

    References
    ----------
    "WebVTT: The Web Video Text Tracks Format", W3C Candidate Recommendation, 4 April 2019.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> start_s = lw.captions.video_start_at_line(session, "0:05.0")
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder, "lap.vtt")
    ...     table = lw.captions.write_captions(session, file, start_s)
    ...     file.read_text(encoding="utf-8")[:6]
    'WEBVTT'
    """
    file = Path(path)
    check_files([file], [session.log.path])
    table = caption_table(session, video_start_s, every_s=every_s, reference=reference, other=other)
    chosen = units if isinstance(units, Units) else Units.parse(units)
    write_cues(captions_of(session, table, chosen, reference, other), [file], session.log.path.name)
    return table


def captions_of(
    session: Session, table: pd.DataFrame, units: Units, reference: int | None = None,
    other: Session | None = None,
) -> list[Cue]:  # fmt: skip
    """
    Put a table of captions into words.

    Parameters
    ----------
    session : Session
    table : DataFrame
        See `caption_table`.
    units : Units
    reference, other
        As for `caption_table`.

    Returns
    -------
    list of Cue
        The first ones also say what the delta is to, and what captions are not for.
    """
    compared = compared_with(session, reference, other)
    names = {corner.order: corner.given_name for corner in session.track.corners}
    laps = {int(row["lap"]): row for row in records(session.laps)}
    done = {
        n: done_line(row, *_at_line(compared, n))
        for n, row in laps.items()
        if row["kind"] == "timed"
    }
    base = session if other is None else other
    number = base.best_lap if reference is None else reference
    head = head_lines(base, number, own=base is session)
    rows = records(table)
    until_s = float(rows[0]["video_start_s"]) + HOLD_S
    cues = []
    for row in rows:
        lines = caption_lines(row, names, units, reference=base is session and row["lap"] == number)
        ended = int(row["done_lap"])
        lines = [done[ended], *lines] if ended in done else lines
        lines += head if row["video_start_s"] < until_s else []
        cues.append(Cue(row["video_start_s"], row["video_end_s"], tuple(filter(None, lines))))
    return cues


def head_lines(base: Session, reference: int | None, *, own: bool) -> list[str]:
    """Say what the delta is to and what captions are not for: for the first captions."""
    said = [f"{_MADE_BY}: {NOT_OFFICIAL}", WATCH_AFTERWARDS]
    if reference is None:
        return said
    row = base.row(reference)
    time_s, sd_s = float(row["time_s"]), float(row["time_sd_s"])
    place = "" if own else f" of {base.log.path.name}"
    time = f"{clock(time_s, sd_s)} \N{PLUS-MINUS SIGN} {error_bar(sd_s)} s"
    return [f"Delta to lap {reference}{place}, {time}", *said]


def check_files(files: Sequence[Path], inputs: Sequence[Path | None]) -> None:
    """
    Refuse files that are no captions, or somebody else's.

    Parameters
    ----------
    files : sequence of Path
        To be written.
    inputs : sequence of Path or None
        What is read.

    Raises
    ------
    OutputError
        If one has another ending, is one of the inputs, or holds captions of another hand.
    """
    check_targets(files, inputs)
    for file in files:
        check_ending(file, ENDINGS)
        if file.exists() and not _is_ours(file):
            what = f"is there already, and {_MADE_BY} has not written it"
            raise OutputError(what, file, hint="Give the captions another name with --out")


def _is_ours(file: Path) -> bool:
    try:
        with file.open("rb") as stream:
            return _MADE_BY.encode() in stream.read(_HEAD_BYTES)
    except OSError:
        return False


def write_cues(cues: Sequence[Cue], files: Sequence[Path], log_name: str) -> None:
    """
    Write cues to files, all of them or none.

    Parameters
    ----------
    cues : sequence of Cue
    files : sequence of Path
        WebVTT or SubRip, by their endings.
    log_name : str
        For the head of a WebVTT file.

    Raises
    ------
    OutputError
        If one cannot be written.
    """
    note = f"Made by {_MADE_BY} from {log_name}. {WATCH_AFTERWARDS} {NOT_OFFICIAL}"
    with ExitStack() as stack:
        # No file takes its name before all are written.
        for file in files:
            part = stack.enter_context(whole_file(file))
            is_srt = file.suffix.lower() == ".srt"
            text = subrip(cues) if is_srt else webvtt(cues, note)
            part.write_text(text, encoding="utf-8", newline="\n")


def _at_line(compared: Mapping[int, Comparison], lap: int) -> tuple[float, float]:
    """Delta of a whole lap and its error bar; NaN where it has no reference."""
    if lap not in compared:
        return math.nan, math.nan
    return compared[lap].time_difference_s, compared[lap].time_difference_sd_s
