"""
Fixes whose time is far from the rest: a broken date, the default date of a cold receiver.

Sorted with the others they would make a log of years out of a session, and lines that only seem to
be out of order.  So they are looked for first, by the times and the order of the lines together: a
logger that was off for lunch goes on later in the file, a broken date stands amid the others.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.invariants import MAX_SPAN_S
from lapwright.ingest.log import Finding
from lapwright.ingest.oddities import rough_metres
from lapwright.ingest.recording import Recording, finding, rough_length
from lapwright.ingest.time.scales import NANO, NO_TIME, Bools, Floats, Ints

# Shorter pauses are gaps like any other.
_PAUSE_S = 600.0
# A handful of fixes half a day from the rest tells nobody anything.
_HANDFUL, _HANDFUL_SHARE, _HALF_DAY_S = 20, 0.01, 43_200.0
# Fewer than this share near each other: the column is no time, or its unit is another.
_MIN_SHARE = 0.1
# A few fixes at whose end the car drives on at this speed belong to the rest, at a wrong time.  Of
# more nobody can say: loggers that start at a speed or at a line stop in full flight, too.
_DRIVING_MPS = 5.0
# Dates beyond these are broken, and sums of them would no longer fit into int64: 1970 and 2200
# where there is a date, else a century from zero.
_LEAST_NS, _MOST_NS = -86_400 * NANO, 7_258_118_400 * NANO
_CENTURY_NS = 3_155_760_000 * NANO
_HINT = "Name the column of the time, and its unit, in a column map"


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Fixes without a pause between them: how many, from when to when, on which lines."""

    size: Ints
    start_s: Floats
    end_s: Floats
    first: Ints
    last: Ints


def without_impossible(recording: Recording, notes: list[Finding]) -> None:
    """
    Blank times of centuries that no logger saw, so that differences of times can be had.

    Parameters
    ----------
    recording : Recording
        Its `time_ns` is replaced where there are any.
    notes : list of Finding
        One is added for them.
    """
    time_ns = recording.time_ns
    least, most = (_LEAST_NS, _MOST_NS) if recording.has_date else (-_CENTURY_NS, _CENTURY_NS)
    bad = ((time_ns < least) | (time_ns > most)) & (time_ns != NO_TIME)
    if not bad.any():
        return
    recording.time_ns = np.where(bad, NO_TIME, time_ns)
    about = "dates before 1970 or after 2199" if recording.has_date else "times of over a century"
    text = f"{about}; taken as blank. Look at the times in these lines"
    notes.append(finding("far_time", text, recording.line[bad]))


def without_far_times(
    recording: Recording, usable: Bools, path: Path, notes: list[Finding]
) -> Bools:
    """
    Leave out fixes whose time is far from the rest.

    Parameters
    ----------
    recording : Recording
        Records with such a time lose it, those without a position too.
    usable : ndarray of bool, shape (n,)
        Which records are fixes.
    path : Path
    notes : list of Finding
        One is added for what is left out.

    Returns
    -------
    usable : ndarray of bool, shape (n,)

    Raises
    ------
    LogError
        If the times are scattered over days.
    """
    row = np.flatnonzero(usable)
    time_ns = recording.time_ns[row]
    if len(row) < 2 or int(time_ns.max()) - int(time_ns.min()) <= _PAUSE_S * NANO:
        return usable
    time_s = (time_ns - int(time_ns.min())) / NANO
    order = np.argsort(time_s, kind="stable")
    begins = np.append(True, np.diff(time_s[order]) > _PAUSE_S)
    if begins.sum() == 1 and time_s.max() <= MAX_SPAN_S:
        return usable
    group = np.empty(len(row), np.int64)
    group[order] = np.cumsum(begins) - 1
    groups = _groups(time_s, order, np.flatnonzero(begins))
    kept = _kept_groups(groups) & ~_goes_on(recording, row, time_s, group, groups)
    main = int(np.argmax(groups.size))
    middle_s = (groups.start_s[main] + groups.end_s[main]) / 2
    out = ~kept[group]
    if not out.all() and np.ptp(time_s[~out]) > MAX_SPAN_S:
        out |= np.abs(time_s - middle_s) > MAX_SPAN_S / 2
    if (~out).sum() < max(2, _MIN_SHARE * len(row)):
        raise _scattered(recording, path, int((~out).sum()), len(row))
    if out.any():
        inside = (groups.start_s[main], groups.end_s[main])
        _say(recording, row[out], time_s[out], inside, notes)
    return _take_out(recording, usable, row[out], time_ns[~out])


def _groups(time_s: Floats, order: Ints, starts: Ints) -> _Group:
    """Describe the fixes between pauses, in order of time."""
    ends = np.append(starts[1:], len(order)) - 1
    return _Group(
        ends - starts + 1,
        time_s[order[starts]],
        time_s[order[ends]],
        np.minimum.reduceat(order, starts),
        np.maximum.reduceat(order, starts),
    )


def _kept_groups(groups: _Group) -> Bools:
    """Keep the longest group, and those that stand beside it in the file as they do in time."""
    kept = np.zeros(len(groups.size), np.bool_)
    handful = groups.size < max(_HANDFUL, _HANDFUL_SHARE * groups.size.max())
    large = np.flatnonzero(~handful)
    if len(large) == 0 and len(groups.size) <= _HANDFUL:
        # A log of a few fixes in all.
        large = np.arange(len(groups.size))
    elif len(large) == 0:
        large = np.array([np.argmax(groups.size)])
    handful[large] = False
    for one in large[np.argsort(-groups.size[large], kind="stable")]:
        kept[one] = not _amid(groups, one, kept).any()
    of_note = np.flatnonzero(kept)
    # Few of them are kept: each is more than a hundredth of the longest, and at least a handful.
    in_order = np.ones(len(kept), np.bool_)
    near_s = np.full(len(kept), np.inf)
    for one in of_note:
        later = groups.start_s > groups.end_s[one]
        beside = np.where(later, groups.first > groups.last[one], groups.last < groups.first[one])
        in_order &= beside
        off_s = np.where(
            later, groups.start_s - groups.end_s[one], groups.start_s[one] - groups.end_s
        )
        near_s = np.minimum(near_s, off_s)
    return np.asarray(kept | (handful & in_order & (near_s < _HALF_DAY_S)), np.bool_)


def _amid(groups: _Group, one: int, kept: Bools) -> Bools:
    """Tell which kept groups share their lines with one."""
    amid = kept & (groups.first <= groups.last[one]) & (groups.last >= groups.first[one])
    return np.asarray(amid, np.bool_)


def _goes_on(recording: Recording, row: Ints, time_s: Floats, group: Ints, groups: _Group) -> Bools:
    """Tell handfuls that begin, or end, where a larger group drives on: only the time jumps."""
    out = np.zeros(len(groups.size), np.bool_)
    change = np.flatnonzero(np.diff(group) != 0) + 1
    change = change[(change >= 2) & (change + 1 < len(row))]
    if recording.block is not None:
        # The format itself says where another recording begins.
        change = change[recording.block[row[change]] == recording.block[row[change - 1]]]
    if len(change) == 0:
        return out
    place = rough_metres(recording.lat_deg[row], recording.lon_deg[row])
    around = change[:, None] + np.array([-2, -1, 0, 1])
    gone_m = np.hypot(*np.moveaxis(np.diff(place[around], axis=1), 2, 0))
    took_s = np.diff(time_s[around], axis=1)
    alone = (group[around[:, 0]] != group[around[:, 1]]) | (
        group[around[:, 2]] != group[around[:, 3]]
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        driving = (gone_m[:, [0, 2]] / np.abs(took_s[:, [0, 2]]) > _DRIVING_MPS).all(axis=1)
    near = gone_m[:, 1] <= 3 * np.maximum(gone_m[:, 0], gone_m[:, 2])
    before, after = group[change - 1], group[change]
    less = np.where(groups.size[before] < groups.size[after], before, after)
    out[less[driving & near & ~alone]] = True
    return out & (groups.size < _HANDFUL)


def _scattered(recording: Recording, path: Path, near: int, count: int) -> LogError:
    """Say that the times are not those of one drive."""
    few = f"only {near} lie" if near > 1 else "almost no two lie"
    what = f"the times of its {count} fixes are scattered: {few} within minutes of each other"
    return LogError(what, path, int(recording.line[0]), _HINT)


def _say(
    recording: Recording,
    row: Ints,
    time_s: Floats,
    inside: tuple[float, float],
    notes: list[Finding],
) -> None:
    """Report what is left out, and how far off it is."""
    off_s = np.maximum(inside[0] - time_s, time_s - inside[1])
    furthest = int(np.argmax(off_s))
    side = "before" if time_s[furthest] < inside[0] else "after"
    what = "dates" if off_s[furthest] >= _HALF_DAY_S else "times"
    text = (
        f"fixes with a time far from the rest, up to {rough_length(float(off_s[furthest]))} {side} "
        f"it; left out. Look at the {what} in these lines, or save them as a file of their own"
    )
    notes.append(finding("far_time", text, recording.line[row]))


def _take_out(recording: Recording, usable: Bools, out: Ints, kept_ns: Ints) -> Bools:
    """Take the times of the fixes left out, and of other records as far off."""
    time_ns = recording.time_ns.copy()
    time_ns[out] = NO_TIME
    margin_ns = int(_PAUSE_S * NANO)
    low, high = int(kept_ns.min()) - margin_ns, int(kept_ns.max()) + margin_ns
    time_ns[(time_ns < low) | (time_ns > high)] = NO_TIME
    recording.time_ns = time_ns
    left = usable.copy()
    left[out] = False
    return left
