"""
Weekends as tables of lap times, with exact truth: no log, so that hundreds take seconds.

A driver whose laps scatter by 0.3 s and resemble the lap before, an out lap, cold tyres that come
in and then fade, a track that gets quicker, a driver who learns, sessions that differ for no known
reason, now and then a lap in traffic.  Made without anything of the estimation.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

# Of a lap of 92 s, ten parts.
CORNER_S = np.array([7.0, 9.5, 8.0, 11.0, 6.5, 12.0, 9.0, 10.0, 8.5, 10.5])
CHANGED = (4, 7)


@dataclass(frozen=True)
class Weekend:
    """
    How a weekend goes.

    Attributes
    ----------
    layout : str
        Whether each session is driven with the change: "A" without, "B" with it.
    change_s : float
        What it does, half of it in each of two corners.
    learns_s : float
        How much quicker the driver gets from the first lap of the day to the last.
    track_s : float
        How much quicker the track gets, most of it early on.
    session_sd_s : float
        What else makes sessions differ.
    scatter_s, correlation : float
        From lap to lap.
    traffic : float
        Share of laps in traffic, which lose 0.5 to 2 s and are not set aside.
    laps : tuple of (int, int)
        Fewest and most clean laps of a session.
    """

    layout: str = "AABB"
    change_s: float = -0.4
    learns_s: float = 0.3
    track_s: float = 0.2
    session_sd_s: float = 0.1
    scatter_s: float = 0.3
    correlation: float = 0.3
    traffic: float = 0.03
    laps: tuple[int, int] = (6, 12)


def lap_tables(plan: Weekend, seed: int) -> list[tuple[pd.DataFrame, pd.DataFrame]]:
    """
    Draw a weekend.

    Parameters
    ----------
    plan : Weekend
    seed : int

    Returns
    -------
    list of (DataFrame, DataFrame)
        For each session the lap table and the time through each corner's part of every lap,
        indexed by lap.
    """
    rng = np.random.default_rng([seed, len(plan.layout)])
    counts = rng.integers(plan.laps[0], plan.laps[1] + 1, len(plan.layout))
    driven, whole = 0, max(int(counts.sum()) - 1, 1)
    fade_s = rng.uniform(0.0, 0.03)
    out = []
    for k, (side, n) in enumerate(zip(plan.layout, counts, strict=True)):
        lap = np.arange(n)
        # Alike in all parts of the lap: track, driver, tyres, in proportion to their time.
        common = -plan.learns_s * (driven + lap) / whole
        common -= plan.track_s * (1.0 - np.exp(-0.7 * k)) / (1.0 - np.exp(-0.7 * 4))
        common += 0.3 * np.exp(-lap / 0.7) + fade_s * lap
        common += rng.normal(0.0, plan.session_sd_s)
        parts = CORNER_S * (1.0 + common[:, None] / CORNER_S.sum())
        parts += _scatter(rng, n, plan)
        if side == "B":
            parts[:, [c - 1 for c in CHANGED]] += plan.change_s / len(CHANGED)
        slow = rng.random(n) < plan.traffic
        parts[slow, rng.integers(len(CORNER_S))] += rng.uniform(0.5, 2.0)
        driven += int(n)
        out.append(_tables(parts, k))
    return out


def _scatter(rng: np.random.Generator, n: int, plan: Weekend) -> np.ndarray:
    """Scatter of the parts, each like that of the lap before; their sum has the lap's."""
    own = rng.normal(0.0, plan.scatter_s / np.sqrt(len(CORNER_S)), (n, len(CORNER_S)))
    for i in range(1, n):
        own[i] = plan.correlation * own[i - 1] + np.sqrt(1.0 - plan.correlation**2) * own[i]
    return own


def _tables(parts: np.ndarray, session: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    n = len(parts)
    start = pd.Timestamp("2031-06-07T08:00Z") + pd.Timedelta(hours=1.5 * session)
    corners = pd.DataFrame(
        parts, columns=range(1, len(CORNER_S) + 1), index=pd.RangeIndex(1, n + 1, name="lap")
    )
    laps = pd.DataFrame({
        "lap": np.arange(n + 1),
        "kind": ["out", *["timed"] * n],
        "time_s": [parts[0].sum() + 9.0, *parts.sum(axis=1)],
        "representative": [False, *[True] * n],
        "start_utc": start,
    })  # fmt: skip
    return laps, corners
