"""
Before and after a change: an interval, not a verdict.

`before_after` is for the car: it holds how sessions drift and differ by themselves, see
`lapwright.coaching.car_change.lap_model`.  `difference_of_means` is for one corner in two sessions,
of which the rest of the lap tells the pace: its interval holds the scatter from lap to lap on both
sides and what the measurements of one side have in common (a receiver's drift, where a session lies
on the track).
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.arguments import check
from lapwright.coaching.car_change.corner_parts import corner_parts, part_ends_m
from lapwright.coaching.car_change.effect import MIN_LAPS, BeforeAfter
from lapwright.coaching.car_change.lap_model import SETTLE_S, changes_of
from lapwright.coaching.car_change.session_laps import SessionLaps, from_table
from lapwright.coaching.conditions import surface
from lapwright.errors import LapError
from lapwright.geometry import Track
from lapwright.ingest import Log
from lapwright.laps.lap_trace import LapTrace
from lapwright.notes.weekend_notes import LogNotes
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]

# Two tracks found in two logs of one circuit differ by less than this share of their length.
_SAME_LENGTH = 0.01
# Corners cut farther apart are not the same stretch: 0.1 m is 0.005 s in the slowest corner.
_SAME_PLACE_M = 0.1
# Standard normal quantile of 97.5 %.
_HALF_95 = 1.959963984540054


class _Session(Protocol):
    """What is needed of a session."""

    @property
    def track(self) -> Track: ...
    @property
    def clean_laps(self) -> list[int]: ...
    @property
    def laps(self) -> pd.DataFrame: ...
    @property
    def notes(self) -> LogNotes: ...
    @property
    def log(self) -> Log: ...
    def trace(self, lap: int) -> LapTrace: ...


Driving = _Session | pd.DataFrame


@dataclass(frozen=True, slots=True)
class Difference:
    """
    After minus before.

    Attributes
    ----------
    before, after : float
        Means.
    difference : float
    low95, high95 : float
        Interval that holds the true difference with 95 % probability.
    count_before, count_after : int
    """

    before: float
    after: float
    difference: float
    low95: float
    high95: float
    count_before: int
    count_after: int

    @property
    def too_few(self) -> bool:
        """Whether one side has too few values for the interval to be trusted."""
        return min(self.count_before, self.count_after) < MIN_LAPS

    @property
    def resolved(self) -> bool:
        """Whether the interval leaves out zero."""
        return self.low95 > 0.0 or self.high95 < 0.0


def difference_of_means(
    before: Floats, after: Floats, common_var_before: float = 0.0, common_var_after: float = 0.0
) -> Difference:
    """
    Difference of two means with its interval.

    Parameters
    ----------
    before, after : ndarray
        Values, for example lap times.
    common_var_before, common_var_after : float
        Variance of the measurement error that all values of a side share, which their scatter
        does not show.

    Returns
    -------
    Difference
        By Welch's t with Satterthwaite's degrees of freedom [1]_; infinite where a side has fewer
        than two values, NaN where it has none.

    References
    ----------
    .. [1] B. L. Welch, "The generalization of 'Student's' problem when several different
       population variances are involved", Biometrika 34 (1947) 28-35.
    """
    n = np.array([len(before), len(after)])
    nan = float("nan")
    first = float(np.mean(before)) if n[0] else nan
    second = float(np.mean(after)) if n[1] else nan
    change = second - first
    if n.min() < 2:
        wide = float("inf") if n.min() else nan
        return Difference(first, second, change, -wide, wide, int(n[0]), int(n[1]))
    parts = np.array([np.var(before, ddof=1), np.var(after, ddof=1)]) / n
    scatter = float(parts.sum())
    dof = float(n.sum() - 2)
    if scatter > 0.0:
        dof = scatter**2 / float((parts**2 / (n - 1)).sum())
    common = max(common_var_before, 0.0) + max(common_var_after, 0.0)
    half = float(np.hypot(t_quantile(0.975, dof) * np.sqrt(scatter), _HALF_95 * common**0.5))
    return Difference(first, second, change, change - half, change + half, int(n[0]), int(n[1]))


def before_after(
    before: Driving | Sequence[Driving], after: Driving | Sequence[Driving], *,
    settle_s: float = SETTLE_S,
) -> BeforeAfter:  # fmt: skip
    """
    Say what a change to the car did, from the clean laps of the sessions around it.

    How sessions drift and differ by themselves is estimated where there are enough of them, and
    allowed for as is usual where there are not, so the interval of one session on either side is
    wide.  Before, after and before again tells most.

    Parameters
    ----------
    before, after : Session or DataFrame, or a sequence of these
        Sessions without and with the change, or their lap tables; a table with a column ``session``
        may hold several.  All of one driver on one circuit.  They are put in order by their dates;
        where one has none, those before come first.
    settle_s : float
        How narrow the interval should become; see `BeforeAfter.more`. [s]

    Returns
    -------
    BeforeAfter
        Each corner too, where all are sessions on one track with a path: opened with the same
        complete track file, or by `run_weekend`.

    Raises
    ------
    LapError
        If a side is empty, or if sessions were driven on different circuits or surfaces: wet and
        dry are never held against each other.
    TypeError
        If something is neither a session nor a lap table.
    ValueError
        If ``settle_s`` is not positive.

    References
    ----------
    1. D. A. Harville, "Bayesian inference for variance components using only error contrasts",
       Biometrika 61 (1974) 383-385.
    2. A. Gelman, "Prior distributions for variance parameters in hierarchical models", Bayesian
       Analysis 1 (2006) 515-533.

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> friday = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2, 95.1], "representative": True})
    >>> saturday = friday.assign(time_s=friday["time_s"] - 0.5)
    >>> change = lw.before_after(friday, saturday)
    >>> round(change.change_s, 2), change.told_apart
    (-0.5, False)
    """
    check("settle_s", settle_s, float)
    if not settle_s > 0.0:
        msg = f"settle_s must be positive, not {settle_s}"
        raise ValueError(msg)
    sides = [_sessions(side, which) for side, which in ((before, "before"), (after, "after"))]
    _same_circuit([one for side in (before, after) for one in _listed(side)])
    pairs = [(one, k == 1) for k, side in enumerate(sides) for one in side]
    _same_surface([one for one, _ in pairs])
    if not _cut_alike([one for side in (before, after) for one in _listed(side)]):
        pairs = [(replace(one, corner_s=None), changed) for one, changed in pairs]
    dated = [(one.start_utc, k) for k, (one, _) in enumerate(pairs) if one.start_utc is not None]
    if len(dated) == len(pairs):
        pairs = [pairs[k] for _, k in sorted(dated)]
    on_car = np.array([[changed] for _, changed in pairs], dtype=bool)
    return changes_of([one for one, _ in pairs], on_car, settle_s)[0]


def _listed(side: Driving | Sequence[Driving]) -> list[Driving]:
    return list(side) if isinstance(side, list | tuple) else [side]  # type: ignore[list-item]


def _sessions(side: Driving | Sequence[Driving], which: str) -> list[SessionLaps]:
    """Take a side apart into sessions."""
    out = []
    for one in _listed(side):
        if isinstance(one, pd.DataFrame):
            parts = one.groupby("session", sort=False) if "session" in one else [("", one)]
            out += [from_table(table, str(name)) for name, table in parts]
        elif all(hasattr(one, name) for name in ("laps", "trace", "notes", "log")):
            out.append(laps_of(one))
        else:
            msg = f"{which} is of kind {type(one).__name__}; give sessions or their lap tables"
            raise TypeError(msg)
    if not out:
        msg = f"there is nothing {which} the change; give a session or its lap table"
        raise LapError(msg)
    return out


def laps_of(session: _Session) -> SessionLaps:
    """Take the clean laps of a session, with their corners' times."""
    laps = from_table(session.laps, session.log.path.name, corner_parts(session))
    return replace(laps, conditions=session.notes.conditions, start_utc=session.log.start_utc)


def _same_circuit(given: Sequence[Driving]) -> None:
    tracks = [one.track for one in given if not isinstance(one, pd.DataFrame)]
    for other in tracks[1:]:
        if abs(other.length_m - tracks[0].length_m) > _SAME_LENGTH * tracks[0].length_m:
            msg = (
                f"two circuits, {tracks[0].name} ({tracks[0].length_m:.0f} m) and {other.name} "
                f"({other.length_m:.0f} m), cannot be compared; give sessions of one"
            )
            raise LapError(msg)


def _cut_alike(given: Sequence[Driving]) -> bool:
    """Whether all are sessions whose corners lie at the same places of one path."""
    ends = [None if isinstance(one, pd.DataFrame) else part_ends_m(one.track) for one in given]
    first = ends[0]
    return first is not None and all(
        one is not None and len(one) == len(first)
        and float(np.abs(one - first).max()) < _SAME_PLACE_M
        for one in ends
    )  # fmt: skip


def _same_surface(sessions: Sequence[SessionLaps]) -> None:
    found = {surface(one.conditions): one for one in sessions}
    if "wet" in found and "" in found:
        msg = (
            f'some laps were driven in "{found["wet"].conditions}", of others no conditions are '
            "noted; note them, as wet and dry are not compared"
        )
        raise LapError(msg)
    known = sorted(kind for kind in found if kind)
    if len(known) > 1 or "changing" in known:
        said = " and ".join(f'"{found[kind].conditions}"' for kind in known)
        msg = f"laps driven in {said} are not compared; give sessions on one surface"
        raise LapError(msg)


def lap_time_change(before: Driving, after: Driving) -> Difference:
    """
    Change of the mean time of clean laps: use `before_after` instead.

    Its interval holds the scatter from lap to lap only, not how sessions differ by themselves, so
    it is too narrow to judge a change by.  It warns, and goes with version 0.3.

    Parameters
    ----------
    before, after : Session or DataFrame
        A session or its lap table; see `lapwright.laps.lap_table`.

    Returns
    -------
    Difference
        Of lap times. [s]

    Raises
    ------
    LapError
        If something is neither a session nor a lap table.

    References
    ----------
    B. L. Welch, "The generalization of 'Student's' problem when several different population
    variances are involved", Biometrika 34 (1947) 28-35.

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> import warnings
    >>> friday = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2], "representative": True})
    >>> saturday = friday.assign(time_s=friday["time_s"] - 0.5)
    >>> with warnings.catch_warnings(action="ignore"):
    ...     change = lw.lap_time_change(friday, saturday)
    >>> round(change.difference, 3), change.resolved
    (-0.5, True)
    """
    warnings.warn(
        "lap_time_change allows for laps only, not for how sessions differ; use before_after. "
        "It goes with version 0.3",
        DeprecationWarning,
        stacklevel=2,
    )
    sides = []
    for which, one in (("before", before), ("after", after)):
        table = one if isinstance(one, pd.DataFrame) else getattr(one, "laps", None)
        if not isinstance(table, pd.DataFrame):
            msg = f"{which} is a {type(one).__name__}; give a session or its lap table"
            raise LapError(msg)
        sides.append(from_table(table).time_s)
    return difference_of_means(sides[0], sides[1])
