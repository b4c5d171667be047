"""
What is worth trying: zero to three things, each from the driver's own quicker runs.

A thing is worth trying in a corner when the driver takes it in two ways that are farther apart
than their own scatter (see `lapwright.coaching.two_group_test`), when the laps of one way were
quicker up to the next braking zone, by more than lot and the receiver explain, and when nothing
speaks against going there: no spin or off in that corner, no change from dry to wet.  What is named
is the middle of the driver's own quicker laps, never anything beyond them, and never another
driver's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from lapwright.coaching.conditions import changing
from lapwright.coaching.evidence import Evidence
from lapwright.coaching.habit_search import MIN_LAPS, Candidate, candidates
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying

Floats = npt.NDArray[np.float64]
# Why there is nothing worth trying.
Nothing = Literal["no_clean_lap", "few_laps", "conditions", "no_habit"]

MAX_ITEMS = 3
# What a club car brakes at on average, and how well the distance that follows is known.
_BRAKE_MPS2, _MORE, _ONSET_M = 7.0, 2.0, 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Habit:
    """
    A thing worth trying, with the passes it was found in.

    Attributes
    ----------
    item : WorthTrying
    corner : Corner
    column : str
        The quantity ``item.usual`` and ``item.better`` are of, see `Evidence.passes`.
    clock : {"span", "run_in", "run_out"}
        What the time at stake was measured over.
    usual, better : ndarray
        The quantity on the usual and on the quicker runs: a station or an offset [m] or a
        speed [m/s].
    """

    item: WorthTrying
    corner: Corner
    column: str
    clock: str
    usual: Floats
    better: Floats


@dataclass(frozen=True, slots=True)
class Judgement:
    """
    What is worth trying, and what was left out; `lapwright.advice_in_words` says it.

    Attributes
    ----------
    habits : tuple of Habit
        The most time first.
    nothing : {"no_clean_lap", "few_laps", "conditions", "no_habit"} or None
        Why there are none; None where there is one.
    clean_laps : int
        How many it rests on.
    held_back : tuple of int
        Corners about which nothing is said, because of a spin, a stop or an off in them.
    """

    habits: tuple[Habit, ...] = ()
    nothing: Nothing | None = None
    clean_laps: int = 0
    held_back: tuple[int, ...] = ()

    @property
    def items(self) -> tuple[WorthTrying, ...]:
        """What is worth trying, in numbers."""
        return tuple(habit.item for habit in self.habits)


def judge(
    evidence: Evidence, corners: Sequence[Corner], *, held_back: Sequence[int] = (),
    conditions: str = "",
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

    Returns
    -------
    Judgement
    """
    laps = evidence.passes["lap"].nunique() if len(evidence.passes) else 0
    if laps == 0:
        return Judgement(nothing="no_clean_lap")
    if laps < MIN_LAPS:
        return Judgement(nothing="few_laps", clean_laps=laps)
    if changing(conditions):
        return Judgement(nothing="conditions", clean_laps=laps)
    found = [c for c in candidates(evidence) if c.corner not in set(held_back)]
    found = [c for c in found if not _follows_from_speed(evidence, c, found)]
    names = {c.order: c for c in corners}
    best: dict[int, Candidate] = {}
    for c in sorted(found, key=lambda c: (c.p_value, -c.apart)):
        best.setdefault(c.corner, c)
    chosen = sorted(best.values(), key=lambda c: -c.stake_s)[:MAX_ITEMS]
    habits = tuple(_habit(evidence, c, names[c.corner]) for c in chosen)
    nothing: Nothing | None = None if habits else "no_habit"
    return Judgement(habits, nothing, laps, tuple(sorted(set(held_back))))


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
    """Middle of the usual and of the quicker runs through the corner."""
    values = evidence.passes[found.feature.column].to_numpy(dtype=np.float64)[found.rows]
    return float(np.median(values[found.usual])), float(np.median(values[~found.usual]))


def _habit(evidence: Evidence, found: Candidate, corner: Corner) -> Habit:
    passes = evidence.passes.iloc[found.rows]
    values = passes[found.feature.column].to_numpy(dtype=np.float64)
    laps = passes["lap"].to_numpy()
    middle_usual, middle_better = _middles(evidence, found)
    item = WorthTrying(
        corner=found.corner,
        code=found.feature.code,
        time_at_stake_s=found.stake_s,
        time_at_stake_sd_s=found.stake_sd_s,
        name=corner.given_name,
        usual=middle_usual,
        better=middle_better,
        lowest=float(values.min()),
        highest=float(values.max()),
        better_laps=tuple(int(n) for n in laps[~found.usual]),
        usual_laps=tuple(int(n) for n in laps[found.usual]),
        p_value=found.p_value,
    )
    usual, better = values[found.usual], values[~found.usual]
    return Habit(item, corner, found.feature.column, found.clock, usual, better)
