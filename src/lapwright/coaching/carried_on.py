"""
What was shown in the session before, held against this one, and both put together.

The two ways of driving a corner that were found then are looked for among the runs of now: cut
halfway between the two, so that nothing is chosen by the time.  Both estimates are of the time from
braking zone to braking zone, and are pooled (`lapwright.coaching.pooled`).  The first was chosen
because it was large, so it is somewhat too large; the second is not.

Lines are left out: two sessions lie up to metres apart on the track, the ways of a line less.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from lapwright.coaching.conditions import also_different, not_comparable
from lapwright.coaching.evidence import Evidence
from lapwright.coaching.pooled import Pooled, pooled
from lapwright.coaching.two_group_test import MIN_COUNT, mean_difference
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]

# What each code was cut by, and how far the ways of then may lie from where they were noted without
# a place: more, and the corner of that number is another one, on a track drawn again.
_COLUMNS = {
    "braking": ("braking_m", 15.0),
    "minimum_speed": ("min_speed_mps", 2.0),
    "throttle": ("throttle_station_m", 15.0),
}


class _Session(Protocol):
    """What is needed of a session."""

    @property
    def evidence(self) -> Evidence: ...
    @property
    def notes(self) -> LogNotes: ...


@dataclass(frozen=True, slots=True)
class Seen:
    """
    What one session says of two ways of driving a corner.

    Attributes
    ----------
    quicker_s, sd_s : float
        How much quicker the laps of the better way were.
    better_laps, usual_laps : tuple of int
    """

    quicker_s: float
    sd_s: float
    better_laps: tuple[int, ...]
    usual_laps: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CarriedOn:
    """
    One thing that was worth trying, in both sessions.

    Attributes
    ----------
    item : WorthTrying
        As it was found in the session before.
    before, now : Seen
    together : Pooled or None
        None where car or tyres are noted to differ: then the two stand side by side.
    differs : tuple of (str, str, str)
        What of car and tyres differs, before and now.
    """

    item: WorthTrying
    before: Seen
    now: Seen
    together: Pooled | None
    differs: tuple[tuple[str, str, str], ...] = ()


def carried_on(
    previous: _Session, session: _Session, items: Sequence[WorthTrying]
) -> tuple[CarriedOn, ...]:
    """
    Look for the ways of the session before among the runs of this one.

    Parameters
    ----------
    previous, session : Session
        Of the same driver, on the same track.
    items : sequence of WorthTrying
        What was found in the one before.

    Returns
    -------
    tuple of CarriedOn
        Those of which both sessions have enough runs of either way; none across wet and dry.
    """
    items = [item for item in items if item.code in _COLUMNS and item.better_laps]
    if not items or not_comparable(previous.notes, session.notes):
        return ()
    differs = also_different(previous.notes, session.notes)
    out = []
    for item in items:
        ways = _ways(previous.evidence, item)
        if ways is None:
            continue
        before = _then(previous.evidence, item)
        now = _now(session.evidence, item, ways)
        if before is not None and now is not None:
            values, sds = (before.quicker_s, now.quicker_s), (before.sd_s, now.sd_s)
            together = None if differs else pooled(values, sds)
            out.append(CarriedOn(item, before, now, together, differs))
    return tuple(out)


def ways_driven(
    previous: _Session, session: _Session, item: WorthTrying
) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    """
    Which laps of a session went which of the two ways of an earlier one, by which is nearer.

    Parameters
    ----------
    previous, session : Session
        Of the same driver, on the same track.
    item : WorthTrying
        What was found in the one before.

    Returns
    -------
    (tuple of int, tuple of int) or None
        Laps nearer to the better way, and nearer to the usual one; None where that is not known,
        and across wet and dry.
    """
    if item.code not in _COLUMNS or not item.better_laps:
        return None
    ways = _ways(previous.evidence, item)
    if ways is None or not_comparable(previous.notes, session.notes):
        return None
    rows, value = _runs(session.evidence, item)
    laps = session.evidence.passes["lap"].to_numpy()[rows]
    usual = np.abs(value - ways[1]) < np.abs(value - ways[0])
    better = tuple(int(n) for n in laps[~usual])
    return better, tuple(int(n) for n in laps[usual])


def _ways(evidence: Evidence, item: WorthTrying) -> tuple[float, float] | None:
    """Middles of the better and of the usual laps of then, on the track of today."""
    rows = evidence.of(item.corner)
    column, near = _COLUMNS[item.code]
    laps, value = (evidence.passes[c].to_numpy()[rows] for c in ("lap", column))
    middles = []
    for named, noted in ((item.better_laps, item.better), (item.usual_laps, item.usual)):
        known = value[np.isin(laps, named) & np.isfinite(value)]
        if len(known) < MIN_COUNT:
            return None
        middles.append(float(np.median(known)))
        if item.place_deg is None and abs(middles[-1] - noted) > near:
            return None
    return middles[0], middles[1]


def _then(evidence: Evidence, item: WorthTrying) -> Seen | None:
    """By the laps that were named then."""
    rows = evidence.of(item.corner)
    laps = evidence.passes["lap"].to_numpy()[rows]
    better, usual = np.isin(laps, item.better_laps), np.isin(laps, item.usual_laps)
    return _seen(evidence, rows[better | usual], usual[better | usual])


def _now(evidence: Evidence, item: WorthTrying, ways: tuple[float, float]) -> Seen | None:
    """By which of the two ways a run of now is nearer to."""
    rows, value = _runs(evidence, item)
    return _seen(evidence, rows, np.abs(value - ways[1]) < np.abs(value - ways[0]))


def _runs(evidence: Evidence, item: WorthTrying) -> tuple[Rows, Floats]:
    """Runs through an item's corner by what it is cut by, those of which that is known."""
    rows = evidence.of(item.corner)
    value = evidence.passes[_COLUMNS[item.code][0]].to_numpy(dtype=np.float64)[rows]
    known = np.isfinite(value)
    return rows[known], value[known]


def _seen(evidence: Evidence, rows: Rows, usual: Flags) -> Seen | None:
    y = evidence.passes["span_excess_s"].to_numpy(dtype=np.float64)[rows]
    rows, usual, y = rows[np.isfinite(y)], usual[np.isfinite(y)], y[np.isfinite(y)]
    if min(usual.sum(), (~usual).sum()) < MIN_COUNT:
        return None
    gap, sd, _ = mean_difference(y, evidence.covs_s2["span"][np.ix_(rows, rows)], usual)
    laps = evidence.passes["lap"].to_numpy()[rows]
    return Seen(gap, sd, *(tuple(int(n) for n in laps[side]) for side in (~usual, usual)))
