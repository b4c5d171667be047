"""
What coasting goes with in time: a driver's laps with more of it against those with less.

A description of the laps that were driven, not an effect: whoever coasts longer may also have come
in too fast.  The halves are fixed by the coasting alone, and the interval is widened for all
corners that are looked at, because the largest of a dozen differences is large by luck.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.columns import arranged, empty
from lapwright.columns.driver import COASTING
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]

# Halves whose coasting differs by less than this, or than twice what the channel can tell, are the
# same (common practice, no source).
_MIN_APART_S = 0.05
_APART_SDS = 2.0


def coasting_cost(driver: pd.DataFrame, spans: pd.DataFrame) -> pd.DataFrame:
    """
    Compare the half of a corner's clean laps with more coasting with the half with less.

    Parameters
    ----------
    driver : DataFrame
        See `lapwright.columns.driver.DRIVER`.
    spans : DataFrame
        ``lap``, ``corner``, ``span_s`` of the clean laps, from braking zone to braking zone.

    Returns
    -------
    DataFrame
        See `lapwright.columns.driver.COASTING`; a corner is left out that has too few clean laps
        with known coasting, or whose halves coast alike.

    References
    ----------
    1. B. L. Welch, "The generalization of 'Student's' problem when several different population
       variances are involved", Biometrika 34 (1947) 28-35: two means of unequal spread.
    2. R. G. Miller, "Simultaneous Statistical Inference", 2nd ed., Springer, 1981, sec. 1.6: one
       interval for several differences, by Bonferroni's inequality.
    """
    both = driver[["lap", "corner", "coast_s", "coast_sd_s"]].merge(
        spans[["lap", "corner", "span_s"]], on=["lap", "corner"], validate="one_to_one"
    )
    both = both.dropna(subset=["coast_s", "span_s"])
    halves = [
        found
        for corner, rows in both.groupby("corner")
        if len(rows) >= MIN_LAPS and (found := _halves(int(str(corner)), rows)) is not None
    ]
    if not halves:
        return empty(COASTING)
    rows = [_row(corner, less, more, len(halves)) for corner, less, more in halves]
    return arranged(pd.DataFrame(rows), COASTING)


def _halves(corner: int, rows: pd.DataFrame) -> "tuple[int, pd.DataFrame, pd.DataFrame] | None":
    """Both halves by coasting, the odd lap in the middle left out; None where they are alike."""
    ordered = rows.sort_values(["coast_s", "lap"])
    count = len(ordered) // 2
    less, more = ordered.iloc[:count], ordered.iloc[-count:]
    apart = float(more["coast_s"].mean() - less["coast_s"].mean())
    sd = float(np.sqrt(2.0 / count) * np.sqrt((rows["coast_sd_s"] ** 2).mean()))
    if apart < max(_MIN_APART_S, _APART_SDS * sd):
        return None
    return corner, less, more


def _row(corner: int, less: pd.DataFrame, more: pd.DataFrame, tests: int) -> dict[str, object]:
    a, b = (half["span_s"].to_numpy(dtype=np.float64) for half in (less, more))
    parts = np.array([a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)])
    total = float(parts.sum())
    sd = total**0.5
    dof = total**2 / float(np.sum(parts**2 / (len(a) - 1))) if total > 0.0 else 1.0
    half = t_quantile(1.0 - 0.025 / tests, dof) * sd
    cost = float(b.mean() - a.mean())
    return {
        "corner": corner, "less_laps": len(a), "more_laps": len(b),
        "less_coast_s": float(less["coast_s"].mean()),
        "more_coast_s": float(more["coast_s"].mean()),
        "cost_s": cost, "cost_sd_s": sd, "cost_low95_s": cost - half, "cost_high95_s": cost + half,
    }  # fmt: skip
