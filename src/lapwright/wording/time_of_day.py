"""Times of day as people read them: in UTC, and on the clock of the paddock."""

import pandas as pd

from lapwright.notes.time_zone import TimeZone, short_name


def utc_and_local(moment: pd.Timestamp, zone: TimeZone, *, seconds: bool = False) -> str:
    """
    Write a moment in UTC, and in local time where that is another.

    Parameters
    ----------
    moment : Timestamp
        With a zone.
    zone : TimeZone
    seconds : bool

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import timedelta, timezone
    >>> zone = TimeZone("here", timezone(timedelta(hours=10), "+10"))
    >>> utc_and_local(pd.Timestamp("2026-02-06T00:12:04Z"), zone)
    '2026-02-06 00:12 UTC (10:12 UTC+10)'
    >>> utc_and_local(pd.Timestamp("2026-02-06T20:12:04Z"), zone, seconds=True)
    '2026-02-06 20:12:04 UTC (2026-02-07 06:12:04 UTC+10)'
    """
    clock = "%H:%M:%S" if seconds else "%H:%M"
    utc = moment.tz_convert("UTC").to_pydatetime(warn=False)
    local = zone.local(utc)
    text = f"{utc:%Y-%m-%d {clock}} UTC"
    if local.tzname() == "UTC":
        return text
    # The day is said where it is another one.
    day = "" if local.date() == utc.date() else f"{local:%Y-%m-%d} "
    return f"{text} ({day}{local:{clock}} {short_name(local)})"
