"""
When a smooth trajectory crosses a gate: `crossings`, every one, and `passages`, those that count.

The crossing is the root of the signed distance along the *estimated motion*,
not of a straight line between two fixes: under braking a straight line at one
fix a second is 30 ms out.
"""

from typing import Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lapwright.geometry.gate import Gate

Floats = NDArray[np.float64]

# No car changes speed quicker than this, even in the error of an estimate. [m/s^2]
_MAX_ACCEL_MPS2 = 30.0
# Between two fixes the motion is looked at this often, so that a car that stops on the line
# and rolls back between two fixes a second apart is seen doing so. [s]
_LOOK_S = 0.1
# In a hole of more than an hour there is nothing finer to see.
_MOST_LOOKS = 36_000
_TIME_TOLERANCE_S = 1e-10
# Crossings closer together than this, in metres driven, are one visit to the line. [m]
_VISIT_M = 100.0


class State(Protocol):
    """What a trajectory says about some instants; see `lapwright.motion`."""

    @property
    def position_m(self) -> Floats:
        """East and north, shape (k, 2) [m]."""

    @property
    def velocity_mps(self) -> Floats:
        """East and north, shape (k, 2) [m/s]."""


class Trajectory(Protocol):
    """A smooth motion that can be asked for any instant; see `lapwright.motion`."""

    @property
    def fix_time_s(self) -> Floats:
        """Times of the fixes, increasing, shape (n,) [s]."""

    def at(self, time_s: Floats, /) -> State:
        """Position and velocity at some instants."""


def crossings(
    gate: Gate, motion: Trajectory, slack_m: float = 0.0, at_fixes: State | None = None
) -> pd.DataFrame:
    """
    Find every crossing of a gate, in both directions.

    Parameters
    ----------
    gate : Gate
        The line.
    motion : Trajectory
        The motion of the car.
    slack_m : float
        How far beyond the ends of the gate a crossing still counts: the
        uncertainty of the position. [m]
    at_fixes : State, optional
        ``motion.at(motion.fix_time_s)``, if it is at hand already.

    Returns
    -------
    crossings : DataFrame
        In order of time: ``time_s`` (root of the motion, to 1e-9 s), ``forward``
        (in the circuit's direction), ``offset_m`` (to the left of the gate's
        middle), ``speed_mps``, ``normal_speed_mps`` (square to the gate, positive
        forwards) and ``driven_m`` (distance driven since the first fix).
    """
    time = np.asarray(motion.fix_time_s, dtype=np.float64)
    state = motion.at(time) if at_fixes is None else at_fixes
    speed = np.hypot(state.velocity_mps[:, 0], state.velocity_mps[:, 1])
    driven = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0 * np.diff(time))])
    near = _intervals_in_reach(gate, state.position_m, speed, time, slack_m)
    root, forward = _roots(gate, motion, *_looks(time[near], time[near + 1]))
    at_root = motion.at(root)
    east, north = at_root.position_m.T
    normal = at_root.velocity_mps @ np.array(gate.forward)
    table = pd.DataFrame(
        {
            "time_s": root,
            "forward": forward,
            "offset_m": gate.offset(east, north),
            "speed_mps": np.hypot(at_root.velocity_mps[:, 0], at_root.velocity_mps[:, 1]),
            "normal_speed_mps": normal,
            "driven_m": np.interp(root, time, driven),
        }
    )
    inside = table["offset_m"].abs() <= gate.width_m / 2.0 + slack_m
    return table[inside].reset_index(drop=True)


def passages(table: pd.DataFrame, visit_m: float = _VISIT_M) -> pd.DataFrame:
    """
    Keep the crossings that count: one for each time the car goes past the line for good.

    A car that stops on the line, rolls back over it or spins over it crosses
    several times within a few metres; that is one visit. A visit counts once, at
    its first forward crossing, if the car leaves it forwards on balance. A car
    that was ahead of the line when the log began and is pushed back over it
    counts when it finally starts.

    Parameters
    ----------
    table : DataFrame
        From `crossings`.
    visit_m : float
        Crossings closer together than this, in metres driven, are one visit. [m]

    Returns
    -------
    passages : DataFrame
        Some rows of the table, in order of time.
    """
    if table.empty:
        return table.copy()
    visit = (table["driven_m"].diff() > visit_m).cumsum()
    forward = table["forward"].astype(bool)
    balance = forward.map({True: 1, False: -1}).groupby(visit).transform("sum")
    first_forward = forward & (forward.groupby(visit).cumsum() == 1)
    keep = first_forward & (balance > 0)
    # Pushed back over the line before the first start: the last forward crossing counts.
    first_visit = (visit == visit.iloc[0]) & (balance == 0)
    if first_visit.any() and not forward.iloc[0]:
        keep.loc[forward[first_visit & forward].index[-1]] = True
    return table[keep].reset_index(drop=True)


def _intervals_in_reach(
    gate: Gate, position: Floats, speed: Floats, time: Floats, slack_m: float
) -> NDArray[np.intp]:
    """Return the first fix of each interval in which the car can possibly reach the gate."""
    step = np.diff(time)
    reach = (np.maximum(speed[1:], speed[:-1]) + _MAX_ACCEL_MPS2 * step / 4.0) * step
    distance = gate.signed_distance(position[:, 0], position[:, 1])
    offset = gate.offset(position[:, 0], position[:, 1])
    close = np.minimum(np.abs(distance[1:]), np.abs(distance[:-1])) <= reach
    changes = np.signbit(distance[1:]) != np.signbit(distance[:-1])
    beside = np.minimum(np.abs(offset[1:]), np.abs(offset[:-1]))
    inside = beside <= gate.width_m / 2.0 + slack_m + reach
    return np.flatnonzero((close | changes) & inside)


def _looks(begin: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Cut intervals into short looks of equal length; return their beginnings and ends."""
    count = np.clip(np.ceil((end - begin) / _LOOK_S), 2, _MOST_LOOKS).astype(np.intp)
    interval = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(interval)) - np.repeat(np.cumsum(count) - count, count)
    width = ((end - begin) / count)[interval]
    start = begin[interval] + number * width
    # The last look ends exactly at the fix, or a root there would be seen twice or never.
    stop = np.where(number == count[interval] - 1, end[interval], start + width)
    following = np.append(begin[1:], np.inf)[interval]
    return start, np.minimum(stop, following)


def _roots(
    gate: Gate, motion: Trajectory, begin: Floats, end: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Times at which the signed distance changes sign within the looks, and which way, in order."""
    if not len(begin):
        return begin, np.zeros(0, dtype=bool)
    distance_0, rate_0 = _distance(gate, motion, begin)
    distance_1, rate_1 = _distance(gate, motion, end)
    # A look in which the car comes up to the line and turns away again may hold two crossings:
    # cut it where the distance is least.
    touch = (np.signbit(distance_0) == np.signbit(distance_1)) & (
        (rate_0 * distance_0 < 0.0) & (rate_1 * distance_1 > 0.0)
    )
    turn = _turning_time(gate, motion, begin[touch], end[touch], rate_0[touch])
    distance_t, _ = _distance(gate, motion, turn)
    low = np.concatenate([begin[~touch], begin[touch], turn])
    high = np.concatenate([end[~touch], turn, end[touch]])
    low_d = np.concatenate([distance_0[~touch], distance_0[touch], distance_t])
    high_d = np.concatenate([distance_1[~touch], distance_t, distance_1[touch]])
    changes = np.signbit(low_d) != np.signbit(high_d)
    root = _refine(gate, motion, low[changes], high[changes], low_d[changes])
    order = np.argsort(root, kind="stable")
    # The side it comes from tells the direction, even where the car all but stands on the line.
    return root[order], np.signbit(low_d[changes])[order]


def _refine(gate: Gate, motion: Trajectory, low: Floats, high: Floats, low_d: Floats) -> Floats:
    """Newton's method kept within brackets by bisection, all brackets at once."""
    low, high = low.copy(), high.copy()
    below = np.signbit(low_d)
    time = (low + high) / 2.0
    for _ in range(60):
        if not len(time):
            break
        distance, rate = _distance(gate, motion, time)
        same = np.signbit(distance) == below
        low, high = np.where(same, time, low), np.where(same, high, time)
        with np.errstate(divide="ignore", invalid="ignore"):
            guess = time - distance / rate
        inside = (guess >= low) & (guess <= high)
        following = np.where(inside, guess, (low + high) / 2.0)
        done = np.max(np.abs(following - time)) < _TIME_TOLERANCE_S
        time = following
        if done:
            break
    return time


def _turning_time(
    gate: Gate, motion: Trajectory, low: Floats, high: Floats, low_rate: Floats
) -> Floats:
    """Bisect for the instant at which the speed square to the gate changes sign."""
    low, high = low.copy(), high.copy()
    for _ in range(30):
        if not len(low):
            break
        middle = (low + high) / 2.0
        _, rate = _distance(gate, motion, middle)
        same = np.signbit(rate) == np.signbit(low_rate)
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return (low + high) / 2.0


def _distance(gate: Gate, motion: Trajectory, time: Floats) -> tuple[Floats, Floats]:
    """Signed distance from the gate and its rate of change."""
    state = motion.at(time)
    east, north = state.position_m.T
    return gate.signed_distance(east, north), state.velocity_mps @ np.array(gate.forward)
