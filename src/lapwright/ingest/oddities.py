"""
What is odd in a sequence of fixes: gaps, frozen positions, spikes, impossible speeds, old dates.

Only looked at and reported; nothing is changed here.
"""

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding, line_ranges
from lapwright.ingest.time.scales import DAY_NS, ROLLOVER_WEEKS, Bools, Floats, Ints

METRES_PER_DEGREE = 111_320.0
# No car on a circuit is faster (common practice, no source).
FASTEST_MPS = 130.0
_FROZEN_MPS = 2.0
_HELD_SHARE, _HELD_RUNS, _HELD_EXACT = 0.4, 10, 0.6
_GAP_S = 1.0
_SPIKE_M = 4.0
_SPIKE_ACCEL_MPS2 = 30.0
_OLD_NS = 13_239 * DAY_NS
"""2006-04-01: dates before it may be 1024 weeks early."""


def rough_metres(lat_deg: Floats, lon_deg: Floats) -> Floats:
    """
    East and north about the middle of the log, good to half a per cent.

    Enough to judge speeds and jumps without loading the projection library; never used
    for anything that is shown.

    Returns
    -------
    place_m : ndarray, shape (n, 2)
        [m]
    """
    lat0, lon0 = float(np.median(lat_deg)), float(lon_deg[0])
    across = METRES_PER_DEGREE * np.cos(np.radians(lat0))
    east = ((lon_deg - lon0 + 180.0) % 360.0 - 180.0) * across
    return np.column_stack([east, (lat_deg - lat0) * METRES_PER_DEGREE])


def _same(place_m: Floats) -> Bools:
    """Tell rows at the very place of the row before (by columns: `all` over an axis is slow)."""
    east, north = place_m[:, 0], place_m[:, 1]
    return np.append(False, (north[1:] == north[:-1]) & (east[1:] == east[:-1]))


def frozen(time_s: Floats, place_m: Floats) -> Bools:
    """
    Tell repeats of the previous position that came while moving.

    A run of one position is frozen if the next other position is so far off, by more than
    the noise, that the car must have moved at more than 2 m/s during the run; a parked
    car is not.
    """
    same = _same(place_m)
    if not same.any():
        return same
    first = np.flatnonzero(~same)
    noise_m = float(np.median(_off_line(time_s[first], place_m[first]))) if len(first) > 4 else 0.0
    after = np.append(first[1:], len(same))
    inside = after < len(same)
    nxt = np.minimum(after, len(same) - 1)
    gone_m = np.hypot(*(place_m[nxt] - place_m[first]).T)
    took_s = time_s[nxt] - time_s[first]
    moving = inside & (gone_m > _FROZEN_MPS * np.maximum(took_s, 1e-9) + 3 * noise_m)
    return np.asarray(same & np.repeat(moving, after - first), np.bool_)


def held(place_m: Floats) -> tuple[int, Bools]:
    """
    Find out how many times each position is written, and which rows are repeats.

    Runs of one position are commonly of exactly one length where a logger writes more
    often than its receiver measures.  In a longer run every row that begins another
    whole holding is a fix of its own: the car stood.

    Returns
    -------
    times : int
        1 where positions are not held.
    repeat : ndarray of bool, shape (n,)
    """
    same = _same(place_m)
    none = np.zeros(len(same), np.bool_)
    if same.mean() < _HELD_SHARE:
        return 1, none
    first = np.flatnonzero(~same)
    length = np.diff(first, append=len(same))
    inner = length[1:-1]
    times = int(np.median(inner)) if len(inner) >= _HELD_RUNS else 1
    if times < 2 or (inner == times).mean() < _HELD_EXACT:
        return 1, none
    within = np.arange(len(same)) - np.repeat(first, length)
    begins = (within % times == 0) & (within + times <= np.repeat(length, length))
    return times, np.asarray(same & ~begins, np.bool_)


def look(
    line: Ints,
    time_s: Floats,
    place_m: Floats,
    frozen_rows: Bools,
    step_s: float,
) -> list[Finding]:
    """
    Report what is odd in the fixes.

    Parameters
    ----------
    line, time_s : ndarray, shape (n,)
    place_m : ndarray, shape (n, 2)
        [m]
    frozen_rows : ndarray of bool, shape (n,)
    step_s : float
        The usual step. [s]
    """
    notes = [*_gaps(line, time_s, step_s)]
    if frozen_rows.any():
        text = "the position stays the same while the car moves; marked as frozen"
        notes.append(finding("frozen", text, line[frozen_rows]))
    news = np.flatnonzero(~frozen_rows)
    spike = _spikes(time_s[news], place_m[news])
    if spike.any():
        text = "position spikes; kept, but given less weight"
        notes.append(finding("position_spike", text, line[news][spike]))
    moved = place_m[news][1:] - place_m[news][:-1]
    implied = np.hypot(*moved.T) / np.diff(time_s[news])
    beside = spike[1:] | spike[:-1]
    jump = (implied > FASTEST_MPS) & ~beside
    if jump.any():
        text = f"positions no car could reach from the last one ({FASTEST_MPS:.0f} m/s or more)"
        notes.append(finding("impossible_speed", text, line[news][1:][jump]))
    return notes


def _gaps(line: Ints, time_s: Floats, step_s: float) -> list[Finding]:
    """Report gaps above a second, and single fixes that are missing."""
    step = np.diff(time_s)
    gap = step > max(_GAP_S, 3.5 * step_s)
    notes = []
    if gap.any():
        total, longest = float(step[gap].sum()), float(step[gap].max())
        text = f"one gap of {longest:.1f} s"
        if gap.sum() > 1:
            text = f"{gap.sum()} gaps, {total:.1f} s in all, the longest {longest:.1f} s"
        notes.append(finding("gap", text, line[1:][gap]))
    short = ~gap & (step > 1.5 * step_s)
    if short.any():
        # One at least: a step and a half may round to none.
        missing = int(np.maximum(np.rint(step[short] / step_s - 1), 1).sum())
        share = missing / (missing + len(step))
        text = f"about {missing} single fixes are missing ({share:.1%})"
        notes.append(Finding("missing_fixes", text, line_ranges(line[1:][short]), missing))
    uneven = np.abs(step - step_s) > 0.25 * step_s
    if uneven.mean() > 0.25:
        text = f"the fixes come at uneven times, about every {step_s:.3g} s"
        notes.append(finding("uneven_rate", text))
    return notes


def _off_line(time_s: Floats, place_m: Floats) -> Floats:
    """Give the distance of each inner fix from the line between its neighbours, in metres."""
    before, after = time_s[1:-1] - time_s[:-2], time_s[2:] - time_s[1:-1]
    share = (before / (before + after))[:, None]
    between = place_m[:-2] * (1 - share) + place_m[2:] * share
    return np.asarray(np.hypot(*(place_m[1:-1] - between).T), np.float64)


def _spikes(time_s: Floats, place_m: Floats) -> Bools:
    """Tell fixes that lie off the line between their neighbours, further than a car can turn."""
    out = np.zeros(len(time_s), np.bool_)
    if len(time_s) < 5:
        return out
    before, after = time_s[1:-1] - time_s[:-2], time_s[2:] - time_s[1:-1]
    off_m = _off_line(time_s, place_m)
    reach_m = _SPIKE_ACCEL_MPS2 * before * after / 2
    limit_m = np.maximum(_SPIKE_M, 12.0 * float(np.median(off_m))) + reach_m
    # The neighbours of a spike lie off by half of it: only the tops count.
    left, right = np.append(0.0, off_m[:-1]), np.append(off_m[1:], 0.0)
    # A jump that stays is no spike: its neighbours are as far from each other.
    apart_m = np.hypot(*(place_m[2:] - place_m[:-2]).T)
    out[1:-1] = (off_m > limit_m) & (off_m >= left) & (off_m >= right) & (off_m > 0.75 * apart_m)
    return out


def old_date(first_ns: int) -> list[Finding]:
    """Report a date that an uncorrected rollover of the GPS week would give."""
    if first_ns >= _OLD_NS:
        return []
    written = np.datetime64(first_ns, "ns").astype("datetime64[D]")
    later = written + np.timedelta64(7 * ROLLOVER_WEEKS, "D")
    text = (
        f"the date is {written}; a receiver that does not know of the GPS week "
        f"rollover would write that for {later}. Left as it is"
    )
    return [finding("old_date", text)]
