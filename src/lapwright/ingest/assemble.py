"""
From a `Recording` to a `Log`: order, repairs, units, findings; the same for all formats.

What is taken out of the fixes: rows the receiver calls invalid, without time or position, at
0/0, beyond the poles, far from the rest in time or place, repeated, or of an overlapping other
recording.  All of it is reported.
Position spikes stay: how far to trust a fix is for the motion estimate to say.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.errors import LogError
from lapwright.ingest import oddities, units
from lapwright.ingest.invariants import MAX_RATE_HZ, MAX_SPAN_S, RANGES
from lapwright.ingest.log import Finding, Log
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.strays.measures import in_range, without_infinite
from lapwright.ingest.strays.places import without_far_places
from lapwright.ingest.strays.times import without_far_times, without_impossible
from lapwright.ingest.time.misdated import put_back
from lapwright.ingest.time.order import put_in_order, unwrap_midnight
from lapwright.ingest.time.scales import NANO, NO_TIME, Bools, Floats, Ints

_IMPORTANCE = (
    "several_recordings",
    "inferred_columns",
    "truncated_end",
    "time_scale_assumed",
    "time_zone_assumed",
    "no_date",
    "speed_unit_inferred",
    "gap",
)

# A line further away from all fixes is of another event, or its time is damaged. [ns]
_FAR_NS = int(MAX_SPAN_S) * NANO


@dataclass(eq=False)
class _Fixes:
    """The usable rows: which row of the recording each is, and its time."""

    row: Ints
    time_ns: Ints


@dataclass(frozen=True, eq=False)
class _Positions:
    """The fixes without positions written again: rows, times, places and which stand still."""

    row: Ints
    time_s: Floats
    place_m: Floats
    frozen: Bools


def assemble(recording: Recording, path: Path) -> Log:
    """
    Judge and repair a recording.

    Raises
    ------
    LogError
        If fewer than two usable fixes are left, or they are those of no drive.
    """
    notes = list(recording.findings)
    without_infinite(recording, notes)
    without_impossible(recording, notes)
    if recording.time_scale == "time_of_day":
        recording.time_ns = unwrap_midnight(recording.time_ns, notes, recording.line)
    usable = _usable(recording, notes)
    usable = put_back(recording, usable, notes)
    usable = without_far_times(recording, usable, path, notes)
    usable = without_far_places(recording, usable, path, notes)
    row = np.flatnonzero(usable)
    if len(row) < 2:
        raise _too_few(recording, path, len(row))
    line = recording.line[row]
    row, time_ns = put_in_order(recording, row, path, notes)
    if len(row) < 2:
        what = f"all of its {len(line)} fixes have the same time"
        hint = "Name the column of the time in a column map"
        raise LogError(what, path, int(line[0]), hint)
    fixes = _Fixes(row, time_ns)
    return _finish(recording, fixes, path, notes)


def _usable(recording: Recording, notes: list[Finding]) -> Bools:
    """Tell which rows are fixes; report the rest."""
    lat, lon, line = recording.lat_deg, recording.lon_deg, recording.line
    timed = recording.time_ns != NO_TIME
    placed = np.isfinite(lat) & np.isfinite(lon)
    usable = timed & placed
    if recording.no_fix is not None and recording.no_fix.any():
        bad = recording.no_fix
        text = "the receiver had no valid position; left out of the fixes"
        notes.append(finding("no_fix", text, line[bad]))
        usable = usable & ~bad
    if (placed & ~timed).any():
        text = "positions without a time that can be read; left out of the fixes"
        notes.append(finding("no_time", text, line[placed & ~timed]))
    in_range = usable.all() and np.abs(lat).max() <= 90 and np.abs(lon).max() < 180
    if in_range and not ((lat == 0) & (lon == 0)).any():
        return np.asarray(usable, np.bool_)
    zero = usable & (lat == 0) & (lon == 0)
    if zero.any():
        text = "positions at latitude 0, longitude 0 are not fixes; left out"
        notes.append(finding("zero_position", text, line[zero]))
    with np.errstate(invalid="ignore"):
        beyond = usable & ((np.abs(lat) > 90) | (np.abs(lon) > 360))
        wrapped = usable & ~beyond & ((lon >= 180) | (lon < -180))
    if beyond.any():
        text = "latitudes beyond 90 or longitudes beyond 360 degrees; left out"
        notes.append(finding("position_out_of_range", text, line[beyond]))
    if wrapped.any():
        with np.errstate(invalid="ignore"):
            # Just below -180 the remainder is 360 itself.
            turned = (lon + 180) % 360 % 360 - 180
        recording.lon_deg = np.where(wrapped, turned, lon)
    _say_blank_positions(recording, timed & ~placed, usable, notes)
    return np.asarray(usable & ~zero & ~beyond, np.bool_)


def _say_blank_positions(
    recording: Recording, blank: Bools, usable: Bools, notes: list[Finding]
) -> None:
    """Tell lines of another rate from lines that lost their position."""
    if recording.no_fix is not None:
        blank = blank & ~recording.no_fix
    count = int(blank.sum())
    if count == 0:
        return
    every = np.diff(np.flatnonzero(usable))
    regular = (
        len(every) > 2 and count > 0.3 * len(blank) and np.mean(every == np.median(every)) > 0.8
    )
    if regular:
        text = (
            f"only one line in {int(np.median(every))} has a position; the other columns "
            "are logged more often"
        )
        notes.append(Finding("mixed_rates", text, (), count))
    else:
        text = "lines without a position; their other columns are kept"
        notes.append(finding("no_position", text, recording.line[blank]))


def _too_few(recording: Recording, path: Path, count: int) -> LogError:
    """Say why there is nothing to work with."""
    rows = len(recording.line)
    if rows == 0:
        what = "it contains no positions"
    elif count == 1:
        what = f"only one of {rows} records is a usable fix"
    elif recording.no_fix is not None and recording.no_fix.all():
        what = f"the receiver never had a valid position in {rows} records"
    elif not np.isfinite(recording.lat_deg).any():
        what = f"none of the {rows} records contains a position"
    elif (recording.time_ns == NO_TIME).all():
        what = f"none of the {rows} records contains a time"
    else:
        what = f"none of the {rows} records is a usable fix"
    hint = "Give a log with a time and a position in many lines (the receiver must see the sky)"
    first = int(recording.line[0]) if rows else None
    return LogError(what, path, first, hint)


def _finish(recording: Recording, fixes: _Fixes, path: Path, notes: list[Finding]) -> Log:
    """Make the tables, in SI units, and look for what is odd in them."""
    first_ns = int(fixes.time_ns[0])
    found = _without_repeats(recording, fixes, notes)
    table = _measured(recording, found, notes)
    line, time_s = table["line"].to_numpy(), found.time_s
    step_s = float(np.median(np.diff(time_s)))
    if MAX_RATE_HZ * step_s < 1.0:
        what = f"its fixes are {step_s:.2g} s apart, which no receiver measures"
        hint = "Name the column of the time, and its unit, in a column map"
        raise LogError(what, path, int(line[0]), hint)
    notes += oddities.look(line, time_s, found.place_m, found.frozen, step_s)
    notes += _about_the_date(recording, first_ns, notes)
    channels = _channels(recording, fixes, first_ns, notes)
    start = pd.Timestamp(first_ns, unit="ns", tz="UTC") if recording.has_date else None
    own = recording.own_clock
    return Log(
        path=path,
        reader=recording.reader,
        fixes=table,
        channels=channels,
        time_scale=recording.time_scale,
        first_fix_s=first_ns / NANO,
        start_utc=start,
        rate_hz=1.0 / step_s,
        own_clock=recording.time_scale == "relative" if own is None else own,
        findings=tuple(sorted(notes, key=_importance)),
        columns=tuple(recording.columns),
        channel_units=dict(recording.channel_units),
        roles=dict(recording.roles),
    )


def _without_repeats(recording: Recording, fixes: _Fixes, notes: list[Finding]) -> _Positions:
    """Leave out positions that are only written again until the next one comes."""
    row = fixes.row
    time_s = (fixes.time_ns - int(fixes.time_ns[0])) / NANO
    place = oddities.rough_metres(recording.lat_deg[row], recording.lon_deg[row])
    times, repeat = oddities.held(place)
    if times > 1:
        text = (
            f"each position is written {times} times, until the next one comes; the repeats are "
            "left out of the fixes"
        )
        notes.append(Finding("positions_repeated", text, (), int(repeat.sum())))
        row, time_s, place = row[~repeat], time_s[~repeat], place[~repeat]
    frozen = oddities.frozen(time_s, place)
    if times == 1 and frozen.mean() > 0.4:
        text = (
            "positions are written several times until the next one comes; the repeats are "
            "left out of the fixes"
        )
        notes.append(Finding("positions_repeated", text, (), int(frozen.sum())))
        # Of the last position nobody can say whether the car stood; it is held like the others.
        last = np.flatnonzero(np.append(True, (place[1:] != place[:-1]).any(axis=1)))[-1]
        keep = ~frozen & (np.arange(len(frozen)) <= last)
        row, time_s, place, frozen = row[keep], time_s[keep], place[keep], frozen[keep]
    return _Positions(row, time_s, place, frozen)


def _measured(recording: Recording, found: _Positions, notes: list[Finding]) -> pd.DataFrame:
    """Return the table of the fixes, in SI units."""
    row, time_s = found.row, found.time_s
    always = {
        "line": recording.line[row],
        "time_s": time_s,
        "lat_deg": recording.lat_deg[row],
        "lon_deg": recording.lon_deg[row],
        "frozen": found.frozen,
    }
    columns: dict[str, Floats | None] = {
        "height_m": _measure(recording, "height_m", row),
        "speed_mps": units.speed_in_mps(recording, row, time_s, found.place_m, notes),
        "course_deg": units.course_in_degrees(recording, row, time_s, found.place_m, notes),
    }
    for name in ("position_sd_m", "speed_sd_mps", "hdop", "satellites"):
        columns[name] = _measure(recording, name, row)
    for name in RANGES:
        value = columns.get(name)
        if value is not None:
            columns[name] = in_range(name, value, recording.line[row], notes)
    logged = {name: value for name, value in columns.items() if value is not None}
    return pd.DataFrame({**always, **logged})


def _measure(recording: Recording, name: str, row: Ints) -> Floats | None:
    return recording.measures[name][row] if name in recording.measures else None


def _about_the_date(recording: Recording, first_ns: int, notes: list[Finding]) -> list[Finding]:
    """Say that there is no date, or an impossible one."""
    if recording.has_date:
        return oddities.old_date(first_ns)
    if recording.time_scale != "relative":
        return [finding("no_date", "the log has no date; its times are times of day")]
    if any(note.code == "no_date" for note in notes):
        return []
    return [finding("no_date", "the log has no date; its times count from its own start")]


def _importance(note: Finding) -> int:
    """Rank a finding."""
    return _IMPORTANCE.index(note.code) if note.code in _IMPORTANCE else len(_IMPORTANCE)


def _given(series: pd.Series) -> Bools:
    """Tell where a channel holds something (`Series.notna` takes long for thousands of them)."""
    if series.dtype.kind == "f":
        return np.asarray(~np.isnan(series.to_numpy()), np.bool_)
    return np.asarray(series.notna().to_numpy(), np.bool_)


def _rename_taken(recording: Recording) -> None:
    """Give channels that are called like our own two columns another name."""
    for name in ("line", "time_s"):
        if name in recording.channels:
            other = next(
                new
                for new in (f"{name} ({turn})" for turn in range(2, len(recording.channels) + 3))
                if new not in recording.channels
            )
            recording.channels[other] = recording.channels.pop(name)
            recording.channel_units[other] = recording.channel_units.pop(name, None)
            for role, channel in recording.roles.items():
                recording.roles[role] = other if channel == name else channel


def _channels(
    recording: Recording, fixes: _Fixes, first_ns: int, notes: list[Finding]
) -> pd.DataFrame:
    """
    Put everything else into a table on the time axis of the fixes.

    Rows that are no fixes get the correction of the fixes around them.
    """
    line, time_ns = recording.line, recording.time_ns
    _rename_taken(recording)
    if not recording.channels:
        return pd.DataFrame({"line": np.zeros(0, np.int64), "time_s": np.zeros(0)})
    filled = np.zeros(len(line), np.bool_)
    for series in recording.channels.values():
        filled |= _given(series)
    keep = filled & (time_ns != NO_TIME)
    old_ns = time_ns[fixes.row]
    in_order = len(fixes.row) == len(line) and (np.diff(fixes.row) > 0).all()
    if keep.all() and in_order and np.array_equal(old_ns, fixes.time_ns):
        time_s = (time_ns - first_ns) / NANO
        # Of arrays: pandas takes long to find out that thousands of indexes are all alike.
        columns = {name: series.array for name, series in recording.channels.items()}
        return pd.DataFrame({"line": line, "time_s": time_s, **columns})
    new_ns = time_ns.copy()
    moved = fixes.time_ns - old_ns
    if moved.any():
        order = np.argsort(old_ns, kind="stable")
        shift = np.interp(time_ns - first_ns, old_ns[order] - first_ns, moved[order])
        new_ns = np.where(keep, time_ns + np.rint(shift).astype(np.int64), time_ns)
        new_ns[fixes.row] = fixes.time_ns
    last_ns = int(fixes.time_ns[-1])
    far = keep & ((new_ns < first_ns - _FAR_NS) | (new_ns > last_ns + _FAR_NS))
    if far.any():
        text = "lines without a fix whose time is days away from all fixes; left out"
        notes.append(finding("far_time", text, line[far]))
    chosen = np.flatnonzero(keep & ~far)
    chosen = chosen[np.argsort(new_ns[chosen], kind="stable")]
    table = pd.DataFrame(
        {
            "line": line[chosen],
            "time_s": (new_ns[chosen] - first_ns) / NANO,
            **{name: series.to_numpy()[chosen] for name, series in recording.channels.items()},
        }
    )
    return table
