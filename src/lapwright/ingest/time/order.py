"""The order of the fixes in time: midnight, disorder, several recordings, repeats."""

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.regular_grid import repair_rounded
from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME, Bools, Ints

_STEP_BACK_NS = 10 * NANO
_FEW = 5
# Longer without a fix is a hole, in which those of another part may belong.
_HOLE_STEPS = 5


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
    notes.append(finding("midnight", "the log runs past midnight; a day was added", line[at]))
    return out


def put_in_order(recording: Recording, row: Ints, notes: list[Finding]) -> tuple[Ints, Ints]:
    """
    Sort the usable rows by time, without repeats.

    Parameters
    ----------
    recording : Recording
    row : ndarray, shape (n,)
        Rows of the recording that are fixes, in file order.

    Returns
    -------
    row : ndarray, shape (m,)
    time_ns : ndarray, shape (m,)
        Strictly increasing. [ns]
    """
    time_ns = recording.time_ns[row]
    step = np.diff(time_ns)
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
    known = np.zeros(0, np.int64)
    hole_ns = _HOLE_STEPS * int(np.median(np.abs(np.diff(time_ns))))
    for a, b in parts:
        if _inside(time_ns[a:b], known, hole_ns).sum() > max(_FEW, 0.05 * (b - a)):
            dropped.append(row[a:b])
            continue
        kept.append((a, b))
        if b - a > _FEW:
            known = np.sort(np.append(known, time_ns[a:b]))
    if dropped:
        lines = recording.line[np.sort(np.concatenate(dropped))]
        text = (
            f"{len(dropped) + 1} recordings overlap in time in this file; the longest was read, "
            "these lines were not (save them as a file of their own to see them)"
        )
        notes.append(finding("several_recordings", text, lines))
    kept.sort()
    return np.concatenate([row[a:b] for a, b in kept])


def _inside(time_ns: Ints, known: Ints, hole_ns: int) -> Bools:
    """Tell times amid known ones: not before, behind or in a hole of them."""
    if len(known) == 0:
        return np.zeros(len(time_ns), np.bool_)
    after = np.searchsorted(known, time_ns)
    inner = (after > 0) & (after < len(known))
    after = np.clip(after, 1, len(known) - 1)
    return np.asarray(inner & (known[after] - known[after - 1] <= hole_ns), np.bool_)


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
