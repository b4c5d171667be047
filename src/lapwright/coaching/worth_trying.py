"""
What is worth trying: zero to three things, each from the driver's own quicker passes.

A thing is worth trying in a corner when the driver takes it in two ways that are farther apart
than their own scatter (see `lapwright.coaching.two_group_test`), when the laps of one way were
quicker up to the next braking zone, by more than lot and the receiver explain, and when nothing
speaks against going there: no spin or off in that corner, no change from dry to wet.  What is named
is the middle of the driver's own quicker laps, never anything beyond them, and never another
driver's.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lapwright.coaching.conditions import changing
from lapwright.coaching.evidence import Evidence
from lapwright.coaching.habit_search import MIN_LAPS, Candidate, candidates
from lapwright.coaching.sayings import evidence_text, item_text, named, place
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units

MAX_ITEMS = 3
# What a club car brakes at on average, and how well the distance that follows is known.
_BRAKE_MPS2, _MORE, _ONSET_M = 7.0, 2.0, 3.0


@dataclass(frozen=True, slots=True)
class Judgement:
    """
    What is worth trying, and what was left out.

    Attributes
    ----------
    items : tuple of WorthTrying
        The most time first.
    remark : str
        Why there is nothing, or what was held back; empty where there is nothing to add.
    """

    items: tuple[WorthTrying, ...]
    remark: str


def judge(
    evidence: Evidence, corners: Sequence[Corner], *, held_back: Sequence[int] = (),
    conditions: str = "", units: Units | None = None,
) -> Judgement:  # fmt: skip
    """
    Find what is worth trying.

    Parameters
    ----------
    evidence : Evidence
        Clean passes of one session.
    corners : sequence of Corner
    held_back : sequence of int
        Corners with a spin or an off in the session: nothing is said about them.
    conditions : str
        As in the weekend notes; where they changed from dry to wet nothing is said.
    units : Units, optional
        For the sentences.

    Returns
    -------
    Judgement
    """
    laps = evidence.passes["lap"].nunique() if len(evidence.passes) else 0
    if laps == 0:
        return Judgement(
            (),
            "No clean lap, so there is nothing to go by. What would help: full laps without a "
            "stop, a spin or a gap in the log.",
        )
    if laps < MIN_LAPS:
        return Judgement(
            (),
            f"Too few clean laps ({laps}) to tell a habit from chance; at least {MIN_LAPS} are "
            "needed. What would help: a longer run on a clear track.",
        )
    if changing(conditions):
        return Judgement(
            (), "The conditions changed during the session, so its laps cannot be compared."
        )
    found = [c for c in candidates(evidence) if c.corner not in set(held_back)]
    found = [c for c in found if not _follows_from_speed(evidence, c, found)]
    names = {c.order: c for c in corners}
    best: dict[int, Candidate] = {}
    for c in sorted(found, key=lambda c: (c.chance, -c.apart)):
        best.setdefault(c.corner, c)
    chosen = sorted(best.values(), key=lambda c: -c.stake_s)[:MAX_ITEMS]
    items = tuple(_item(evidence, c, names[c.corner], units or Units()) for c in chosen)
    return Judgement(items, _remark(items, held_back, names, laps))


def _follows_from_speed(evidence: Evidence, braking: Candidate, found: list[Candidate]) -> bool:
    """
    Whether an early braking point only follows from a low minimum speed.

    Who means to be slower at the slowest point brakes for it earlier, by the distance that braking
    from the one speed to the other takes; the minimum speed is then what is worth trying.
    """
    speeds = [c for c in found if c.corner == braking.corner and c.feature.code == "minimum_speed"]
    if braking.feature.code != "braking" or not speeds:
        return False
    early = _middles(evidence, braking)
    slow, quick = _middles(evidence, speeds[0])
    needed = (quick**2 - slow**2) / (2.0 * _BRAKE_MPS2)
    return abs(early[0] - early[1]) <= _MORE * needed + _ONSET_M


def _middles(evidence: Evidence, found: Candidate) -> tuple[float, float]:
    """Middle of the usual and of the quicker passes."""
    values = evidence.passes[found.feature.column].to_numpy(dtype=np.float64)[found.rows]
    return float(np.median(values[found.usual])), float(np.median(values[~found.usual]))


def _item(evidence: Evidence, found: Candidate, corner: Corner, units: Units) -> WorthTrying:
    passes = evidence.passes.iloc[found.rows]
    values = passes[found.feature.column].to_numpy(dtype=np.float64)
    laps = passes["lap"].to_numpy()
    usual, better = values[found.usual], values[~found.usual]
    middle_usual, middle_better = _middles(evidence, found)
    item = WorthTrying(
        corner=found.corner,
        code=found.feature.code,
        time_at_stake_s=found.stake_s,
        time_at_stake_sd_s=found.stake_sd_s,
        name=named(corner),
        usual=middle_usual,
        better=middle_better,
        lowest=float(values.min()),
        highest=float(values.max()),
        better_laps=tuple(int(n) for n in laps[~found.usual]),
        usual_laps=tuple(int(n) for n in laps[found.usual]),
        chance=found.chance,
    )
    text = item_text(item, corner, found.feature.column, units, found.clock)
    proof = evidence_text(item, corner, units, usual, better)
    return replace(item, text=text, evidence=proof)


def _remark(
    items: tuple[WorthTrying, ...], held_back: Sequence[int], names: dict[int, Corner], laps: int
) -> str:
    said = []
    if not items:
        said.append(
            "In no corner did one way of driving it come out quicker by more than your lap-to-lap "
            "scatter and the receiver's error. One lap being quicker somewhere does not show a "
            f"habit. What would help: more clean laps than these {laps}, in the same conditions."
        )
    for order in sorted(set(held_back)):
        where = place(names[order]) if order in names else f"Corner {order}"
        said.append(
            f"{where}: no advice for this corner; there was a spin, a stop or an off in it this "
            "session."
        )
    return " ".join(said)
