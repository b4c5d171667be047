"""
A start/finish line from a moment of a log: where the car was, square to the way it went.

For the racer who knows when they were at the line - from the log itself, a
stopwatch, a note - and has neither a map nor coordinates.
"""

import re
from dataclasses import replace
from datetime import datetime

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.discovery.ground_height import ground_height
from lapwright.discovery.loop.reference import check_near
from lapwright.errors import TrackError
from lapwright.geometry.gate import Gate
from lapwright.geometry.track import GATE_WIDTH_M, Track
from lapwright.ingest.log import Log
from lapwright.motion import MotionState, estimate_motion
from lapwright.plane import Plane

Moment = float | str | datetime

# So much of the log on either side says what the smoother needs to know. [s]
_AROUND_S = 60.0
# Below it the direction of travel is the receiver's noise. [m/s]
_CREEPING_MPS = 2.0
# A hole longer than this, or than two and a half steps, says little of what was in it. [s]
_HOLE_S = 1.0
_DAY_S = 86_400.0
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?")

# A time of the day has no decimals after its minutes, so this can only be minutes and seconds.
_MINUTES = re.compile(r"(\d{1,3}):([0-5]\d[.,]\d+)")
# A proposed sector line this near to the new line would cut off a sector of no use. [m]
_NO_SECTOR_M = 50.0


@checked
def start_line_at_time(
    log: Log, time: Moment, track: Track | None = None, width_m: float = GATE_WIDTH_M
) -> Track:
    """
    Put the start/finish line where the car was at a time of the log.

    Parameters
    ----------
    log : Log
        A log in which the car drives over the line at that time.
    time : float, str or datetime
        Seconds since the log's first usable fix, as ``start_s`` of the lap table;
        or minutes and seconds with decimals (``"2:31.8"``, as lap tables have them);
        or a clock time (``"10:15:03.2"``, as in the log, UTC where the log has a
        date); or an ISO 8601 date and time, UTC unless it says otherwise. [s]
    track : Track, optional
        The track that gets the line; its direction stays. Without one the track is
        the line alone, to be completed by a `Session` or `complete_track`.
    width_m : float
        Length of the line. [m]

    Returns
    -------
    Track
        The line's middle is the smoothed position of the car, and it is square to
        the way the car went. It is as true as the receiver was then: a metre or
        more for a usual one.

    Raises
    ------
    TrackError
        If the time is outside the log or in a hole of it, if the car stands or
        creeps, or if it is not on the path of the track.
    ValueError
        If the time or the width cannot be read.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> line = lw.start_line_at_time(log, "2:31.8")
    >>> f"{line.start_finish.width_m:.0f} m"
    '25 m'
    """
    time_s = moment_s(log, time)
    _check_recorded(log, time_s)
    if track is not None:
        check_near(track, log)
    state = _car_at(log, time_s, _plane_of(log) if track is None else track.plane)
    east_m, north_m = (float(value) for value in state.position_m[0])
    gate = Gate.across((east_m, north_m), float(state.heading_rad[0]), width_m)
    if track is None:
        plane = _plane_of(log)
        lat_deg, lon_deg = plane.point_deg((east_m, north_m))
        line = Track("", plane, gate)
        return line.on_plane(Plane(lat_deg, lon_deg, plane.height_m))
    point_deg = track.plane.point_deg
    if track.source == "discovered":
        # Its sector lines are proposals; one that is where the line goes has to give way.
        away_m = [np.hypot(*np.subtract(one.centre_m, gate.centre_m)) for one in track.sectors]
        far = [k for k, away in enumerate(away_m) if away > _NO_SECTOR_M]
        track = replace(track, sectors=tuple(track.sectors[k] for k in far))
    try:
        return track.with_start_line(point_deg(gate.left_m), point_deg(gate.right_m))
    except ValueError as error:
        what = f"the line cannot be where the car was at {time_s:.1f} s: {error}"
        hint = "Name a moment at which the car drives along the circuit"
        if "at the same place" in str(error):
            hint = ""
        raise TrackError(what, log.path, hint=hint) from error


def moment_s(log: Log, time: Moment) -> float:
    """
    Read a moment as seconds since the first usable fix of a log.

    Parameters
    ----------
    log : Log
    time : float, str or datetime
        See `start_line_at_time`.

    Returns
    -------
    time_s : float
        It may lie outside the log. [s]

    Raises
    ------
    ValueError
        If it is neither a number nor a time.
    TrackError
        If the log has no clock, or no date, to find it by.
    """
    if isinstance(time, datetime):
        return _since_start(log, pd.Timestamp(time))
    if not isinstance(time, str):
        try:
            return _finite(float(time))
        except TypeError as error:
            msg = f"a time in the log is a number of seconds or text, not {time!r}"
            raise ValueError(msg) from error
    text = time.strip()
    lap_form = _MINUTES.fullmatch(text)
    if lap_form is not None:
        return 60.0 * int(lap_form[1]) + float(lap_form[2].replace(",", "."))
    clock = _CLOCK.fullmatch(text)
    if clock is not None:
        return _clock_s(log, clock)
    try:
        return _finite(float(text))
    except ValueError:
        pass
    try:
        when = datetime.fromisoformat(text)
    except ValueError as error:
        msg = (
            f"{text!r} is not a time. Give seconds from the start of the log (75.2, or 1:15.2), a "
            "clock time (10:15:03.2) or date and time (2026-05-01T10:15:03.2Z)"
        )
        raise ValueError(msg) from error
    return _since_start(log, pd.Timestamp(when))


def _finite(seconds: float) -> float:
    if not np.isfinite(seconds):
        msg = f"a time in the log must be a number of seconds, not {seconds}"
        raise ValueError(msg)
    return seconds


def _since_start(log: Log, when: pd.Timestamp) -> float:
    """Seconds from the first fix to a date and time."""
    if log.start_utc is None:
        what = "the log has no date, so no date and time can be found in it"
        raise TrackError(what, log.path, hint="Give seconds from the start of the log")
    when = when.tz_localize("UTC") if when.tzinfo is None else when
    return float((when - log.start_utc).total_seconds())


def _clock_s(log: Log, clock: re.Match[str]) -> float:
    """Seconds from the first fix to a time of the day, also past midnight."""
    if log.start_utc is None and log.time_scale != "time_of_day":
        what = "the log has no time of day, so no clock time can be found in it"
        raise TrackError(what, log.path, hint="Give seconds from the start of the log")
    hours, minutes = int(clock[1]), int(clock[2])
    seconds = float((clock[3] or "0").replace(",", "."))
    if hours > 23 or minutes > 59 or seconds >= 60.0:
        msg = f"{clock[0]!r} is not a time of day"
        if clock[3] is None and minutes <= 59:
            msg += f"; {hours} minutes and {minutes} seconds from the start are {clock[0]}.0"
        raise ValueError(msg)
    ahead_s = (3600.0 * hours + 60.0 * minutes + seconds - log.first_fix_s) % _DAY_S
    # A moment just before the log is before it, not a day later.
    return ahead_s if ahead_s <= max(log.duration_s, _DAY_S / 2.0) else ahead_s - _DAY_S


def _check_recorded(log: Log, time_s: float) -> None:
    """Refuse a time that the log says nothing about."""
    fix_s = log.fixes["time_s"].to_numpy(dtype=np.float64)
    if len(fix_s) < 2 or not fix_s[0] <= time_s <= fix_s[-1]:
        what = f"the time {time_s:.1f} s is outside the log, which runs {_extent(log)}"
        raise TrackError(what, log.path, hint="Name a moment of the log")
    at = min(int(np.searchsorted(fix_s, time_s, side="right")), len(fix_s) - 1)
    hole_s = float(fix_s[at] - fix_s[at - 1])
    if time_s not in (fix_s[at - 1], fix_s[at]) and hole_s > max(
        _HOLE_S, 2.5 * float(np.median(np.diff(fix_s)))
    ):
        what = (
            f"the time {time_s:.1f} s is in a gap of the log: nothing was recorded from "
            f"{fix_s[at - 1]:.1f} to {fix_s[at]:.1f} s"
        )
        raise TrackError(what, log.path, hint="Name the same place on another lap")


def _extent(log: Log) -> str:
    """From when to when a log runs, in seconds and on its clock."""
    text = f"from 0.0 to {log.duration_s:.1f} s"
    if log.start_utc is not None:
        end = log.start_utc + pd.Timedelta(log.duration_s, unit="s")
        return f"{text} ({log.start_utc:%Y-%m-%dT%H:%M:%S} to {end:%H:%M:%S} UTC)"
    if log.time_scale == "time_of_day":
        first, last = (
            f"{pd.Timestamp(at % _DAY_S, unit='s'):%H:%M:%S}"
            for at in (log.first_fix_s, log.first_fix_s + log.duration_s)
        )
        return f"{text} ({first} to {last})"
    return text


def _plane_of(log: Log) -> Plane:
    """Return a plane amid the log's fixes."""
    fixes = log.fixes
    return Plane.centred_on(fixes["lat_deg"], fixes["lon_deg"], ground_height(log))


def _car_at(log: Log, time_s: float, plane: Plane) -> MotionState:
    """Return the smoothed state of the car, which must be moving."""
    # The whole log would say no more about this one place, and takes seconds.
    near = log.fixes["time_s"].sub(time_s).abs() <= _AROUND_S
    part = replace(log, fixes=log.fixes[near].reset_index(drop=True))
    state = estimate_motion(part, plane).at(time_s)
    speed_mps = float(state.speed_mps[0])
    if speed_mps < _CREEPING_MPS:
        what = (
            f"at {time_s:.1f} s the car stands or creeps ({speed_mps:.1f} m/s), so that its "
            "direction is not known"
        )
        raise TrackError(what, log.path, hint="Name a moment at which it drives over the line")
    return state
