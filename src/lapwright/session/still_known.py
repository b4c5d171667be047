"""
What a session tells where it shows no habit: numbers only, each named as what it is.

One lap against another, how corners vary, what the quicker runs had in common, how many more laps
would settle it.  Nothing here is advice; `lapwright.wording.coaching.still_known` says it.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from lapwright.coaching.conditions import changing
from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.coaching.no_habit.laps_needed import LapsNeeded, laps_needed
from lapwright.coaching.no_habit.quicker_third import QuickerThird, quicker_thirds
from lapwright.coaching.no_habit.variation import MIN_RUNS
from lapwright.laps.clean_laps import NOT_FOR_BEST
from lapwright.numerics.regression import Line, fit_line
from lapwright.session.session import Session

# As many places as a driver keeps in mind.
_MOST = 2
# A difference of less than so many of its error bars is none.
_RESOLVED_SDS = 2.0
# Of fewer clean laps there is no trend.
_MIN_TREND = 4


@dataclass(frozen=True, slots=True)
class Lost:
    """
    Time a lap lost to another somewhere.

    Attributes
    ----------
    where : int
        Number of the corner (0: what the lap began with at the line) or of the sector.
    cause : str
        One of `lapwright.laps.lost_time.CAUSES`; empty for a sector.
    lost_s, lost_sd_s : float
    """

    where: int
    cause: str
    lost_s: float
    lost_sd_s: float


@dataclass(frozen=True, slots=True)
class Varies:
    """
    How much the time over a corner varies from lap to lap, see `lapwright.Session.variation`.

    Attributes
    ----------
    corner : int
    varies_s, low95_s, high95_s : float
    """

    corner: int
    varies_s: float
    low95_s: float
    high95_s: float


@dataclass(frozen=True, slots=True)
class SetAside:
    """
    A timed lap that is not clean.

    Attributes
    ----------
    lap : int
    time_s, time_sd_s : float
    flags : tuple of str
        Why; empty where it is only too slow for the others.
    """

    lap: int
    time_s: float
    time_sd_s: float
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BestSector:
    """
    The quickest time of a sector, on whichever lap.

    Attributes
    ----------
    sector, lap : int
    time_s, time_sd_s : float
    """

    sector: int
    lap: int
    time_s: float
    time_sd_s: float


@dataclass(frozen=True, slots=True)
class StillKnown:
    """
    What a session tells where it shows no habit.

    Attributes
    ----------
    clean_laps : int
    changing : bool
        Whether the notes say that the conditions changed.
    lap, reference : int or None
        The typical lap and the best one.
    lost : tuple of Lost
        Where the one lost most to the other.
    sector_lost : Lost or None
        Where it lost most to the best sectors of all clean laps.
    varies : tuple of Varies
        The corners that vary most, by more than measuring does.
    quicker : tuple of QuickerThird
    needed : tuple of LapsNeeded
        For the same corners; of too few laps a single one.
    trend : Line or None
        Time over the number of the lap, where conditions changed. [s, s/lap]
    aside : tuple of SetAside
        Timed laps that do not count, where fewer than two do.
    sectors : tuple of BestSector
        Where no lap is clean.
    """

    clean_laps: int
    changing: bool = False
    lap: int | None = None
    reference: int | None = None
    lost: tuple[Lost, ...] = ()
    sector_lost: Lost | None = None
    varies: tuple[Varies, ...] = ()
    quicker: tuple[QuickerThird, ...] = ()
    needed: tuple[LapsNeeded, ...] = ()
    trend: Line | None = None
    aside: tuple[SetAside, ...] = ()
    sectors: tuple[BestSector, ...] = ()


def still_known(session: Session) -> StillKnown | None:
    """
    Gather what a session tells where it shows no habit.

    Parameters
    ----------
    session : Session

    Returns
    -------
    StillKnown or None
        None where there is something worth trying.
    """
    said = session.notes.conditions
    return session.shelf.get("still known", lambda: _still_known(session), said)


def _still_known(session: Session) -> StillKnown | None:
    judgement = session.judgement
    if judgement.habits:
        return None
    clean = len(session.clean_laps)
    if clean < 2:
        return StillKnown(
            clean, aside=_aside(session.laps), sectors=() if clean else _best_sectors(session)
        )
    if changing(session.notes.conditions):
        return StillKnown(clean, changing=True, trend=_trend(session.laps))
    held_back = judgement.held_back
    varies = most_varying(session.variation, held_back)
    corners = [one.corner for one in varies]
    evidence = session.evidence
    thirds = quicker_thirds(evidence, corners)
    # With too few laps the answer is the same everywhere.
    asked = corners if clean >= MIN_LAPS else [0]
    needed = [laps_needed(evidence, corner) for corner in asked]
    return StillKnown(
        clean,
        lap=session.typical_lap,
        reference=session.best_lap,
        lost=most_lost(session, held_back),
        sector_lost=_sector_lost(session),
        varies=varies,
        quicker=tuple(one for one in thirds if one is not None),
        needed=tuple(one for one in needed if one is not None),
    )


def most_varying(variation: pd.DataFrame, held_back: tuple[int, ...] = ()) -> tuple[Varies, ...]:
    """Corners that vary most, two at most, by more than measuring does; see `StillKnown`."""
    known = variation[(variation["laps"] >= MIN_RUNS) & (variation["varies_low95_s"] > 0.0)]
    known = known[~known["corner"].isin(held_back)].nlargest(_MOST, "varies_s")
    columns = ("corner", "varies_s", "varies_low95_s", "varies_high95_s")
    rows = zip(*(known[name] for name in columns), strict=True)
    return tuple(Varies(int(n), float(v), float(a), float(b)) for n, v, a, b in rows)


def most_lost(session: Session, held_back: tuple[int, ...] = ()) -> tuple[Lost, ...]:
    """Where the typical lap lost most to the best, two causes at most; see `StillKnown`."""
    if session.typical_lap is None or session.best_lap is None:
        return ()
    table, _ = session.causes_between(session.typical_lap, session.best_lap)
    table = table[~table["corner"].isin(held_back)]
    table = table[table["lost_s"] > _RESOLVED_SDS * table["lost_sd_s"]].nlargest(_MOST, "lost_s")
    columns = ("corner", "cause", "lost_s", "lost_sd_s")
    rows = zip(*(table[name] for name in columns), strict=True)
    return tuple(Lost(int(n), str(c), float(v), float(sd)) for n, c, v, sd in rows)


def _sector_lost(session: Session) -> Lost | None:
    """Where the typical lap lost most to the best sectors of all clean laps."""
    if session.typical_lap is None or not session.track.sectors:
        return None
    cuts, clean = session.cuts, session.laps[session.laps["representative"]]
    time = np.array([list(row) for row in clean["sectors_s"]])
    mine = int(np.flatnonzero(clean["lap"].to_numpy() == session.typical_lap)[0])
    if not np.isfinite(time[mine]).all():
        return None
    best = np.nanargmin(time, axis=0)
    passage = np.searchsorted(cuts.passages["time_s"], clean["start_s"].to_numpy() - 1e-6)
    pick = np.zeros((time.shape[1], len(cuts.posterior.mean)))
    for k, row in enumerate(best):
        for sign, lap in ((1.0, mine), (-1.0, row)):
            i = int(passage[lap])
            marks = [i, *(int(j) for j in cuts.index[i]), i + 1]
            pick[k, marks[k + 1]] += sign
            pick[k, marks[k]] -= sign
    # By the joint errors: two laps' crossings of one line have most of theirs in common.
    sd, lost = cuts.posterior.combined(pick).sd, time[mine] - time[best, np.arange(len(best))]
    k = int(np.argmax(lost))
    if lost[k] <= _RESOLVED_SDS * sd[k]:
        return None
    return Lost(k + 1, "", float(lost[k]), float(sd[k]))


def _trend(laps: pd.DataFrame) -> Line | None:
    clean = laps[laps["representative"]]
    if len(clean) < _MIN_TREND:
        return None
    return fit_line(clean["lap"].to_numpy(dtype=np.float64), clean["time_s"].to_numpy())


def _timed(laps: pd.DataFrame) -> pd.DataFrame:
    return laps[(laps["kind"] == "timed") & laps["time_s"].notna()]


def _aside(laps: pd.DataFrame) -> tuple[SetAside, ...]:
    rest = _timed(laps)
    rest = rest[~rest["representative"]]
    rows = zip(*(rest[c] for c in ("lap", "time_s", "time_sd_s", "flags")), strict=True)
    return tuple(SetAside(int(n), float(t), float(sd), tuple(f)) for n, t, sd, f in rows)


def _best_sectors(session: Session) -> tuple[BestSector, ...]:
    """Of laps on which no part of the circuit was left out or not seen."""
    laps = _timed(session.laps)
    laps = laps[laps["flags"].map(NOT_FOR_BEST.isdisjoint).astype(bool)]
    if laps.empty or not session.track.sectors:
        return ()
    time, sd = (np.array([list(r) for r in laps[c]]) for c in ("sectors_s", "sector_sds_s"))
    number = laps["lap"].to_numpy()
    out = []
    for k in range(time.shape[1]):
        if np.isfinite(time[:, k]).any():
            i = int(np.nanargmin(time[:, k]))
            out.append(BestSector(k + 1, int(number[i]), float(time[i, k]), float(sd[i, k])))
    return tuple(out)
