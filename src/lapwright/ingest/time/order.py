"""The order of the fixes in time: midnight, disorder, several recordings, repeats."""

from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.regular_grid import repair_rounded
from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME, Bools, Ints

_STEP_BACK_NS = 10 * NANO
_FEW, _MIN_COUNT = 5, 20
# Longer without a fix is a hole, in which those of another part may belong.
_HOLE_STEPS = 5
# Steps backwards in a column that is no time, and how far its lines are from their place in order,
# as a share of the whole.  A log written from the newest line to the oldest has more of them, one
# of parts in another order fewer; a logger of several threads puts no line far from its place.
_UP_AND_DOWN, _FAR_OFF = (0.25, 0.75), 0.05


def unwrap_midnight(time_ns: Ints, notes: list[Finding], line: Ints) -> Ints:
    """
    Add a day where a time of day falls back by more than half a day.

    Parameters
    ----------
    time_ns : ndarray, shape (n,)
        Since midnight, in file order. [ns]
    """
    present = np.flatnonzero(time_ns != NO_TIME)
    step = np.diff(time_ns[present])
    turns = np.where(step < -DAY_NS // 2, 1, 0) - np.where(step > DAY_NS // 2, 1, 0)
    if not turns.any():
        return time_ns
    days = np.concatenate([[0], np.cumsum(turns)])
    out = time_ns.copy()
    out[present] += days * DAY_NS
    at = present[1:][turns > 0]
    # Lines from before midnight that stand behind later ones are found out of order.
    if len(at):
        notes.append(finding("midnight", "the log runs past midnight; a day was added", line[at]))
    return out


def put_in_order(
    recording: Recording, row: Ints, path: Path, notes: list[Finding]
) -> tuple[Ints, Ints]:
    """
    Sort the usable rows by time, without repeats.

    Parameters
    ----------
    recording : Recording
    row : ndarray, shape (n,)
        Rows of the recording that are fixes, in file order.
    path : Path
    notes : list of Finding

    Returns
    -------
    row : ndarray, shape (m,)
    time_ns : ndarray, shape (m,)
        Strictly increasing. [ns]

    Raises
    ------
    LogError
        If the times go up and down: then they are no times.
    """
    time_ns = recording.time_ns[row]
    step = np.diff(time_ns)
    if (step < 0).any() and _up_and_down(time_ns):
        what = f"the times go up and down: {(step < 0).mean():.0%} of the steps are backwards"
        hint = "Name the column of the time in a column map"
        raise LogError(what, path, int(recording.line[row[0]]), hint)
    if (step < 0).any() or recording.block is not None:
        row = _one_recording(recording, row, notes)
        row = _sort(recording, row, notes)
        time_ns = recording.time_ns[row]
        step = np.diff(time_ns)
    repaired = repair_rounded(time_ns, recording, row, notes)
    if repaired is not None:
        return row, repaired
    if (step > 0).all():
        return row, time_ns
    row = _without_repeats(recording, row, notes)
    time_ns = recording.time_ns[row]
    repaired = repair_rounded(time_ns, recording, row, notes)
    if repaired is not None:
        return row, repaired
    again = np.diff(time_ns) == 0
    if again.any():
        lines = recording.line[row[1:][again]]
        text = "several positions have the same time; the first of each is kept"
        notes.append(finding("equal_times", text, lines))
        row = row[np.append(True, ~again)]
    return row, recording.time_ns[row]


def _up_and_down(time_ns: Ints) -> bool:
    """Tell numbers that are no times: they rise and fall all over their range."""
    back = float((np.diff(time_ns) < 0).mean())
    if len(time_ns) < _MIN_COUNT or not _UP_AND_DOWN[0] < back < _UP_AND_DOWN[1]:
        return False
    off_ns = float(np.median(np.abs(time_ns - np.sort(time_ns))))
    return off_ns > _FAR_OFF * float(np.ptp(time_ns))


def _one_recording(recording: Recording, row: Ints, notes: list[Finding]) -> Ints:
    """
    Keep one recording where several overlap in time.

    Where the clock jumps back by more than ten seconds a new part begins.  Parts one
    after the other in time, or one in a hole of the other, are joined; of overlapping ones the
    longest is kept.
    """
    time_ns = recording.time_ns[row]
    new = np.diff(time_ns) < -_STEP_BACK_NS
    if recording.block is not None:
        new |= np.diff(recording.block[row]) != 0
    starts = np.append(0, np.flatnonzero(new) + 1)
    if len(starts) == 1:
        return row
    ends = np.append(starts[1:], len(row))
    parts = sorted(zip(starts, ends, strict=True), key=lambda part: part[0] - part[1])
    kept: list[tuple[int, int]] = []
    dropped: list[Ints] = []
    # Of each of the times, in order, whether it lies within a part that is kept.
    known, rank = np.unique(time_ns, return_inverse=True)
    within = np.zeros(len(known), np.bool_)
    hole_ns = _HOLE_STEPS * int(np.median(np.abs(np.diff(time_ns))))
    for a, b in parts:
        places = rank[a:b]
        if within[places].sum() > max(_FEW, 0.05 * (b - a)):
            dropped.append(row[a:b])
            continue
        kept.append((a, b))
        if b - a > _FEW:
            _fill(within, np.unique(places), known, hole_ns)
    if dropped:
        lines = recording.line[np.sort(np.concatenate(dropped))]
        text = (
            f"{len(dropped) + 1} recordings overlap in time in this file; the longest was read, "
            "these lines were not (save them as a file of their own to see them)"
        )
        notes.append(finding("several_recordings", text, lines))
    kept.sort()
    return np.concatenate([row[a:b] for a, b in kept])


def _fill(within: Bools, places: Ints, known: Ints, hole_ns: int) -> None:
    """Mark the times within a part: not before it, behind it or in a hole of it."""
    dense = np.diff(known[places]) <= hole_ns
    low, high = places[0], places[-1]
    turns = np.zeros(high - low + 2, np.int8)
    turns[places[:-1][dense] - low] += 1
    turns[places[1:][dense] - low + 1] -= 1
    inner = np.cumsum(turns, dtype=np.int64)[1:-2] > 0
    within[low + 1 : high] |= inner


def _sort(recording: Recording, row: Ints, notes: list[Finding]) -> Ints:
    """Sort by time; report the rows that came too late."""
    time_ns = recording.time_ns[row]
    late = time_ns < np.maximum.accumulate(time_ns)
    if not late.any():
        return row
    text = "lines out of order in time; sorted"
    notes.append(finding("disorder", text, recording.line[row[late]]))
    return row[np.argsort(time_ns, kind="stable")]


def _without_repeats(recording: Recording, row: Ints, notes: list[Finding]) -> Ints:
    """Leave out rows that repeat the time and position of the row before."""
    time_ns = recording.time_ns[row]
    lat, lon = recording.lat_deg[row], recording.lon_deg[row]
    same = (np.diff(time_ns) == 0) & (np.diff(lat) == 0) & (np.diff(lon) == 0)
    if not same.any():
        return row
    text = "duplicate fixes; the repeats were left out"
    notes.append(finding("duplicate", text, recording.line[row[1:][same]]))
    return np.asarray(row[np.append(True, ~same)], np.int64)
