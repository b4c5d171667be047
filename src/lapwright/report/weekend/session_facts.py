"""What a weekend page keeps of a session; the session itself is let go, for the next one."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.coaching.conditions import surface
from lapwright.coaching.evidence import Evidence
from lapwright.columns import records
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.report.weekend.typical import MIN_TYPICAL, Pace, Typical, pace, typical
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.car import car_lines
from lapwright.wording.coaching.still_known import still_known
from lapwright.wording.coaching.worth_trying import advice_in_words
from lapwright.wording.event.race import race_in_words

# What is held side by side in every corner, with its error bar.
QUANTITIES = {
    "brake_to_corner_m": "brake_sd_m",
    "min_speed_mps": "min_speed_sd_mps",
    "time_s": "time_sd_s",
}


@dataclass(frozen=True, slots=True)
class CameOf:
    """
    What came of what was tried or changed before a session.

    Attributes
    ----------
    before : str
        File name of the session that it is compared with; may be empty.
    texts : tuple of str
    """

    before: str = ""
    texts: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class CornerFacts:
    """
    One corner in one session.

    Attributes
    ----------
    typical : dict of Typical
        By quantity; none where too few clean laps have it.
    best : dict of (float, float)
        By quantity, on the session's best lap: value and error bar; NaN where it has none.
    flat : bool
        Whether the car did not slow for it on most of the clean laps.
    """

    typical: Mapping[str, Typical]
    best: Mapping[str, tuple[float, float]]
    flat: bool


@dataclass(frozen=True, eq=False)
class SessionFacts:
    """
    What a weekend page keeps of a session.

    Attributes
    ----------
    number : int
        In the order of the weekend, from 1.
    name : str
        What the session is called.
    path : Path
    notes : LogNotes
    start_utc : Timestamp or None
    laps : DataFrame
        Timed laps: ``lap``, ``time_s``, ``time_sd_s``, ``representative``, ``flags``.
    best_lap : int or None
    best : (float, float) or None
        Its time and error bar. [s]
    pace : Pace
    added_up : (float, float) or None
        The best sectors of the clean laps added up, where there are two laps and sectors. [s]
    corners : dict of CornerFacts
        By number.
    items : tuple of WorthTryingInWords
    remark : str
        Why nothing is worth trying, or what was held back.
    known : tuple of str
        What the laps show where nothing is worth trying.
    evidence : Evidence
    came : CameOf
    race : tuple of str
        What it was made of, a sentence each, where it began with a standing start.
    car : tuple of str
        What of the car deserves a look, a text each.
    """

    number: int
    name: str
    path: Path
    notes: LogNotes
    start_utc: pd.Timestamp | None
    laps: pd.DataFrame
    best_lap: int | None
    best: tuple[float, float] | None
    pace: Pace
    added_up: tuple[float, float] | None
    corners: Mapping[int, CornerFacts]
    items: tuple[WorthTryingInWords, ...]
    remark: str
    known: tuple[str, ...]
    evidence: Evidence
    came: CameOf = field(default_factory=CameOf)
    race: tuple[str, ...] = ()
    car: tuple[str, ...] = ()

    @property
    def driver(self) -> str:
        """Who drove, by the notes; may be empty."""
        return " ".join(self.notes.driver.split())

    @property
    def surface(self) -> str:
        """``dry``, ``wet``, ``changing``, or empty where nothing tells."""
        return surface(self.notes.conditions)

    @property
    def clean(self) -> pd.DataFrame:
        """The clean laps."""
        return self.laps[self.laps["representative"]]


def session_facts(
    session: Session, number: int, came: CameOf, units: Units, name: str = ""
) -> SessionFacts:
    """
    Take from a session what a weekend page shows.

    Parameters
    ----------
    session : Session
    number : int
    came : CameOf
    units : Units
        Of the sentences; every number is in SI units.
    name : str
        What the session is called; the log's name without its ending where empty.

    Returns
    -------
    SessionFacts
    """
    # First, for what is worth trying needs some of its error bars, and has them from there then.
    passes = session.passes
    laps = session.laps
    timed = laps[(laps["kind"] == "timed") & laps["time_s"].notna()]
    clean = timed[timed["representative"]]
    best = session.best_lap
    advice = advice_in_words(session, units)
    enough = len(clean) > 1 and len(session.track.sectors) > 0
    return SessionFacts(
        number, name or session.log.path.name.split(".")[0], session.log.path,
        session.notes, session.log.start_utc,
        timed[["lap", "time_s", "time_sd_s", "representative", "flags"]].reset_index(drop=True),
        best, None if best is None else _time_of(session, best),
        pace(*(clean[c].to_numpy(dtype=np.float64) for c in ("time_s", "time_sd_s"))),
        session.theoretical_best if enough else None, _corners(passes, clean["lap"], best),
        advice.items, advice.remark, still_known(session, units, 1),
        # Without what works out more of it: that would keep the whole session.
        replace(session.evidence, bars_of=None), came,
        race_in_words(session, units) if len(session.launches) else (), car_lines(session, units),
    )  # fmt: skip


def _time_of(session: Session, lap: int) -> tuple[float, float]:
    row = session.row(lap)
    return float(row["time_s"]), float(row["time_sd_s"])


def _corners(passes: pd.DataFrame, clean: pd.Series, best: int | None) -> dict[int, CornerFacts]:
    out = {}
    for corner, rows in passes.groupby("corner"):
        runs = rows[rows["lap"].isin(clean)]
        found = {name: typical(runs[name], runs[sd]) for name, sd in QUANTITIES.items()}
        on_best = records(rows[rows["lap"] == best]) if best is not None else []
        nothing = {name: (float("nan"), float("nan")) for name in QUANTITIES}
        out[int(str(corner))] = CornerFacts(
            {name: one for name, one in found.items() if one is not None},
            {k: (float(on_best[0][k]), float(on_best[0][sd])) for k, sd in QUANTITIES.items()}
            if on_best else nothing,
            len(runs) >= MIN_TYPICAL and bool(2 * runs["flat"].sum() > len(runs)),
        )  # fmt: skip
    return out
