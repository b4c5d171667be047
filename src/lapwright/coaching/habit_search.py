"""
Search for habits: features that fall into two ways of driving which differ in time.

Three things are asked of a candidate: its passes fall into two groups farther apart than scatter
makes them; the groups differ in time by more than groups drawn by lot; and that difference is
larger than its own error bar, the receiver's included.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.coaching.adjusted_times import at_same_speed
from lapwright.coaching.evidence import Evidence
from lapwright.coaching.two_group_test import (
    MIN_COUNT,
    PRIOR_DOF,
    Split,
    holm,
    mean_difference,
    not_outlying,
    permutation_p_value,
    separation,
    separation_p_value,
    split_in_two,
    usual_scatter,
)
from lapwright.numerics.robust_spread import robust_sd
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
Splits = dict[int, tuple[Rows, Split]]

# p-value, adjusted for all corners, below which scatter alone is no longer believed; together
# a driver without habits is told something in a tenth of sessions at most.
ALPHA = {"braking": 0.01, "minimum_speed": 0.02, "throttle": 0.02, "line": 0.003}
# The p-value of a link with time must be no more than this.
_LINK = 0.05
# Less than this is not worth a driver's thought, however sure.
_MIN_S = 0.05
# A time is resolved when chance alone would make it so large once in twenty (one-sided), by
# Student's t: of few passes the error bar itself is unsure.
_RESOLVED = 0.95
MIN_LAPS = 2 * MIN_COUNT
_CLEARLY_LESS = 0.8
# With fewer runs a slope costs more than it gains.
_MIN_TO_REGRESS = 8
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
        What the groups are cut by; of several, all in the same unit, the first unless another
        scatters clearly less.
    clock : {"span", "run_in", "run_out"}
        Which time it can change first.
    slower : {1, 0}
        1 where a larger value usually costs time, 0 where either may.
    noise : str or None
        Column with the measurement error of what is judged.
    least, most : float
        Smallest gap worth saying, and the gap beyond which it is another event and not another
        way of doing the same, in the unit of ``column``.
    with_time : bool
        Whether the separation is also judged by the quantity and the time together.
    """

    code: str
    column: str
    judged: tuple[str, ...]
    clock: str
    slower: int
    noise: str | None
    least: float
    most: float
    with_time: bool = False


FEATURES = (
    Feature("braking", "braking_m", ("braking_m",), "run_in", 0, "brake_sd_m", 3.0, 40.0, True),
    Feature("minimum_speed", "min_speed_mps", ("unused_share", "slow_share"), "span", 1, None,
            0.3, 10.0),
    Feature("throttle", "throttle_station_m", ("throttle_station_m",), "run_out", 1,
            "throttle_sd_m", 3.0, 60.0),
    Feature("line", "turn_in_offset_m", ("turn_in_offset_m",), "span", 0, None, 0.8, 5.0),
    Feature("line", "apex_offset_m", ("apex_offset_m",), "span", 0, None, 0.8, 5.0),
    Feature("line", "exit_offset_m", ("leaving_offset_m",), "run_out", 0, None, 0.8, 5.0),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Candidate:
    """
    A feature at a corner that goes with time.

    Attributes
    ----------
    corner : int
    feature : Feature
    rows : ndarray of int, shape (n,)
        Its passes in the evidence.
    usual : ndarray of bool, shape (n,)
        Which of them went the usual way.
    clock : str
        Over which time the stake was measured.
    stake_s, stake_sd_s : float
    apart : float
        See `lapwright.coaching.two_group_test.separation`.
    p_value : float
        Of scatter alone, adjusted for all corners looked at.
    """

    corner: int
    feature: Feature
    rows: Rows
    usual: Flags
    clock: str
    stake_s: float
    stake_sd_s: float
    apart: float
    p_value: float


def candidates(evidence: Evidence) -> list[Candidate]:
    """
    Find every feature at every corner that goes with time and is no mere scatter.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    list of Candidate
        One corner may be there with several features.
    """
    out = []
    for code, alpha in ALPHA.items():
        linked = [c for f in FEATURES if f.code == code for c in _linked(evidence, f)]
        adjusted = holm(np.array([c.p_value for c in linked]))
        out += [
            replace(c, p_value=float(p))
            for c, p in zip(linked, adjusted, strict=True)
            if p <= alpha
        ]
    return out


def _splits(evidence: Evidence, column: str) -> Splits:
    """Each corner's passes cut in two by a quantity; corners with enough of them."""
    table = evidence.passes
    values = table[column].to_numpy(dtype=np.float64)
    corners = [int(c) for c in table["corner"].unique()]
    spreads = [robust_sd(values[evidence.of(c)]) for c in corners]
    usual = float(np.median([s for s in spreads if np.isfinite(s)] or [0.0]))
    splits: Splits = {}
    for corner in corners:
        rows = evidence.of(corner)
        # Where a thing happens on some laps only, its place is no feature of the corner.
        if np.isfinite(values[rows]).mean() < 0.8:
            continue
        rows = rows[not_outlying(values[rows], usual)]
        if len(rows) >= MIN_LAPS:
            splits[corner] = (rows, split_in_two(values[rows]))
    return splits


def _linked(evidence: Evidence, feature: Feature) -> list[Candidate]:
    """Corners where a feature's two groups differ in time by more than lot and receiver explain."""
    every = [_splits(evidence, column) for column in feature.judged]
    scatters = [usual_scatter([s for _, s in splits.values()]) for splits in every]
    least = int(np.argmin(scatters))
    splits = every[least if scatters[least] < _CLEARLY_LESS * scatters[0] else 0]
    looks = [splits]
    if feature.with_time:
        looks.append(_with_time(evidence, feature, splits))
    dof = PRIOR_DOF * min(1.0, max(len(splits) - 1, 0) / 4.0)
    sides = 2 if feature.slower == 0 else 1
    out = []
    for corner, (rows, split) in splits.items():
        timed = _timed(evidence, feature, rows, split)
        if timed is None:
            continue
        apart = [_apart(look, corner, dof) for look in looks]
        p_values = [separation_p_value(a, len(rows), dof, _USUAL_SHARE, sides) for a in apart]
        # Two looks at the same corner have twice the chance.
        p_value = min(1.0, len(looks) * min(p_values))
        out.append(Candidate(corner, feature, rows, *timed, max(apart), p_value))
    return out


def _apart(splits: Splits, corner: int, prior_dof: float) -> float:
    """How far apart the groups at a corner are; not at all where it has none."""
    if corner not in splits:
        return 0.0
    scatter = usual_scatter([s for _, s in splits.values()])
    return separation(splits[corner][1], scatter, prior_dof)


def _with_time(evidence: Evidence, feature: Feature, splits: Splits) -> Splits:
    """
    Cut the same passes by the quantity and the time it changes together, each in its own scatters.

    A habit moves both, scatter moves them together only by chance. The time is that at the same
    cornering speed, which by itself moves the one and the other.
    """
    table = evidence.passes
    values = table[feature.judged[0]].to_numpy(dtype=np.float64)
    groups = [rows[side] for rows, s in splits.values() for side in (s.upper, ~s.upper)]
    share = at_same_speed(table, feature.clock, groups)
    # A corner with a pass that has no time is judged by the quantity alone.
    splits = {c: (rows, s) for c, (rows, s) in splits.items() if np.isfinite(share[rows]).all()}
    scatter = usual_scatter([s for _, s in splits.values()])
    share_scatter = usual_scatter([split_in_two(share[rows]) for rows, _ in splits.values()])
    if not (scatter > 0.0 and share_scatter > 0.0):
        return splits
    out: Splits = {}
    for corner, (rows, _) in splits.items():
        x = (values[rows] - values[rows].mean()) / scatter
        y = share[rows] / share_scatter
        split = split_in_two(y + (x if float(x @ y) >= 0.0 else -x))
        # The slow end is the usual way.
        if split.upper.mean() >= _USUAL_SHARE:
            out[corner] = (rows, split)
    return out


def _timed(
    evidence: Evidence, feature: Feature, rows: Rows, split: Split
) -> tuple[Flags, str, float, float] | None:
    """Which group is the usual one, and the time at stake by which clock; None if unresolved."""

    def excess(clock: str) -> tuple[Floats, int]:
        y = evidence.passes[f"{clock}_excess_s"].to_numpy(dtype=np.float64)[rows]
        if clock != feature.clock or clock != "run_out":
            return y, 0
        return _at_same_force(evidence, rows, split, y)

    def difference(clock: str, usual: Flags) -> tuple[float, float, float]:
        """Mean difference, its sd, and the least one that is resolved."""
        y, slopes = excess(clock)
        cov = evidence.covs_s2[clock][np.ix_(rows, rows)]
        gap, sd, dof = mean_difference(y, cov, usual, 2 + slopes)
        return gap, sd, t_quantile(_RESOLVED, dof) * sd

    usual, sides = split.upper, 2.0 if feature.slower == 0 else 1.0
    if feature.slower == 0 and difference(feature.clock, usual)[0] < 0.0:
        usual = ~usual
    if usual.mean() < _USUAL_SHARE or not _says_something(evidence, feature, rows, split, usual):
        return None
    clock = feature.clock
    if sides * permutation_p_value(excess(clock)[0], usual) > _LINK:
        return None
    stake, sd, resolved = difference(clock, usual)
    if clock == "run_in":
        # What is gained on the way in may be lost on the way out: then the whole counts.
        after, _, after_resolved = difference("run_out", usual)
        if after < -after_resolved or stake + after < 0.0:
            clock = "span"
            stake, sd, resolved = difference(clock, usual)
    elif clock == "run_out":
        whole, whole_sd, _ = difference("span", usual)
        if whole < -whole_sd:
            return None
    if stake < max(_MIN_S, resolved) or not _above_noise(evidence, feature, rows, split, usual):
        return None
    return usual, clock, stake, sd


def _at_same_force(
    evidence: Evidence, rows: Rows, split: Split, run_out_s: Floats
) -> tuple[Floats, int]:
    """
    Run-outs without what the force held about the slowest point made of them, by how many slopes.

    How hard a corner was taken is settled before the throttle is, and scatters; its effect is taken
    out by regression within the two groups (analysis of covariance), so that only the throttle's
    own remains.
    """
    force = evidence.passes["unused_share"].to_numpy(dtype=np.float64)[rows]
    if len(rows) < _MIN_TO_REGRESS or not np.isfinite(force).all():
        return run_out_s, 0
    group = split.upper
    x, y = force.copy(), run_out_s.copy()
    for part in (group, ~group):
        x[part] -= x[part].mean()
        y[part] -= y[part].mean()
    slope = float(x @ y) / max(float(x @ x), 1e-12)
    return np.asarray(run_out_s - slope * (force - np.median(force))), 1


def _says_something(
    evidence: Evidence, feature: Feature, rows: Rows, split: Split, usual: Flags
) -> bool:
    """Whether the gap can be named: neither too small nor another event."""
    table = evidence.passes
    named = table[feature.column].to_numpy(dtype=np.float64)[rows]
    gap = float(np.median(named[usual]) - np.median(named[~usual]))
    if not feature.least <= abs(gap) <= feature.most:
        return False
    return feature.code != "minimum_speed" or gap <= 0.0


def _above_noise(
    evidence: Evidence, feature: Feature, rows: Rows, split: Split, usual: Flags
) -> bool:
    """Whether the gap is larger than its measurement: asked last, for error bars take long."""
    if feature.noise is None:
        return True
    corner = int(evidence.passes["corner"].iloc[rows[0]])
    bars = evidence.with_bars([corner], [feature.noise])[feature.noise]
    errors = bars.loc[evidence.passes.index[rows]].to_numpy(dtype=np.float64)
    one = float(np.sqrt(np.nanmean(errors**2))) if np.isfinite(errors).any() else 0.0
    return split.gap > 2.0 * one * float(np.sqrt(1.0 / usual.sum() + 1.0 / (~usual).sum()))
