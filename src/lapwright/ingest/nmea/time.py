"""
The time of NMEA sentences: hhmmss.ss everywhere, a date only in RMC and ZDA.

The date is carried from the sentences that have one to those that have none; where the time
of day falls back by more than half a day between, a day is added.
"""

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.nmea.sentences import Sentences
from lapwright.ingest.recording import finding
from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME, Ints
from lapwright.ingest.time.timestamps import Cells, days_from_civil

_TIMED = ("RMC", "GGA", "GNS", "GST", "ZDA")


def dated(found: dict[str, Sentences], notes: list[Finding]) -> tuple[dict[str, Ints], bool]:
    """
    Time of every sentence that has one.

    Parameters
    ----------
    found : dict
        From type to sentences.
    notes : list of Finding

    Returns
    -------
    time_ns : dict
        From type to instants: since 1970 where the log has a date, else since the
        first midnight; `NO_TIME` where there is none. [ns]
    has_date : bool
    """
    kinds = [kind for kind in _TIMED if kind in found]
    order = np.concatenate([found[kind].order for kind in kinds])
    of_day = np.concatenate([time_of_day(found[kind].letters("time")) for kind in kinds])
    day = np.concatenate([_dates(found[kind]) for kind in kinds])
    line = np.concatenate([found[kind].line for kind in kinds])
    rank = np.argsort(order, kind="stable")
    absolute, has_date = _carry(of_day[rank], day[rank], line[rank], notes)
    back = np.empty_like(absolute)
    back[rank] = absolute
    out, at = {}, 0
    for kind in kinds:
        out[kind] = back[at : at + len(found[kind])]
        at += len(found[kind])
    return out, has_date


def time_of_day(cells: Cells) -> Ints:
    """
    Read hhmmss.sss; `NO_TIME` where it is none.

    Parameters
    ----------
    cells : ndarray of uint8, shape (n, width)

    Returns
    -------
    time_ns : ndarray, shape (n,)
        Since midnight. [ns]
    """
    if cells.shape[1] < 6:
        return np.full(len(cells), NO_TIME, np.int64)
    value = cells.astype(np.int64) - 48
    digit = (value >= 0) & (value <= 9)
    ok = digit[:, :6].all(axis=1)
    hour, minute = value[:, 0] * 10 + value[:, 1], value[:, 2] * 10 + value[:, 3]
    second = value[:, 4] * 10 + value[:, 5]
    ok &= (hour < 24) & (minute < 60) & (second <= 60)
    ns = ((hour * 60 + minute) * 60 + second) * NANO
    if cells.shape[1] > 6:
        ok &= (cells[:, 6] == ord(".")) | (cells[:, 6] == 32)
        for place, column in enumerate(range(7, min(cells.shape[1], 16)), start=1):
            part = digit[:, column]
            ns += np.where(part, value[:, column], 0) * 10 ** (9 - place)
            ok &= part | (cells[:, column] == 32)
    return np.where(ok, ns, NO_TIME)


def _dates(sentences: Sentences) -> Ints:
    """Day since 1970 of each sentence; -1 where it has none."""
    count = len(sentences)
    if sentences.kind == "RMC":
        cells = sentences.letters("date")
        if cells.shape[1] < 6:
            return np.full(count, -1, np.int64)
        value = cells[:, :6].astype(np.int64) - 48
        ok = ((value >= 0) & (value <= 9)).all(axis=1) & ~(value == 0).all(axis=1)
        pair = value[:, ::2] * 10 + value[:, 1::2]
        # POSIX: 69-99 are 1969-1999, 00-68 are 2000-2068.
        year = pair[:, 2] + np.where(pair[:, 2] >= 69, 1900, 2000)
        day, exists = days_from_civil(year, pair[:, 1], pair[:, 0])
        return np.where(ok & exists, day, -1)
    if sentences.kind == "ZDA":
        parts = [sentences.number(name) for name in ("year", "month", "day")]
        ok = np.isfinite(parts[0]) & np.isfinite(parts[1]) & np.isfinite(parts[2])
        year, month, day = (np.where(ok, part, 1).astype(np.int64) for part in parts)
        number, exists = days_from_civil(year, month, day)
        return np.where(ok & exists & (year > 1979), number, -1)
    return np.full(count, -1, np.int64)


def _carry(of_day: Ints, day: Ints, line: Ints, notes: list[Finding]) -> tuple[Ints, bool]:
    """Give every time its day, in file order."""
    timed = of_day != NO_TIME
    step = np.diff(of_day[timed])
    turn = np.where(step < -DAY_NS // 2, 1, 0) - np.where(step > DAY_NS // 2, 1, 0)
    passed = np.zeros(len(of_day), np.int64)
    passed[timed] = np.append(0, np.cumsum(turn))
    known = timed & (day >= 0)
    if not known.any():
        out = np.where(timed, of_day + passed * DAY_NS, NO_TIME)
        _say_midnight(turn, line[timed], notes)
        return out, False
    # Day on which the count of midnights was zero, by each date; the last one known holds.
    base = np.where(known, day - passed, 0)
    last = np.maximum.accumulate(np.where(known, np.arange(len(day)), -1))
    first = int(np.argmax(known))
    base = base[np.where(last >= 0, last, first)]
    out = np.where(timed, (base + passed) * DAY_NS + of_day, NO_TIME)
    _say_midnight(turn, line[timed], notes)
    changed = np.flatnonzero(np.diff(base) != 0) + 1
    if len(changed):
        text = "the date changes other than at midnight"
        notes.append(finding("date_change", text, line[changed]))
    return out, True


def _say_midnight(turn: Ints, line: Ints, notes: list[Finding]) -> None:
    """Report that midnight is passed."""
    if (turn > 0).any():
        text = "the log runs past midnight; the date moves on by a day"
        notes.append(finding("midnight", text, line[1:][turn > 0]))
