"""What a command says of the captions it has written: which laps are in the video, and where."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from lapwright.cli.printing.table import rows_of, table
from lapwright.cli.printing.worth_text import wrapped
from lapwright.laps.comparison import Comparison
from lapwright.notes.time_zone import time_zone_for
from lapwright.session import Session
from lapwright.units import clock, error_bar
from lapwright.wording.captions import delta_text, running_clock
from lapwright.wording.cautions import AS_DRIVEN, NOT_OFFICIAL, OTHER_CAR, WATCH_AFTERWARDS
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.terms import PLUS_MINUS
from lapwright.wording.time_of_day import utc_and_local

_CHECK = (
    "Check it with the picture: the car is on the start line when a lap begins. If it is not, give "
    "--line-at again. Times and delta do not depend on it."
)


def caption_objects(
    session: Session, captions: pd.DataFrame, start_s: float, compared: Mapping[int, Comparison]
) -> list[dict[str, Any]]:
    """
    Return the laps that are in a video, one object each.

    Parameters
    ----------
    session : Session
    captions : DataFrame
        See `lapwright.captions.caption_table`.
    start_s : float
        When the video begins, on the log's clock. [s]
    compared : mapping of int to Comparison
        With the reference lap, by lap.

    Returns
    -------
    list of dict
        A lap that began before the video begins at less than zero.
    """
    out = []
    for row in rows_of(session.laps[session.laps["lap"].isin(captions["lap"])]):
        timed, one = row["kind"] == "timed", compared.get(int(row["lap"]))
        out.append(
            {
                "lap": row["lap"], "kind": row["kind"],
                "video_start_s": row["start_s"] - start_s,
                "video_end_s": row["end_s"] - start_s,
                "time_s": row["time_s"] if timed else None,
                "time_sd_s": row["time_sd_s"] if timed else None,
                "delta_s": None if one is None else one.time_difference_s,
                "delta_sd_s": None if one is None else one.time_difference_sd_s,
                "flags": list(row["flags"]),
            }
        )  # fmt: skip
    return out


def caption_lines(
    session: Session, captions: pd.DataFrame, laps: Sequence[Mapping[str, Any]], start_s: float,
    delta_to: str, files: Sequence[Path], *, other_log: bool,
) -> list[str]:  # fmt: skip
    """
    Say what was written, and how to see whether picture and captions go together.

    Parameters
    ----------
    session, captions, start_s
        As for `caption_objects`.
    laps : sequence of mapping
        From `caption_objects`.
    delta_to : str
        What the delta is to; empty where there is no reference.
    files : sequence of Path
        Where they were written.
    other_log : bool
        Whether the reference lap is from another log.

    Returns
    -------
    list of str
    """
    first, last = float(captions["video_start_s"].iloc[0]), float(captions["video_end_s"].iloc[-1])
    where = f"{_long(abs(start_s))} {'into' if start_s >= 0.0 else 'before'} the log"
    zero = session.log.start_utc
    if zero is not None:
        zone = time_zone_for(session.log.path, session.shared_track.other_members)
        moment = zero + pd.Timedelta(start_s, unit="s")
        where += f", {utc_and_local(moment, zone, seconds=True)}"
    lines = [
        f"{session.log.path.name}: {len(captions)} captions, {running_clock(first)} to "
        f"{running_clock(last)} of the video",
        *wrapped(f"The video begins {where}."),
        *([f"{delta_to}."] if delta_to else ["No delta: there is no reference lap."]),
        "",
        table(["lap", "begins", "time", "\N{PLUS-MINUS SIGN}", "delta", ""],
              [_row(one) for one in laps], left=[5]),
        "",
    ]  # fmt: skip
    lines += [f"Written to {' and '.join(map(str, files))}.", "", *wrapped(_CHECK)]
    lines += wrapped(WATCH_AFTERWARDS) + wrapped(OTHER_CAR if other_log else AS_DRIVEN)
    return [*lines, PLUS_MINUS, NOT_OFFICIAL]


def _row(lap: Mapping[str, Any]) -> list[str]:
    begins, time, sd = lap["video_start_s"], lap["time_s"], lap["time_sd_s"]
    known = time is not None and math.isfinite(time)
    delta = math.nan if lap["delta_s"] is None else lap["delta_s"]
    kind = "" if lap["kind"] == "timed" else KIND_WORDS[str(lap["kind"])]
    return [
        str(lap["lap"]),
        running_clock(begins) if begins >= 0.0 else "before",
        clock(time, sd) if known else "",
        error_bar(sd) if known else "",
        delta_text(delta, lap["delta_sd_s"] or 0.0),
        ", ".join(filter(None, [kind, flag_list(lap["flags"])])),
    ]


def _long(duration_s: float) -> str:
    return f"{duration_s:.1f} s" if duration_s < 60.0 else clock(duration_s, most=1)
