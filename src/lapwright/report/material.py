"""
All a report says about a session, gathered once: values and tables, no more work to be done.

A page, a PDF and a folder of tables are made from the same material, so they cannot disagree.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.analysis import Session
from lapwright.analysis.compare import Comparison
from lapwright.analysis.notes import LogNotes
from lapwright.analysis.trace import LapTrace
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Track
from lapwright.ingest.log import Log

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Material:
    """
    What a report is made of.

    Attributes
    ----------
    log : Log
    track : Track
    laps, corners, passes : DataFrame
        As in `lapwright.Session`; the laps with ``gap_s`` and ``gap_sd_s`` to the best lap.
    best, usual : int or None
        The best lap, and the clean lap whose time is the middle of the others'.
    traces : dict of LapTrace
        By lap, of every timed lap that goes from line to line.
    comparison : Comparison or None
        The usual lap against the best.
    other : Comparison or None
        The best lap against a reference that was asked for.
    other_name : str
        What that reference is called.
    theoretical_best : (float, float) or None
        Sum of the best sectors and its sd. [s]
    noise : dict
    worth_trying : tuple of WorthTrying
    notes : LogNotes
    came_of_it : tuple of str
        What came of what was tried last time, a sentence each.
    """

    log: Log
    track: Track
    laps: pd.DataFrame
    corners: pd.DataFrame
    passes: pd.DataFrame
    best: int | None
    usual: int | None
    traces: Mapping[int, LapTrace]
    comparison: Comparison | None
    other: Comparison | None
    other_name: str
    theoretical_best: tuple[float, float] | None
    noise: Mapping[str, object]
    worth_trying: tuple[WorthTrying, ...] = ()
    notes: LogNotes = field(default_factory=LogNotes)
    came_of_it: tuple[str, ...] = ()

    @property
    def clean(self) -> pd.DataFrame:
        """The clean laps."""
        return self.laps[self.laps["representative"]]

    @property
    def length_m(self) -> float:
        """Length of a lap. [m]."""
        return self.track.length_m

    def lap(self, number: int) -> dict[str, Any]:
        """Row of one lap."""
        row = self.laps[self.laps["lap"] == number].iloc[0]
        return {str(key): value for key, value in row.items()}


def gather(
    session: Session,
    reference: int | tuple[Session, int | None] | None = None,
    notes: LogNotes | None = None,
    came_of_it: Sequence[str] = (),
) -> Material:
    """
    Gather what a report says.

    Parameters
    ----------
    session : Session
    reference : int, or (Session, int or None), optional
        A lap of this session, or of another one on the same track (its best where None), that
        the best lap is compared with as well.
    notes : LogNotes, optional
    came_of_it : sequence of str
        What came of what was tried last time.

    Returns
    -------
    Material
    """
    laps = with_gaps(session)
    best = session.best_lap
    usual = usual_lap(laps, best)
    timed = laps.loc[(laps["kind"] == "timed") & laps["time_s"].notna(), "lap"]
    compared = best is not None and usual is not None
    other, other_name = _other(session, best, reference)
    return Material(
        session.log,
        session.track,
        laps,
        session.corners,
        session.passes,
        best,
        usual,
        {int(n): session.trace(int(n)) for n in timed},
        session.compare(usual, best) if compared and usual is not None else None,
        other,
        other_name,
        session.theoretical_best,
        session.noise,
        getattr(session, "worth_trying", ()),
        notes or LogNotes(),
        tuple(came_of_it),
    )


def usual_lap(laps: pd.DataFrame, best: int | None) -> int | None:
    """Return the clean lap, other than the best, whose time is nearest the middle of them."""
    rest = laps[laps["representative"] & (laps["lap"] != best)]
    if rest.empty:
        return None
    time = rest["time_s"].to_numpy()
    return int(rest["lap"].to_numpy()[np.argmin(np.abs(time - np.median(time)))])


def with_gaps(session: Session) -> pd.DataFrame:
    """
    Add to the laps how far each is from the best, from the joint error of all passages of the line.

    Two laps in a row share a passage, so their errors must not be added as if apart.

    Parameters
    ----------
    session : Session

    Returns
    -------
    DataFrame
        The laps with ``gap_s`` and ``gap_sd_s``; NaN where there is nothing to compare.
    """
    laps, best, cuts = session.laps, session.best_lap, session.cuts
    gap, sd = np.full(len(laps), np.nan), np.full(len(laps), np.nan)
    if best is None:
        return laps.assign(gap_s=gap, gap_sd_s=sd)
    moment = cuts.passages["time_s"].to_numpy()
    pick = np.zeros((len(laps), len(cuts.posterior.mean)))
    known = (laps["kind"] == "timed").to_numpy() & laps["time_s"].notna().to_numpy()
    for i in np.flatnonzero(known):
        pick[i, int(np.argmin(np.abs(moment - laps["end_s"].iloc[i])))] += 1.0
        pick[i, int(np.argmin(np.abs(moment - laps["start_s"].iloc[i])))] -= 1.0
    k = int(np.flatnonzero(laps["lap"] == best)[0])
    apart = cuts.posterior.combined((pick - pick[k])[known])
    gap[known] = laps["time_s"].to_numpy()[known] - float(laps["time_s"].iloc[k])
    sd[known] = apart.sd
    sd[k] = 0.0
    return laps.assign(gap_s=gap, gap_sd_s=sd)


def _other(
    session: Session, best: int | None, reference: int | tuple[Session, int | None] | None
) -> tuple[Comparison | None, str]:
    if best is None or reference is None:
        return None, ""
    if isinstance(reference, int):
        return session.compare(best, reference), f"lap {reference}"
    base, lap = reference
    found = session.compare(best, lap, other=base)
    return found, f"lap {found.reference} of {base.log.path.name}"
