"""
Laps that look held up: time lost in one short stretch, with something in the log to show for it.

A log sees one car.  It cannot show another one, nor a yellow flag.  What it can show is a lap that
loses time in one place against the other laps and is as usual elsewhere, while the driver lifts or
is slow where they never are, or goes where they never go.  Lost time alone is a mistake as well as
traffic, and is not reported.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.race import HELD_UP
from lapwright.laps.lap_trace import LapTrace
from lapwright.numerics.robust_spread import robust_sd
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Short against a braking zone.
_CELL_M = 20.0
# A stretch in which a lap is held up is no longer than this share of the lap; longer, it is a slow
# lap, and said to be.
_LONGEST_SHARE = 0.25
# Less is lost in a corner taken a little worse; common practice, no source.
_LEAST_LOSS_S = 0.4
# The first and last part of a loss that do not say where it was.
_EDGE_SHARE = 0.05
# And so far beyond what the same stretch varies by on the other laps.
_SPREADS = 4.0
# So much of what the lap lost in all was lost there.
_OF_THE_LOSS = 0.5
# Laps to compare with: with fewer, "never" means little.
MIN_OTHERS = 4
# A lift: speed falls by this much where on no other lap it falls at all.
_LIFT_MPS = 2.0
_FALLS_MPS = 0.3
# Cells before the place where any other lap slows that are still its braking zone: 40 m.
_EARLY_CELLS = (1, 2)
# Slow: slower than the slowest other lap by this share, over so many metres.
_SLOW_SHARE, _SLOW_M = 0.8, 100.0
# Off the usual line by more than any other lap, and by this, for this long; drivers wander by 1 m.
_ASIDE_M = 2.5
_ASIDE_LENGTH_M = 60.0
# Three sd of a difference of two offsets.
_NOISE_SDS = 3.0 * np.sqrt(2.0)
# What an entry and exit of a stretch add to it.
_MARGIN_CELLS = 3


@dataclass(frozen=True, eq=False)
class LapProfile:
    """
    Laps along the circuit, one row each, at even places.

    Attributes
    ----------
    lap : ndarray of int, shape (n,)
    usual : ndarray of bool, shape (n,)
        Which laps are clean, to compare with.
    station_m : ndarray, shape (k + 1,)
    time_s : ndarray, shape (n, k)
        In each cell.
    speed_mps, offset_m : ndarray, shape (n, k + 1)
    offset_sd_m : float
        How unsure the offsets are by the receiver.
    """

    lap: npt.NDArray[np.int64]
    usual: Flags
    station_m: Floats
    time_s: Floats
    speed_mps: Floats
    offset_m: Floats
    offset_sd_m: float = 0.0


def profiles(
    traces: list[LapTrace], clean: set[int], length_m: float, offset_sd_m: float = 0.0
) -> LapProfile:
    """
    Put laps side by side along the circuit.

    Parameters
    ----------
    traces : list of LapTrace
    clean : set of int
        Laps to compare with.
    length_m : float
    offset_sd_m : float
        How unsure the offsets are by the receiver.

    Returns
    -------
    LapProfile
    """
    station = np.linspace(0.0, length_m, max(8, round(length_m / _CELL_M)) + 1)
    return LapProfile(
        np.array([t.lap for t in traces], dtype=np.int64),
        np.array([t.lap in clean for t in traces], dtype=bool),
        station,
        np.array([np.diff(t.time_at(station)) for t in traces]),
        np.array([t.at_station("speed_mps", station) for t in traces]),
        np.array([t.at_station("offset_m", station) for t in traces]),
        offset_sd_m,
    )


def held_up(laps: LapProfile) -> pd.DataFrame:
    """
    Find laps that look held up.

    Parameters
    ----------
    laps : LapProfile

    Returns
    -------
    DataFrame
        See `lapwright.columns.race.HELD_UP`; one row a stretch, at most one a lap.
    """
    rows = []
    for i in range(len(laps.lap)):
        others = laps.usual & (np.arange(len(laps.lap)) != i)
        if others.sum() >= MIN_OTHERS:
            row = _stretch(laps, i, others)
            rows += [] if row is None else [row]
    return arranged(pd.DataFrame(rows), HELD_UP) if rows else empty(HELD_UP)


def _stretch(laps: LapProfile, i: int, others: Flags) -> dict[str, object] | None:
    """The stretch that cost one lap most, if it is short, clear and shown by the driving."""
    usual = np.median(laps.time_s[others], axis=0)
    lost = laps.time_s[i] - usual
    a, b, most = _most_lost(lost, max(1, round(_LONGEST_SHARE * len(lost))))
    elsewhere = laps.time_s[others][:, a:b].sum(axis=1) - usual[a:b].sum()
    spread = robust_sd(elsewhere)
    total = float(np.sum(np.maximum(lost, 0.0)))
    if most < max(_LEAST_LOSS_S, _SPREADS * spread) or most < _OF_THE_LOSS * total:
        return None
    near = slice(max(a - _MARGIN_CELLS, 0), min(b + _MARGIN_CELLS, len(lost)) + 1)
    lifted = _lifted(laps.speed_mps[i, near], laps.speed_mps[others][:, near])
    slow_m = _slow(laps.speed_mps[i, near], laps.speed_mps[others][:, near])
    aside = _aside(laps, i, others, near)
    if not (lifted > 0.0 or slow_m > 0.0 or aside != 0.0):
        return None
    return {
        "lap": int(laps.lap[i]),
        "start_m": float(laps.station_m[a]),
        "end_m": float(laps.station_m[b]),
        "lost_s": most,
        "lost_spread_s": float(spread),
        "lifted_mps": lifted,
        "slow_m": slow_m,
        "aside_m": aside,
    }


def _most_lost(lost_s: Floats, longest: int) -> tuple[int, int, float]:
    """First cell, one past the last, and the loss of the stretch that lost most."""
    run = np.concatenate([[0.0], np.cumsum(lost_s)])
    from_cell, to_cell = np.meshgrid(np.arange(len(run)), np.arange(len(run)), indexing="ij")
    allowed = (to_cell > from_cell) & (to_cell - from_cell <= longest)
    gain = np.where(allowed, run[None, :] - run[:, None], -np.inf)
    a, b = (int(k) for k in np.unravel_index(int(np.argmax(gain)), gain.shape))
    if gain[a, b] <= 0.0:
        return a, b, float(gain[a, b])
    # What little a lap goes on losing around it, as laps do, would only blur where it was.
    part = (run[a : b + 1] - run[a]) / gain[a, b]
    first = int(np.flatnonzero(part < _EDGE_SHARE)[-1])
    last = int(np.flatnonzero(part > 1.0 - _EDGE_SHARE)[0])
    begin, end = a + min(first, last - 1), a + last
    return begin, end, float(run[end] - run[begin])


def _lifted(mine_mps: Floats, others_mps: Floats) -> float:
    """How much speed was taken off where no other lap slows; 0 where there is no such place."""
    slows = (np.diff(others_mps, axis=1) < -_FALLS_MPS).any(axis=0)
    # Braking a little before any other lap did is no lift of its own.
    ahead = [np.roll(slows, -k) & (np.arange(len(slows)) < len(slows) - k) for k in _EARLY_CELLS]
    never = ~np.any([slows, *ahead], axis=0)
    change = np.diff(mine_mps)
    runs = flag_runs((change < 0.0) & never)
    drop = max((-float(change[a : b + 1].sum()) for a, b in runs), default=0.0)
    return drop if drop >= _LIFT_MPS else 0.0


def _slow(mine_mps: Floats, others_mps: Floats) -> float:
    """How far the lap went much slower than any other; 0 where it did not for long."""
    runs = flag_runs(mine_mps < _SLOW_SHARE * others_mps.min(axis=0))
    far = max((_CELL_M * (b - a) for a, b in runs), default=0.0)
    return far if far >= _SLOW_M else 0.0


def _aside(laps: LapProfile, i: int, others: Flags, near: slice) -> float:
    """How far beside the usual line, + left, where no other lap goes; 0 where it did not."""
    offsets = laps.offset_m[others][:, near]
    usual = np.median(offsets, axis=0)
    mine = laps.offset_m[i, near] - usual
    # Beyond the widest of the others by as much again as they differ by, and beyond the noise.
    least = max(_ASIDE_M, _NOISE_SDS * laps.offset_sd_m)
    reach = np.maximum(least, 2.0 * np.abs(offsets - usual).max(axis=0))
    longest = max(1, round(_ASIDE_LENGTH_M / _CELL_M))
    runs = [
        run for side in (1.0, -1.0) for run in flag_runs(side * mine > reach)
        if run[1] - run[0] + 1 >= longest
    ]  # fmt: skip
    far = [mine[a : b + 1][np.argmax(np.abs(mine[a : b + 1]))] for a, b in runs]
    return float(max(far, key=abs, default=0.0))
