"""
`Log`: one recorded file as read, with what was odd about it.

A log knows nothing of tracks or laps.  Its fixes are in SI units and in time
order; every one keeps the line it stood on, so that whatever is said later
about a place in the log can be looked up in the file with an editor.
"""

from dataclasses import dataclass, field, replace
from pathlib import Path

import pandas as pd

from lapwright.arguments import checked
from lapwright.errors import one_line


@dataclass(frozen=True, slots=True)
class Finding:
    """
    One thing noticed in a log.

    Attributes
    ----------
    code : str
        A stable short name, in lower case with underscores (``"gap"``).
    message : str
        One sentence for a person: what it is and what was done about it.
    lines : tuple of (int, int)
        First and last line of each stretch concerned, counted from 1.  Empty
        where the whole file is meant.
    count : int
        How many times it occurs.

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.Finding("gap", "one gap of 3.8 s", ((36, 36),)).lines
    ((36, 36),)
    """

    code: str
    message: str
    lines: tuple[tuple[int, int], ...] = ()
    count: int = 1

    def __post_init__(self) -> None:
        # A message may name what stands in the file, and that may be anything.
        object.__setattr__(self, "message", one_line(self.message))


def lines_in_file(lines: tuple[tuple[int, int], ...]) -> str:
    """
    Return all line numbers of a finding, for a reader and for a program.

    Examples
    --------
    >>> lines_in_file(((36, 36), (194, 197)))
    '36, 194-197'
    """
    return ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in lines)


@dataclass(frozen=True, slots=True)
class ColumnReading:
    """How one column of a file was read: its name, meaning, unit and filled share (0 to 1)."""

    name: str
    read_as: str | None
    unit: str | None
    filled: float


@dataclass(frozen=True, eq=False)
class Log:
    """
    One recorded file.

    Attributes
    ----------
    path : Path
        The file, which is never written to.
    reader : str
        The name of the reader that took it: ``"csv"``, ``"gpx"``, ``"nmea"`` or a plug-in's.
    fixes : DataFrame
        One row a usable fix, in order of time, index 0 to n-1.  Always there:
        ``line`` (int, from 1), ``time_s`` (seconds since the first usable fix, so the first
        is 0.0, strictly increasing), ``lat_deg``, ``lon_deg`` (WGS 84, lon in [-180, 180)),
        ``frozen`` (bool: a repeat of the previous position while moving, no news).
        Where logged: ``height_m``, ``speed_mps`` (over ground), ``course_deg`` (clockwise from
        true north, NaN where not given), ``position_sd_m`` (one sigma per horizontal axis, from
        the receiver's own accuracy column), ``speed_sd_mps``, ``hdop``, ``satellites``.
    channels : DataFrame
        Everything else under its own name, with ``line`` and ``time_s`` first; one row a line
        that holds any of it, also lines without a position (another rate).
    channel_units : dict
        Unit of each channel as the file states it, or None.
    roles : dict
        Which channel is what the driver does: keys among ``"throttle"``, ``"brake"``,
        ``"steering"``, ``"rpm"``, ``"gear"``; values are channel names.
    time_scale : str
        The time as recorded: ``"utc"``, ``"local"``, ``"gps"``, ``"time_of_day"`` or
        ``"relative"``.
    first_fix_s : float
        The first usable fix on the file's own time axis after any repair: seconds since 1970
        (UTC) for an absolute time, since midnight for a time of day, else as in the file.
    start_utc : Timestamp or None
        UTC of the first usable fix; None when the file has no date.
    rate_hz : float
        The usual number of fixes a second (1 / median step).
    own_clock : bool
        Whether the times count on the logger's own clock (quartz) instead of the receiver's.
    findings : tuple of Finding
        What was odd, in order of importance.
    columns : tuple of ColumnReading
        How each column of the file was understood, in file order.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> log.reader, f"{log.duration_s:.1f} s", f"{log.start_utc:%Y-%m-%d}"
    ('gpx', '790.1 s', '2026-02-07')
    """

    path: Path
    reader: str
    fixes: pd.DataFrame
    channels: pd.DataFrame
    time_scale: str
    first_fix_s: float
    start_utc: pd.Timestamp | None
    rate_hz: float
    own_clock: bool = False
    findings: tuple[Finding, ...] = ()
    columns: tuple[ColumnReading, ...] = ()
    channel_units: dict[str, str | None] = field(default_factory=dict)
    roles: dict[str, str] = field(default_factory=dict)

    @property
    def duration_s(self) -> float:
        """
        Time from the first to the last usable fix. [s].

        Examples
        --------
        >>> session.log.duration_s
        790.1
        """
        return float(self.fixes["time_s"].iloc[-1]) if len(self.fixes) else 0.0

    @checked
    def with_findings(self, *more: Finding) -> "Log":
        """
        Return the same log with further findings at the end.

        Parameters
        ----------
        *more : Finding

        Returns
        -------
        Log

        Examples
        --------
        >>> log = session.log.with_findings(lw.Finding("note", "the marshal's watch ran late"))
        >>> log.findings[-1].code
        'note'
        """
        return replace(self, findings=(*self.findings, *more))
