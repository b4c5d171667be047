"""
Times that are off for a stretch and right again behind it: a digit, an hour, another day.

A logger writes line after line, so where the times leave the lines around and come back just when
that many lines are due, the lines are where they belong and their times are not; the car, which
drove on over both ends, says so too, and no other line has the times that are due.  Sorted by these
times, such a stretch would be torn out of its lap and make another lap somewhere else.  It is put
back where it is off by whole seconds, as a wrong hour or date is; else, and where it is only a few
lines, it is left out.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.oddities import rough_metres
from lapwright.ingest.recording import Recording, finding, rough_length
from lapwright.ingest.time.scales import NANO, NO_TIME, Bools, Floats, Ints

_MIN_COUNT = 20
# Fewer lines are not worth a guess of what their times were.
_FEW = 5
# Both ends of a stretch put back fit this well, as a share of the usual step.  Then how near the
# usual one a step is, and how near where rounding or the receiver make more than a few uneven.
_FIT, _EVEN, _UNEVEN = 0.3, 0.5, 2.0
_FEW_UNEVEN = 0.05
# More lines than a few are left out where they are plainly off: by this, and where times are uneven
# by these steps, too.  Sorted with the others the rest does less harm than a hole.
_PLAINLY_NS, _PLAINLY_STEPS = NANO // 2, 3
# Whole seconds are told from others to this.
_SURELY_NS = 300_000_000
# From one line to the next a car goes little farther than between the lines beside, and noise.
_FARTHER, _NOISE_M = 3.0, 3.0
# One stretch may hide another: so many layers, and then it is no light damage any more.
_LAYERS = 8
# Where more than this share would be left out, the column may be no time: others judge that.
_NOT_LIGHT = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class _Stretches:
    """Stretches whose times are off: first row, one past the last, and by how much."""

    first: Ints
    stop: Ints
    off_ns: Ints
    whole: Bools


def put_back(recording: Recording, usable: Bools, notes: list[Finding]) -> Bools:
    """
    Put stretches of wrong times back, or leave them out.

    Parameters
    ----------
    recording : Recording
        Its `time_ns` is replaced where there are any, also of lines between that are no fixes.
    usable : ndarray of bool, shape (n,)
        Which records are fixes.
    notes : list of Finding
        What was done is added to it.

    Returns
    -------
    usable : ndarray of bool, shape (n,)
    """
    row = np.flatnonzero(usable)
    time_ns = recording.time_ns[row]
    step = np.diff(time_ns)
    if len(row) < _MIN_COUNT or not (step <= 0).any() or not (step > 0).any():
        return usable
    usual_ns = int(np.median(step[step > 0]))
    place_m = rough_metres(recording.lat_deg[row], recording.lon_deg[row])
    gone_m = np.hypot(*np.diff(place_m, axis=0).T)
    moved, out = np.zeros(len(row), np.int64), np.zeros(len(row), np.bool_)
    left = np.arange(len(row))
    for _ in range(_LAYERS):
        found = _stretches(time_ns[left] - moved[left], gone_m, usual_ns)
        if len(found.first) == 0:
            break
        for a, b, off_ns, whole in zip(
            found.first, found.stop, found.off_ns, found.whole, strict=True
        ):
            if whole:
                moved[left[a:b]] += off_ns
            else:
                out[left[a:b]] = True
        left = np.flatnonzero(~out)
        gone_m = np.hypot(*np.diff(place_m[left], axis=0).T)
    if out.mean() > _NOT_LIGHT:
        return usable
    moved[out] = 0
    _say(recording.line[row], moved, out, notes)
    return _applied(recording, usable, row, moved, out)


def _stretches(time_ns: Ints, gone_m: Floats, usual_ns: int) -> _Stretches:
    """Find stretches between which the lines around go on as if these were not off."""
    step = np.diff(time_ns)
    off_usual_ns = np.abs(step - usual_ns)
    even = float((off_usual_ns > _EVEN * usual_ns).mean()) < _FEW_UNEVEN
    room_ns = (_EVEN if even else _UNEVEN) * usual_ns
    starts = np.append(0, np.flatnonzero(off_usual_ns > room_ns) + 1)
    stops = np.append(starts[1:], len(time_ns))
    if len(starts) < 3:
        return _none()
    first, stop, length = starts[1:-1], stops[1:-1], np.diff(np.append(starts, len(time_ns)))
    front_ns = step[first - 1] - _due(step[first - 1], gone_m[first - 1], usual_ns)
    rear_ns = _due(step[stop - 1], gone_m[stop - 1], usual_ns) - step[stop - 1]
    closes = np.abs(front_ns - rear_ns) <= room_ns
    back = (step[first - 1] < 0) | (step[stop - 1] < 0)
    seconds = np.rint(front_ns / NANO).astype(np.int64)
    whole = np.maximum(*(np.abs(off - seconds * NANO) for off in (front_ns, rear_ns)))
    whole = (whole <= min(_FIT * usual_ns if even else room_ns, _SURELY_NS)) & (seconds != 0)
    # Two positions at one time, and one step too much at the other end.
    back |= ((step[first - 1] == 0) | (step[stop - 1] == 0)) & whole & (usual_ns > NANO // 2)
    good = closes & back & _drives_on(gone_m, first, stop) & ~_taken(time_ns, first, stop, usual_ns)
    good &= length[1:-1] <= length[:-2] + length[2:]
    plainly_ns = _PLAINLY_NS if even else max(_PLAINLY_NS, _PLAINLY_STEPS * usual_ns)
    good &= (length[1:-1] <= _FEW) | whole | (np.abs(front_ns) > plainly_ns)
    good &= _least_of_neighbours(np.where(good, length[1:-1], len(time_ns) + 1))
    return _Stretches(
        first[good], stop[good], seconds[good] * NANO, (whole & (length[1:-1] > _FEW))[good]
    )


def _taken(time_ns: Ints, first: Ints, stop: Ints, usual_ns: int) -> Bools:
    """Tell stretches whose due times other lines have: then the lines themselves are swapped."""
    low, high = time_ns[first - 1] + usual_ns // 2, time_ns[stop] - usual_ns // 2
    in_order = np.sort(time_ns)
    there = np.searchsorted(in_order, high) - np.searchsorted(in_order, low)
    own_ns = np.minimum(high, time_ns[stop - 1]) - np.maximum(low, time_ns[first])
    own = np.where(own_ns >= 0, own_ns // usual_ns + 1, 0)
    return np.asarray(there - own > (stop - first) // 2, np.bool_)


def _due(step_ns: Ints, gone_m: Floats, usual_ns: int) -> Ints:
    """When the next line is due: at once where a fix is told in two lines, as in NMEA 0183."""
    off_ns = np.abs((step_ns + NANO // 2) % NANO - NANO // 2)
    return np.where((gone_m == 0.0) & (off_ns <= _FIT * usual_ns), 0, usual_ns)


def _least_of_neighbours(length: Ints) -> Bools:
    """Tell which of stretches side by side are no longer than their neighbours; of two, the first.

    Each of two neighbours says of the other that it is off.
    """
    least = np.ones(len(length), np.bool_)
    least[1:] &= length[1:] < length[:-1]
    least[:-1] &= length[:-1] <= length[1:]
    return least


def _drives_on(gone_m: Floats, first: Ints, stop: Ints) -> Bools:
    """Tell stretches over whose ends the car went no farther than between the lines beside."""
    last = len(gone_m) - 1
    out = np.ones(len(first), np.bool_)
    for seam in (first - 1, stop - 1):
        beside = np.maximum(gone_m[np.maximum(seam - 1, 0)], gone_m[np.minimum(seam + 1, last)])
        single = stop - first == 1
        # The steps beside a single line are its two seams: both must be like those farther on.
        beyond = np.maximum(gone_m[np.maximum(first - 2, 0)], gone_m[np.minimum(stop, last)])
        beside = np.where(single, beyond, beside)
        out &= gone_m[seam] <= _FARTHER * beside + _NOISE_M
    return out


def _none() -> _Stretches:
    nothing = np.zeros(0, np.int64)
    return _Stretches(nothing, nothing, nothing, np.zeros(0, np.bool_))


def _say(line: Ints, moved: Ints, out: Bools, notes: list[Finding]) -> None:
    """Report what was put back and what was left out."""
    if moved.any():
        most_s = int(moved[np.argmax(np.abs(moved))]) // NANO
        side = "ahead of" if most_s > 0 else "behind"
        upto = "up to " if len(np.unique(moved[moved != 0])) > 1 else ""
        text = (
            f"times {upto}{rough_length(abs(most_s))} {side} the lines before and after; corrected"
        )
        notes.append(finding("time_put_back", text, line[moved != 0]))
    if out.any():
        text = "times that do not fit the lines before and after; left out of the fixes"
        notes.append(finding("stray_time", text, line[out]))


def _applied(recording: Recording, usable: Bools, row: Ints, moved: Ints, out: Bools) -> Bools:
    """Move the times, of what stands between the fixes of a stretch too."""
    if not moved.any() and not out.any():
        return usable
    time_ns = recording.time_ns.copy()
    # Lines that are no fixes are off as the fix before them is.
    before = np.clip(np.searchsorted(row, np.arange(len(time_ns)), "right") - 1, 0, None)
    time_ns[time_ns != NO_TIME] -= moved[before[time_ns != NO_TIME]]
    time_ns[row[out]] = NO_TIME
    recording.time_ns = time_ns
    left = usable.copy()
    left[row[out]] = False
    return left
