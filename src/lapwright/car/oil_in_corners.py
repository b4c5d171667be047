"""
Oil pressure in long corners against the same lap's straights at the same engine speed.

A pump's pressure follows engine speed, oil temperature and a relief valve.  Within one lap the oil
is nearly as warm on a straight as in a corner, and a slope over the lap takes up the rest.  So what
is left between the two at one engine speed is the corner's: oil that runs away from the pick-up,
which takes a second or two of steady lateral acceleration (common practice, no source).

Each lap gives one difference for each corner, from that lap's own straights; laps do not share
values, so their scatter tells how sure the mean is (Student's t, over all corners looked at
together: Bonferroni, as in R. G. Miller, "Simultaneous Statistical Inference", 2nd ed., Springer,
1981, sec. 1.2).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.car.places import Places
from lapwright.car.watched import Watched
from lapwright.motion import Motion
from lapwright.numerics.runs import flag_runs
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A straight, a corner that moves oil, and how long it takes (common practice, no source).
_STRAIGHT_MPS2, _LOADED_MPS2 = 2.0, 4.0
_AFTER_S, _LONG_S = 1.0, 1.5
# What is less than this share of the usual pressure is no warning: gauges and their pipes do that.
MIN_SHARE = 0.05
_MIN_LAPS, _MIN_VALUES, _MIN_STRAIGHT = 3, 3, 60
_KNOTS = 5
# How far beyond the straights' engine speeds a corner is still compared, and of how much of it at
# least: a share.
_BELOW, _ABOVE, _COMPARED = 0.85, 1.05, 0.5
# How long a gauge may lag behind engine speed. [s]
_LAGS_S = (0.0, 0.15, 0.3, 0.5, 0.8, 1.2)


@dataclass(frozen=True, slots=True)
class OilInCorner:
    """
    Oil pressure in one corner, less that of the straights at the same engine speed.

    Attributes
    ----------
    corner : int
    laps : tuple of int
        Laps that it rests on.
    difference, sd, low95, high95 : float
        Mean over the laps, its sd and its 95 % interval for all corners together; negative where
        it is lower in the corner.  In the channel's unit.
    usual : float
        The straights' pressure at the corner's engine speeds.
    station_m : float
        Where it was furthest below, in the mean of the laps. [m]
    """

    corner: int
    laps: tuple[int, ...]
    difference: float
    sd: float
    low95: float
    high95: float
    usual: float
    station_m: float

    @property
    def is_low(self) -> bool:
        """Whether it is lower beyond doubt, and by more than gauges do."""
        return self.high95 < -MIN_SHARE * self.usual


def oil_in_corners(
    oil: Watched, rpm: Watched, motion: Motion, places: Places
) -> tuple[OilInCorner, ...]:
    """
    Compare each long corner with the straights.

    Parameters
    ----------
    oil, rpm : Watched
    motion : Motion
    places : Places

    Returns
    -------
    tuple of OilInCorner
        One a corner that is long enough on three laps or more.
    """
    inside = (oil.time_s >= motion.start_s) & (oil.time_s <= motion.end_s)
    time_s, value = oil.time_s[inside], oil.value[inside]
    if len(time_s) < _MIN_STRAIGHT or not places.corners:
        return ()
    lateral = motion.at(time_s).accel_lat_mps2
    loaded, straight = _stretches(time_s, lateral, oil.step_s)
    station = places.station_m(time_s)
    corner = places.corner(station)
    revs = _lagged(oil, rpm, time_s, value, straight)
    known = np.isfinite(revs)
    found: dict[int, list[tuple[int, float, float, float]]] = {}
    for lap, start, end in places.whole[["lap", "start_s", "end_s"]].itertuples(index=False):
        mine = (time_s >= start) & (time_s < end) & known
        base = mine & straight
        if base.sum() < _MIN_STRAIGHT:
            continue
        away = np.full(len(time_s), np.nan)
        usual = _usual((revs[base], time_s[base]), value[base], (revs[mine], time_s[mine]))
        away[mine] = value[mine] - usual
        expected = np.full(len(time_s), np.nan)
        expected[mine] = usual
        for number in np.unique(corner[mine & loaded]):
            there = mine & loaded & (corner == number)
            here = there & np.isfinite(away)
            if here.sum() >= max(_MIN_VALUES, _COMPARED * there.sum()):
                worst = float(station[here][np.argmin(away[here])])
                found.setdefault(int(number), []).append(
                    (int(lap), float(away[here].mean()), float(expected[here].mean()), worst)
                )
    enough = {k: rows for k, rows in found.items() if len(rows) >= _MIN_LAPS}
    return tuple(_judged(k, rows, len(enough)) for k, rows in sorted(enough.items()))


def _stretches(time_s: Floats, lateral: Floats, step_s: float) -> tuple[Flags, Flags]:
    """Where a long corner has lasted for a while, and where a straight has."""
    loaded = np.zeros(len(time_s), dtype=np.bool_)
    for side in (1.0, -1.0):
        for first, last in flag_runs(side * lateral > _LOADED_MPS2):
            if time_s[last] - time_s[first] >= _LONG_S:
                begin = np.searchsorted(time_s, time_s[first] + _AFTER_S)
                loaded[begin : last + 1] = True
    straight = np.abs(lateral) < _STRAIGHT_MPS2
    for first, last in flag_runs(straight):
        # The oil comes back as it went.
        until = np.searchsorted(time_s, time_s[first] + _AFTER_S)
        straight[first : min(int(until), last + 1)] = False
    return loaded, straight


def _lagged(oil: Watched, rpm: Watched, time_s: Floats, value: Floats, straight: Flags) -> Floats:
    """Engine speed as late as the gauge shows it: the delay that leaves least on the straights."""
    raw = rpm.at(time_s)
    best, least = raw, np.inf
    for lag_s in _LAGS_S:
        late = _low_passed(raw, oil.step_s, lag_s)
        good = straight & np.isfinite(late)
        if good.sum() < _MIN_STRAIGHT:
            continue
        at = late[good], time_s[good]
        rest = value[good] - _usual(at, value[good], at)
        left = float(np.nanmean(rest**2))
        if left < least:
            best, least = late, left
    return best


def _low_passed(values: Floats, step_s: float, lag_s: float) -> Floats:
    """First-order low-pass, cut off after five time constants; NaN spreads over what it reaches."""
    if lag_s <= 0.0:
        return values
    count = max(2, int(np.ceil(5.0 * lag_s / step_s)))
    weight = np.exp(-np.arange(count) * step_s / lag_s)
    padded = np.concatenate([np.full(count - 1, values[0]), values])
    return np.convolve(padded, weight / weight.sum(), "valid")


def _usual(straights: tuple[Floats, Floats], value: Floats, at: tuple[Floats, Floats]) -> Floats:
    """
    Pressure by engine speed, a broken line through the straights; NaN far beyond their speeds.

    With a slope over time: oil that grows warm on the lap gives less at its end.
    """
    revs, time_s = straights
    knots = np.unique(np.quantile(revs, np.linspace(0.02, 0.98, _KNOTS)))
    middle, long_s = float(time_s.mean()), max(float(np.ptp(time_s)), 1.0)

    def columns(x: Floats, t: Floats) -> Floats:
        hats = [np.interp(x, knots, row) for row in np.eye(len(knots))]
        return np.stack([*hats, (t - middle) / long_s], axis=1)

    level = np.linalg.lstsq(columns(revs, time_s), value, rcond=None)[0]
    # Below the straights' speeds in proportion, above them level: both rather too little.
    usual = (columns(*at) @ level) * np.minimum(at[0] / knots[0], 1.0)
    inside = (at[0] >= _BELOW * knots[0]) & (at[0] <= _ABOVE * knots[-1])
    return np.where(inside, usual, np.nan)


def _judged(corner: int, rows: list[tuple[int, float, float, float]], corners: int) -> OilInCorner:
    laps = tuple(row[0] for row in rows)
    away, usual, worst = np.array([row[1:] for row in rows]).T
    mean, sd = float(away.mean()), float(away.std(ddof=1) / np.sqrt(len(away)))
    half = t_quantile(1.0 - 0.025 / corners, len(away) - 1) * sd
    return OilInCorner(
        corner, laps, mean, sd, mean - half, mean + half, float(usual.mean()),
        float(np.median(worst)),
    )  # fmt: skip
