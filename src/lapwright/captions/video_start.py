"""
When a video begins on the log's clock: from a time stamp, or from a passage of the start line.

A camera's clock says little by itself: some write UTC, most the local time, none which.  So a time
of day has to come with its zone, and is never guessed.
"""

import re
from datetime import UTC, datetime, time, timedelta

import pandas as pd

from lapwright.arguments import checked
from lapwright.discovery.moment import moment_s
from lapwright.errors import LapError, LogError
from lapwright.ingest import Log
from lapwright.notes.time_zone import TimeZone
from lapwright.session import Session

_SECONDS = re.compile(r"[+-]?\d+(?:\.\d+)?")
_VIDEO = re.compile(r"(?:(?:(\d+):)?(\d{1,3}):)?(\d+(?:[.,]\d+)?)")
_ZONE = re.compile(r"(.*?)\s*(utc|local)", re.IGNORECASE)
_FORMS = (
    "Give date and time with their zone (2026-05-01T10:15:03Z, or 2026-05-01 12:15:03 local), a "
    "clock time (10:15:03 UTC, or 12:15:03 local), or seconds from the start of the log (12.5)"
)


@checked
def video_start_at_time(log: Log, time_stamp: float | str, zone: TimeZone | None = None) -> float:
    """
    Find the start of a video on a log's clock from the time at which it was begun.

    Parameters
    ----------
    log : Log
    time_stamp : float or str
        Seconds from the first usable fix, less than zero where the video begins before it; or an
        ISO 8601 date and time, or a clock time, with an offset, ``Z``, ``UTC`` or ``local`` behind
        it.  Of a log without a date, the time of day on its own clock.
    zone : TimeZone, optional
        What ``local`` means; the computer's own zone where not given.

    Returns
    -------
    float
        [s]

    Raises
    ------
    ValueError
        If it is no such time, or does not say which zone it is in.
    LogError
        If the log has no date to find it by.

    Examples
    --------
    >>> start_s = lw.captions.video_start_at_time(session.log, "2026-02-07T02:41:05Z")
    >>> start_s < session.log.duration_s
    True
    >>> lw.captions.video_start_at_time(session.log, -8.5)
    -8.5
    """
    text = str(time_stamp).strip()
    if _SECONDS.fullmatch(text):
        return float(text)
    worded = _ZONE.fullmatch(text)
    bare, word = (worded[1], worded[2].lower()) if worded else (text, "")
    day, clock = _parsed(bare, text)
    if log.start_utc is None:
        if log.time_scale == "time_of_day" and day is None and not word and clock.tzinfo is None:
            return moment_s(log, clock.isoformat())
        what = "the log has no date, so a time with a zone cannot be found in it"
        raise LogError(what, log.path, hint="Give --line-at, or seconds from the start of the log")
    if (clock.tzinfo is None) != bool(word):
        msg = f"{text!r} does not say which zone it is in. {_FORMS}"
        raise ValueError(msg)
    moments = _moments(day, clock, word, zone or TimeZone(), log.start_utc)
    since_s = [(moment - log.start_utc).total_seconds() for moment in moments]
    return min(since_s, key=lambda s: max(-s, s - log.duration_s, 0.0))


@checked
def video_start_at_line(session: Session, video_time: float | str, lap: int | None = None) -> float:
    """
    Find the start of a video on the log's clock from a passage of the start line.

    Parameters
    ----------
    session : Session
    video_time : float or str
        When the car crosses the start line in the video: seconds, or as players show it
        (``"3:12.4"``, ``"1:03:12.4"``). [s]
    lap : int, optional
        The lap that begins then; the first timed lap where not given.

    Returns
    -------
    float
        As exact as the time in the video. [s]

    Raises
    ------
    ValueError
        If the time in the video cannot be read.
    LapError
        If there is no such lap, or it does not begin at the line.

    Examples
    --------
    >>> start_s = lw.captions.video_start_at_line(session, "3:12.4", lap=2)
    >>> f"{session.row(2)['start_s'] - start_s:.1f} s"
    '192.4 s'
    """
    at_s = video_time_s(video_time)
    passages_s = session.cuts.passages["time_s"].to_numpy()
    if lap is None:
        laps = session.laps
        first = laps.loc[laps["kind"] == "timed", "lap"]
        # Without a timed lap there may be one that began at the line and ended in the pits.
        first = laps.loc[laps["kind"] == "in", "lap"] if first.empty else first
        if first.empty:
            msg = "the car does not begin a lap at the start line; give the time stamp of the video"
            raise LapError(msg)
        lap = int(first.iloc[0])
    start_s = float(session.row(lap)["start_s"])
    if not (abs(passages_s - start_s) < 1e-6).any():
        msg = f"lap {lap} begins with the log, not at the start line; name another lap"
        raise LapError(msg)
    return start_s - at_s


def video_time_s(video_time: float | str) -> float:
    """
    Read a time as players show it.

    Examples
    --------
    >>> video_time_s("3:12.4"), video_time_s("1:03:12,4"), video_time_s(75)
    (192.4, 3792.4, 75.0)
    """
    found = _VIDEO.fullmatch(str(video_time).strip())
    if found is not None:
        hours, minutes = int(found[1] or 0), int(found[2] or 0)
        seconds = float(found[3].replace(",", "."))
        if (not found[2] or seconds < 60.0) and (not found[1] or minutes < 60):
            return 3600.0 * hours + 60.0 * minutes + seconds
    msg = (
        f"{video_time!r} is not a time in a video. Give minutes and seconds as your player shows "
        "them (3:12.4, or 1:03:12.4), or seconds (192.4)"
    )
    raise ValueError(msg)


def _parsed(bare: str, text: str) -> tuple[datetime | None, time]:
    """Return day and time of day, the day None for a clock time."""
    padded = f"0{bare}" if re.match(r"\d:", bare) else bare
    try:
        if re.match(r"\d\d:", padded):
            return None, time.fromisoformat(padded)
        if not re.search(r"\d\d:\d\d", padded):
            # A date alone is no moment.
            raise ValueError
        whole = datetime.fromisoformat(padded)
    except ValueError as error:
        msg = f"{text!r} is not a time at which a video can begin. {_FORMS}"
        raise ValueError(msg) from error
    return whole, whole.timetz()


def _moments(
    day: datetime | None, clock: time, word: str, zone: TimeZone, start: pd.Timestamp
) -> list[pd.Timestamp]:
    """Moments that may be meant: of a clock time on the days around, of either side of a change."""
    near = start.to_pydatetime(warn=False)
    if day is not None:
        days = [day.date()]
    else:
        days = [near.date() + timedelta(days=k) for k in (-1, 0, 1)]
    out = []
    for one in days:
        for fold in (0, 1):
            moment = datetime.combine(one, clock.replace(fold=fold))
            if word == "utc":
                moment = moment.replace(tzinfo=UTC)
            elif word == "local":
                # Without a zone of its own Python takes the computer's.
                moment = moment.replace(tzinfo=zone.zone)
            out.append(pd.Timestamp(moment.astimezone(UTC)))
    return out
