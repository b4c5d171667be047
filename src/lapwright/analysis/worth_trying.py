"""
What is worth trying: zero to three things, each from the driver's own quicker passes.

A thing is worth trying in a corner when the driver takes it in two ways that are farther apart
than their own scatter (see `lapwright.analysis.habits`), when the passes of one way were quicker
up to the next braking zone, by more than lot and the receiver explain, and when nothing speaks
against going there: no spin or off in that corner, no change from dry to wet.  What is named is
the middle of the driver's own quicker passes, never anything beyond them, and never another
driver's.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.analysis.evidence import Evidence
from lapwright.analysis.habits import (
    FREEDOM,
    LEAST,
    Split,
    chance_of_difference,
    chance_of_separation,
    holm,
    mean_difference,
    not_outlying,
    separation,
    split_in_two,
    usual_scatter,
)
from lapwright.analysis.sayings import evidence_text, item_text, named, place
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Corner

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_ITEMS = 3
# Probability, adjusted for all corners, below which scatter alone is no longer believed; together
# a driver without habits is told something in a tenth of sessions at most.
ALPHA = {"braking": 0.03, "minimum_speed": 0.03, "throttle": 0.03, "line": 0.01}
# A link with time must be no more likely than this by lot before the shape is looked at.
_LINK = 0.05
# Less than this is not worth a driver's thought, however sure.
_LEAST_S = 0.02
_RESOLVED_SDS = 1.645
_FEWEST_LAPS = 2 * LEAST
# What happens on fewer passes than this share is a slip, not what the driver usually does.
_USUAL_SHARE = 0.4


@dataclass(frozen=True, slots=True)
class Feature:
    """
    One thing a driver may do differently.

    Attributes
    ----------
    code : str
    column : str
        The quantity that is named.
    judged : tuple of str
        What the groups are cut by; of several, all in the same unit, the one that scatters least.
    clock : {"span", "run_in", "run_out"}
        Which time it can change first: from before the braking, or from the slowest point on.
    slower : {1, -1, 0}
        Sign of the change that usually costs time; 0 where either may.
    noise : str or None
        Column with the measurement error of what is judged.
    least : float
        Smallest gap worth saying, in the unit of ``column``.
    most : float
        A larger gap is another event, not another way of doing the same.
    """

    code: str
    column: str
    judged: tuple[str, ...]
    clock: str
    slower: int
    noise: str | None
    least: float
    most: float


FEATURES = (
    Feature("braking", "braking_m", ("braking_m",), "run_in", 0, "brake_sd_m", 3.0, 40.0),
    Feature("minimum_speed", "min_speed_mps", ("unused_share", "slow_share"), "span", 1, None,
            0.3, 10.0),
    Feature("throttle", "throttle_station_m", ("throttle_station_m",), "run_out", 1,
            "throttle_sd_m", 3.0, 60.0),
    Feature("line", "turn_in_offset_m", ("turn_in_offset_m",), "span", 0, None, 0.8, 5.0),
    Feature("line", "apex_offset_m", ("apex_offset_m",), "span", 0, None, 0.8, 5.0),
    Feature("line", "exit_offset_m", ("exit_offset_m",), "run_out", 0, None, 0.8, 5.0),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Candidate:
    """A feature at a corner that goes with time, and how sure."""

    corner: int
    feature: Feature
    rows: npt.NDArray[np.intp]
    usual: Flags
    clock: str
    apart: float
    chance: float
    stake_s: float
    stake_sd_s: float


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
    conditions: str = "", speed_unit: str = "km/h",
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
    speed_unit : {"km/h", "mph", "m/s"}
        For the sentences.

    Returns
    -------
    Judgement
    """
    laps = evidence.passes["lap"].nunique() if len(evidence.passes) else 0
    if laps < _FEWEST_LAPS:
        return Judgement((), f"Too few clean laps ({laps}) to tell a habit from chance; "
                             f"it takes {_FEWEST_LAPS} at least.")  # fmt: skip
    if changing(conditions):
        return Judgement(
            (), "The conditions changed during the session, so its passes do not compare."
        )
    found = [c for c in _candidates(evidence) if c.corner not in set(held_back)]
    names = {c.order: c for c in corners}
    best: dict[int, Candidate] = {}
    for c in sorted(found, key=lambda c: (c.chance, -c.apart)):
        best.setdefault(c.corner, c)
    chosen = sorted(best.values(), key=lambda c: -c.stake_s)[:MOST_ITEMS]
    items = tuple(_item(evidence, c, names[c.corner], speed_unit) for c in chosen)
    return Judgement(items, _remark(items, held_back, names))


def changing(conditions: str) -> bool:
    """Whether conditions as noted changed within the session."""
    said = conditions.casefold()
    if any(word in said for word in ("drying", "mixed", "changing", "changed", "patch", "shower")):
        return True
    return "dry" in said and any(word in said for word in ("wet", "rain", "damp"))


def _candidates(evidence: Evidence) -> list[Candidate]:
    """Every feature at every corner that goes with time and is no mere scatter."""
    out = []
    for code, alpha in ALPHA.items():
        linked = [c for f in FEATURES if f.code == code for c in _linked(evidence, f)]
        adjusted = holm(np.array([c.chance for c in linked]))
        out += [
            replace(c, chance=float(p)) for c, p in zip(linked, adjusted, strict=True) if p <= alpha
        ]
    return out


Splits = dict[int, tuple[npt.NDArray[np.intp], Split]]


def _splits(evidence: Evidence, column: str) -> Splits:
    """Each corner's passes cut in two by a quantity; corners with enough of them."""
    table = evidence.passes
    values = table[column].to_numpy(dtype=np.float64)
    splits: Splits = {}
    for corner in table["corner"].unique():
        rows = evidence.of(int(corner))
        # Where a thing happens on some laps only, its place is no feature of the corner.
        if np.isfinite(values[rows]).mean() < 0.8:
            continue
        rows = rows[not_outlying(values[rows])]
        if len(rows) >= _FEWEST_LAPS:
            splits[int(corner)] = (rows, split_in_two(values[rows]))
    return splits


def _linked(evidence: Evidence, feature: Feature) -> list[Candidate]:
    """Corners where a feature's two groups differ in time by more than lot and receiver explain."""
    every = [_splits(evidence, column) for column in feature.judged]
    scatters = [usual_scatter([s for _, s in splits.values()]) for splits in every]
    least = int(np.argmin(scatters))
    splits, scatter = every[least], scatters[least]
    freedom = FREEDOM * min(1.0, max(len(splits) - 1, 0) / 4.0)
    out = []
    for corner, (rows, split) in splits.items():
        timed = _timed(evidence, feature, rows, split.upper)
        if timed is None:
            continue
        usual, clock, stake, sd = timed
        noise = 0.0
        if feature.noise is not None:
            errors = evidence.passes[feature.noise].to_numpy(dtype=np.float64)[rows]
            noise = float(np.sqrt(np.nanmean(errors**2)))
        apart = separation(split, scatter, freedom, noise)
        chance = chance_of_separation(apart, len(rows), freedom)
        out.append(Candidate(corner, feature, rows, usual, clock, apart, chance, stake, sd))
    return out


def _timed(
    evidence: Evidence, feature: Feature, rows: npt.NDArray[np.intp], upper: Flags
) -> tuple[Flags, str, float, float] | None:
    """Which group is the usual one, and the time at stake by which clock; None if unresolved."""
    table = evidence.passes

    def difference(clock: str, usual: Flags) -> tuple[float, float]:
        y = table[f"{clock}_excess_s"].to_numpy()[rows]
        return mean_difference(y, evidence.covs_s2[clock][np.ix_(rows, rows)], usual)

    usual, sides = upper, 1.0
    if feature.slower == 0:
        sides = 2.0
        if difference(feature.clock, upper)[0] < 0.0:
            usual = ~upper
    elif feature.slower < 0:
        usual = ~upper
    stake, sd = difference(feature.clock, usual)
    y = table[f"{feature.clock}_excess_s"].to_numpy()[rows]
    link = min(1.0, sides * chance_of_difference(y, usual))
    named = table[feature.column].to_numpy()[rows]
    gap = abs(float(np.median(named[usual]) - np.median(named[~usual])))
    if usual.mean() < _USUAL_SHARE:
        return None
    if link > _LINK or not feature.least <= gap <= feature.most:
        return None
    clock = feature.clock
    if clock == "run_in":
        # What is gained on the way in may be lost on the way out: then the whole counts.
        after, after_sd = difference("run_out", usual)
        if after < -after_sd:
            clock = "span"
            stake, sd = difference(clock, usual)
    elif clock == "run_out":
        whole, whole_sd = difference("span", usual)
        if whole < -whole_sd:
            return None
    if stake < max(_LEAST_S, _RESOLVED_SDS * sd):
        return None
    return usual, clock, stake, sd


def _item(evidence: Evidence, found: Candidate, corner: Corner, speed_unit: str) -> WorthTrying:
    passes = evidence.passes.iloc[found.rows]
    values = passes[found.feature.column].to_numpy(dtype=np.float64)
    laps = passes["lap"].to_numpy()
    usual, better = values[found.usual], values[~found.usual]
    item = WorthTrying(
        corner=found.corner,
        code=found.feature.code,
        time_at_stake_s=found.stake_s,
        time_at_stake_sd_s=found.stake_sd_s,
        name=named(corner),
        usual=float(np.median(usual)),
        better=float(np.median(better)),
        lowest=float(values.min()),
        highest=float(values.max()),
        better_laps=tuple(int(n) for n in laps[~found.usual]),
        usual_laps=tuple(int(n) for n in laps[found.usual]),
        chance=found.chance,
    )
    text = item_text(item, corner, found.feature.column, speed_unit, found.clock)
    proof = evidence_text(item, corner, found.feature.column, speed_unit, usual, better)
    return replace(item, text=text, evidence=proof)


def _remark(
    items: tuple[WorthTrying, ...], held_back: Sequence[int], names: dict[int, Corner]
) -> str:
    said = []
    if not items:
        said.append(
            "Nothing is worth trying on this evidence: no corner was taken in two ways whose "
            "times differ by more than your own scatter and the receiver's error."
        )
    for order in sorted(set(held_back)):
        where = place(names[order]) if order in names else f"Corner {order}"
        said.append(f"{where}: nothing is said, there was a spin or an off in it this session.")
    return " ".join(said)
