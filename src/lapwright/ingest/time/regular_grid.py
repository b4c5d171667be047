"""
Stamps rounded coarser than the rate, put back on the regular grid they came from.

A receiver measures at regular instants ``a + k T``; a logger that writes them to a tenth of a
second spoils that.  If every stamp lies within half the rounding step of such a grid, with whole
numbers ``k`` that only skip where fixes are missing, the grid is what the data show and
the stamps are moved onto it.  If not, be it by one stamp in five hundred, they stay as they
are: a jitter that is really there must not be made up away.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import NANO, Floats, Ints

_MIN_COUNT = 20
_FEW, _FEW_SHARE = 2, 0.002
"""So many lines may have a wrong digit that makes their time that of the next."""
_FINE = 0.004
"""Rounding below this share of the period is not worth a repair."""
_MISSING = 0.2
_SLACKS = (0.02, 0.15)
"""How far stamps may lie outside their rounding, as shares of it: first hardly, then a little for
a small jitter of the receiver.  More would be jitter made up away."""
_BLOCK = 128
_PREFIX = 800


@dataclass(frozen=True, slots=True)
class _Grid:
    """A regular grid: phase, period, and the number of each fix on it."""

    phase_s: float
    period_s: float
    number: Ints
    missing: int


def repair_rounded(
    time_ns: Ints, recording: Recording, row: Ints, notes: list[Finding]
) -> Ints | None:
    """
    Put rounded stamps back on their grid.

    Parameters
    ----------
    time_ns : ndarray, shape (n,)
        In order, repeats allowed. [ns]
    recording : Recording
    row : ndarray, shape (n,)
        Rows of the recording.
    notes : list of Finding
        What was done is added to it.

    Returns
    -------
    time_ns : ndarray, shape (n,), or None
        Strictly increasing; None where the data show no such grid. [ns]
    """
    step = np.diff(time_ns)
    if len(step) < _MIN_COUNT or (step < 0).any() or not step.any():
        return None
    usual = int(np.median(step))
    if usual > 0 and (step % usual == 0).all() and _makes_up(step, usual):
        return None
    lat, lon = recording.lat_deg[row], recording.lon_deg[row]
    again = step == 0
    if again.any():
        still = (np.diff(lat) == 0) & (np.diff(lon) == 0)
        if still[again].mean() > 0.9:
            # The same stamp and the same position: written twice, not two fixes.
            return None
    round_ns = int(np.gcd.reduce(step))
    base_ns = int(time_ns[0] // NANO * NANO)
    time_s = (time_ns - base_ns) / NANO
    gone = np.append(0.0, np.hypot(np.diff(lat), np.diff(lon) * np.cos(np.radians(lat[0]))))
    grid = _find_grid(time_s, round_ns / NANO, gone)
    if grid is None:
        return None
    out = base_ns + np.rint((grid.phase_s + grid.number * grid.period_s) * NANO).astype(np.int64)
    moved = np.abs(out - time_ns)
    if moved.max() < 1000 or (np.diff(out) <= 0).any():
        return None
    skipped = f", with {grid.missing} fixes missing" if grid.missing else ""
    text = (
        f"time stamps rounded to {round_ns / NANO:g} s were put back on the regular grid of "
        f"{1 / grid.period_s:.6g} Hz that all of them fit{skipped}; largest change "
        f"{moved.max() / NANO:.3f} s"
    )
    notes.append(finding("rounded_time", text, recording.line[row[moved > 0]]))
    return np.asarray(out, np.int64)


def _makes_up(step: Ints, usual: int) -> bool:
    """Tell steps of which hardly any is zero, and that beside a long one: a digit, no rounding."""
    if (step == 0).sum() > max(_FEW, _FEW_SHARE * len(step)):
        return False
    long = np.concatenate([[False], step >= 2 * usual, [False]])
    return bool((long[:-2] | long[2:])[step == 0].all())


def _find_grid(time_s: Floats, round_s: float, gone: Floats) -> _Grid | None:
    """Try whole rates from low to high, then the rate the stamps themselves say."""
    window = min(50, len(time_s) - 1)
    spans = (time_s[window:] - time_s[:-window]) / window
    usual_s = float(np.quantile(spans, 0.1))
    if usual_s <= 0 or round_s < _FINE * usual_s:
        return None
    spread = 0.03 + round_s / (window * usual_s)
    whole_span_s = time_s[-1] - time_s[0]
    for slack in _SLACKS:
        limit_s = whole_span_s + round_s * (1 + 2 * slack)
        for period_s in _usual_periods(usual_s, spread):
            # More fixes than places on the grid: the rate is higher.
            if (len(time_s) - 1) * period_s <= limit_s:
                grid = _fit(time_s, round_s, period_s, gone, slack)
                if grid is not None:
                    return grid
        for share in (0.1, 0.3, 0.5):
            own_s = _own_period(time_s, round_s, float(np.quantile(spans, share)), slack)
            grid = _fit(time_s, round_s, own_s, gone, slack) if own_s else None
            if grid is not None:
                return grid
    return None


def _usual_periods(usual_s: float, spread: float) -> list[float]:
    """Periods of whole rates and of whole milliseconds near the usual step, longest first."""
    low_s, high_s = usual_s * (1 - spread), usual_s * (1 + spread)
    first = max(1, int(np.ceil(1 / high_s)))
    rates = range(first, min(int(np.floor(1 / low_s)), first + 40) + 1)
    millis = range(int(np.ceil(high_s * 1000)) - 1, int(low_s * 1000), -1)[:40]
    whole = [count / 1000 for count in millis if count >= 5]
    return sorted({1.0 / rate for rate in rates} | set(whole), reverse=True)


def _own_period(time_s: Floats, round_s: float, guess_s: float, slack: float) -> float | None:
    """Fit the period on a stretch without missing fixes, then on ever longer ones with them."""
    period_s, start, stop = guess_s, 0, 0
    for _ in range(8):
        start, stop = _longest_run(time_s[:_PREFIX], round_s, period_s, slack)
        if stop - start < _MIN_COUNT:
            return None
        new_s = float(np.polyfit(np.arange(stop - start), time_s[start:stop], 1)[0])
        if abs(new_s - period_s) < 1e-9 * period_s:
            break
        period_s = new_s
    while stop - start < len(time_s) and period_s > 0:
        extra = (stop - start) // 2
        start, stop = max(0, start - extra), min(len(time_s), stop + extra)
        part = time_s[start:stop]
        # On the way the period is not exact yet, so the stamps get more room.
        found = _count(part, round_s, period_s, max(_SLACKS))
        if found is None:
            return None
        number = np.arange(len(part)) + found.missed
        period_s = float(np.polyfit(number, part, 1)[0])
    return period_s


def _longest_run(time_s: Floats, round_s: float, period_s: float, slack: float) -> tuple[int, int]:
    """Find the longest stretch in which counting on fits all stamps."""
    phase = time_s - np.arange(len(time_s)) * period_s
    limit = round_s * (1 + 2 * slack)
    if _MIN_COUNT <= len(phase) <= _PREFIX:
        # Quick to see where the column is no time, and too short to be of use otherwise.
        window = np.lib.stride_tricks.sliding_window_view(phase, _MIN_COUNT)
        if (window.max(axis=1) - window.min(axis=1)).min() > limit:
            return (0, 0)
    start, best, tries = 0, (0, 0), 0
    while len(phase) - start > best[1] - best[0] and tries < 3000:
        stop = _run_end(phase, start, limit)
        if stop - start > best[1] - best[0]:
            best = (start, stop)
        start, tries = stop, tries + 1
    return best


def _run_end(phase: Floats, start: int, limit: float) -> int:
    """End of the stretch from `start` on that spans no more than `limit`."""
    high, low, at, size = -np.inf, np.inf, start, _BLOCK
    while at < len(phase):
        part = phase[at : at + size]
        top = np.maximum(np.maximum.accumulate(part), high)
        bottom = np.minimum(np.minimum.accumulate(part), low)
        over = np.flatnonzero(top - bottom > limit)
        if len(over):
            return at + int(over[0])
        high, low, at, size = top[-1], bottom[-1], at + len(part), size * 2
    return len(phase)


@dataclass(frozen=True, slots=True)
class _Count:
    """How many fixes are missing before each, at least and at most, and the phase."""

    missed: Floats
    upper: Floats
    centre_s: float
    half_s: float


def _count(time_s: Floats, round_s: float, period_s: float, slack: float) -> _Count | None:
    """
    Count the missing fixes on a grid of this period; None where the stamps do not fit.

    For a phase ``a`` the number of fix ``i`` is ``i + m`` with a count ``m`` of missing fixes that
    lies between two bounds and never falls.
    """
    start, stop = _longest_run(time_s, round_s, period_s, slack)
    if stop - start < _MIN_COUNT:
        return None
    # The last fixes of a run may already be behind a missing one.
    tail = min(int(3 * np.ceil(round_s / period_s)) + 10, (stop - start) // 3)
    phase = time_s - np.arange(len(time_s)) * period_s
    inner = phase[start : stop - tail]
    low_s, high_s = inner.max() - round_s / 2, inner.min() + round_s / 2
    centre_s, half_s = (low_s + high_s) / 2, abs(high_s - low_s) / 2
    reach_s = round_s / 2 + half_s + slack * round_s
    least = np.ceil((phase - reach_s - centre_s) / period_s)
    most = np.floor((phase + reach_s - centre_s) / period_s)
    # Within that run none is missing: that settles which place on the grid is which.
    least[start : stop - tail] = most[start : stop - tail] = 0.0
    upper = np.minimum.accumulate(most[::-1])[::-1]
    missed = np.maximum(np.maximum.accumulate(least), upper[0])
    if (missed > most).any() or _leans(inner, round_s):
        return None
    return _Count(missed, upper, centre_s, half_s)


def _leans(phase: Floats, round_s: float) -> bool:
    """
    Tell a phase that drifts through its rounding within a run: then the period is another.

    A small drift is none: rounding of a regular grid is no noise, but a pattern.
    """
    middle = np.arange(len(phase)) - (len(phase) - 1) / 2
    slope_s = (middle @ phase) / (middle @ middle)
    noise_s = round_s / np.sqrt(12 * (middle @ middle))
    return bool(abs(slope_s) > max(5 * noise_s, 0.4 * round_s / len(phase)))


def _fit(
    time_s: Floats, round_s: float, period_s: float, gone: Floats, slack: float
) -> _Grid | None:
    """Number all fixes on a grid of this period; None where they do not fit."""
    # What the first fixes refute need not be tried on all.
    if _count(time_s[:_PREFIX], round_s, period_s, slack) is None:
        return None
    found = _count(time_s, round_s, period_s, slack)
    if found is None:
        return None
    missed = found.missed
    jumps = np.flatnonzero(np.diff(missed) > 0)
    if len(jumps) > _MISSING * len(time_s) or _too_even(jumps):
        return None
    _place_jumps(missed, found.upper, jumps, time_s, gone)
    number = np.arange(len(time_s)) + missed.astype(np.int64)
    single = np.diff(missed)
    short = int(single[single * period_s < 1.0].sum())
    phase = (found.centre_s, found.half_s)
    return _settle(time_s, round_s, period_s, number, phase, short)


def _settle(
    time_s: Floats,
    round_s: float,
    period_s: float,
    number: Ints,
    phase: tuple[float, float],
    missing: int,
) -> _Grid:
    """Settle phase and period: at whole seconds if that fits, else as the stamps say."""
    centre_s, half_s = phase
    left = time_s - number * period_s
    middle = number - number.mean()
    drift_s = float((middle @ left) / (middle @ middle))
    noise_s = round_s / np.sqrt(12 * (middle @ middle))
    if abs(drift_s) > 5 * noise_s:
        # The logger's clock runs at a pace of its own.
        own_s = period_s + drift_s
        return _Grid(float((time_s - number * own_s).mean()), own_s, number, missing)
    aligned_s = round(centre_s / period_s) * period_s
    rate, millis = 1.0 / period_s, 1000.0 * period_s
    whole = min(abs(rate - round(rate)) / rate, abs(millis - round(millis)) / millis) < 1e-9
    if whole and abs(aligned_s - centre_s) <= half_s + 1e-9:
        # Receivers measure at whole seconds of GPS time and the parts between.
        centre_s = aligned_s
    return _Grid(centre_s, period_s, number, missing)


def _too_even(jumps: Ints) -> bool:
    """Missing fixes come at random; at even intervals they show a wrong period."""
    if len(jumps) < 6:
        return False
    between = np.diff(jumps)
    return bool(between.std() < 0.35 * between.mean())


def _place_jumps(missed: Floats, upper: Floats, jumps: Ints, time_s: Floats, gone: Floats) -> None:
    """
    Decide which fix is missing where the stamps allow several: the longest way tells.

    Changes `missed` in place; it holds the latest places allowed.
    """
    before = 0
    for jump in jumps:
        after = missed[jump + 1]
        first = jump
        while first > before and upper[first] >= after:
            first -= 1
        if first < jump:
            step = np.diff(time_s[first : jump + 2])
            way = gone[first + 1 : jump + 2]
            widest = np.flatnonzero(step == step.max())
            chosen = int(widest[np.argmax(way[widest])]) if way.max() > 0 else len(way) // 2
            best = int(np.argmax(way))
            if way[best] > 1.4 * np.median(way):
                chosen = best
            missed[first + 1 + chosen : jump + 1] = after
        before = jump + 1
