"""
The calculated lap corner by corner, and what the gap to the usual lap is made of.

The lap is parted before each braking, so the parts add up to it.  In each part the gap is

    line + minimum speed + braking + throttle

- line: the metres driven beyond the usual line, at the speed they were driven with;
- minimum speed: what the model of the lap gains if cornering goes from the usual to the allowed
  value, the mean over doing it before and after braking and acceleration;
- braking and throttle: all the rest, before and after the slowest place: the model's own gain by
  harder braking and acceleration, and what the usual lap lost to its own model by waiting.

It adds up by construction.  What a slow exit costs further down the lap is in the part where the
clock runs on, as far as the next braking.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.achievable.lap import ModelLap, part_model_sd, speed_model_sd
from lapwright.achievable.usual_line import UsualLine
from lapwright.columns import arranged
from lapwright.columns.achievable import ACHIEVABLE

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class Parts:
    """
    How a lap of n steps is parted at p corners.

    Attributes
    ----------
    corner : ndarray of int, shape (p,)
    part : ndarray of int, shape (n,)
        To which corner each step belongs, as its position.
    behind : ndarray of bool, shape (n,)
        Whether the step lies behind the corner's slowest place.
    start_m, end_m : ndarray, shape (p,)
    """

    corner: Ints
    part: Ints
    behind: npt.NDArray[np.bool_]
    start_m: Floats
    end_m: Floats

    def sums(self, steps: Floats) -> Floats:
        """Sums over the parts along the last axis, (..., n) to (..., p)."""
        return np.asarray(steps @ self._member)

    @property
    def _member(self) -> Floats:
        mine = self.part[:, None] == np.arange(len(self.corner))
        return np.asarray(mine, dtype=np.float64)

    def lowest(self, speed: Floats) -> tuple[Floats, Ints]:
        """Lowest values in each part along the last axis, and at which step."""
        masked = np.where(self._member.T.astype(bool), speed[..., None, :], np.inf)
        return masked.min(axis=-1), masked.argmin(axis=-1)


def part_the_lap(station_m: Floats, length_m: float, spans: pd.DataFrame) -> Parts:
    """
    Part a lap before each braking.

    Parameters
    ----------
    station_m : ndarray, shape (n,)
    length_m : float
    spans : DataFrame
        ``corner``, ``start_m``, ``slowest_m``, see `lapwright.coaching.evidence.span_stations`.

    Returns
    -------
    Parts
    """
    start = np.mod(spans["start_m"].to_numpy(), length_m)
    order = np.argsort(start, kind="stable")
    start, corner = start[order], spans["corner"].to_numpy()[order]
    slowest = spans["slowest_m"].to_numpy()[order]
    part = np.searchsorted(start, station_m, side="right") - 1
    part = np.where(part < 0, len(start) - 1, part)
    along = np.mod(station_m - start[part], length_m)
    behind = along >= np.mod(slowest - start, length_m)[part]
    end = np.append(start[1:], start[:1] + length_m)
    return Parts(corner, part, behind, start, end)


@dataclass(frozen=True, eq=False, slots=True)
class Measured:
    """
    How well the runs are measured.

    Attributes
    ----------
    time_sd_s : Series
        By ``lap`` and ``corner``: of the time over the part.
    lap_start_s : dict of float
        When each lap began.
    speed_sds : callable
        Error bars of the speed at some moments, (k,) to (k,).
    """

    time_sd_s: pd.Series
    lap_start_s: dict[int, float]
    speed_sds: Callable[[Floats], Floats]


def corner_parts(
    line: UsualLine, model: ModelLap, parts: Parts, measured: Measured
) -> pd.DataFrame:
    """
    Set best, usual and allowed runs beside each other.

    Parameters
    ----------
    line : UsualLine
    model : ModelLap
    parts : Parts
    measured : Measured

    Returns
    -------
    DataFrame
        One row a corner, see `lapwright.columns.achievable`.
    """
    pairs = pd.MultiIndex.from_product([line.lap.tolist(), parts.corner.tolist()])
    sds = measured.time_sd_s.reindex(pairs).to_numpy(dtype=np.float64)
    bars = sds.reshape(len(line.lap), len(parts.corner))
    times, low = _times(line, model, parts, np.isfinite(bars)), _lowest(line, model, parts)
    best = times.pop("best")
    scatter, top, varies = times.pop("scatter"), low.pop("top"), low.pop("varies")
    rows = np.arange(len(parts.corner))
    moments = [
        measured.lap_start_s[int(line.lap[i])] + line.step_s[i, :j].sum()
        for i, j in zip(best, low.pop("where")[best, rows], strict=True)
    ]
    low["best_min_speed_mps"] = low["best_min_speed_mps"][best, rows]
    quicker = times["best_s"] - times["allowed_s"] > scatter
    table = pd.DataFrame(
        {
            "corner": parts.corner, "laps": len(line.lap), "start_m": parts.start_m,
            "end_m": parts.end_m, "best_lap": line.lap[best], "best_sd_s": bars[best, rows],
            **times, **low,
            "best_min_speed_sd_mps": measured.speed_sds(np.array(moments)),
            **_made_of(line, model, parts),
            "only_scatter": times["gap_low95_s"] <= 0.0,
            "beyond": quicker | (low["allowed_min_speed_mps"] > top + varies),
        }
    ).sort_values("corner", ignore_index=True)  # fmt: skip
    return arranged(table, ACHIEVABLE)


def _times(
    line: UsualLine, model: ModelLap, parts: Parts, known: npt.NDArray[np.bool_]
) -> dict[str, Floats]:
    """Times over the parts with their bars; also who was best and the scatter of the runs."""
    runs = parts.sums(line.step_s)
    usual, laps = runs.mean(axis=0), len(runs)
    allowed = parts.sums(model.step_s)
    slopes = np.einsum("nij,np->pij", model.slopes_s, parts._member)
    model_sd = part_model_sd(allowed)
    gap_bars = model.bars(slopes, model_sd, (runs - usual) / laps)
    gap, half = usual - allowed, gap_bars.half95
    # A run across a hole in the log is made up in part, so it is nobody's best.
    best = np.where(known, runs, runs + np.where(known.any(axis=0), np.inf, 0.0)).argmin(axis=0)
    return {
        "best": best,
        "scatter": runs.std(axis=0, ddof=1),
        "best_s": runs[best, np.arange(len(best))],
        "usual_s": usual,
        "usual_sd_s": runs.std(axis=0, ddof=1) / np.sqrt(laps),
        "allowed_s": allowed,
        "allowed_sd_s": model.bars(slopes, model_sd).sd,
        "gap_s": gap,
        "gap_sd_s": gap_bars.sd,
        "gap_low95_s": gap - half,
        "gap_high95_s": gap + half,
    }


def _lowest(line: UsualLine, model: ModelLap, parts: Parts) -> dict[str, Floats]:
    """Lowest speeds in the parts with their bars; those of all runs, their highest and scatter."""
    runs, where = parts.lowest(line.speed_mps)
    allowed, step = parts.lowest(model.speed_mps)
    bars = model.bars(model.slopes_mps[step], speed_model_sd(allowed))
    return {
        "best_min_speed_mps": runs,
        "usual_min_speed_mps": runs.mean(axis=0),
        "usual_min_speed_sd_mps": runs.std(axis=0, ddof=1) / np.sqrt(len(runs)),
        "allowed_min_speed_mps": allowed,
        "allowed_min_speed_sd_mps": bars.sd,
        "top": runs.max(axis=0),
        "varies": runs.std(axis=0, ddof=1),
        "where": where,
    }


def _made_of(line: UsualLine, model: ModelLap, parts: Parts) -> dict[str, Floats]:
    """What the gap is made of, part by part."""
    further = (line.way_m - line.step_m) * line.step_s / line.way_m
    beside = further.mean(axis=0)
    usual, only_cornering, but_cornering = model.steps_usual_s.T
    minimum = 0.5 * (usual - only_cornering + but_cornering - model.step_s)
    rest = line.usual_step_s - model.step_s - beside - minimum
    return {
        "line_s": parts.sums(beside),
        "minimum_s": parts.sums(minimum),
        "braking_s": parts.sums(np.where(parts.behind, 0.0, rest)),
        "throttle_s": parts.sums(np.where(parts.behind, rest, 0.0)),
    }
