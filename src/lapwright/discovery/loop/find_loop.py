"""
The closed circuit in a trace: what is driven round and round, apart from paddock, pits and road.

The order of work: points that come back in the same direction give the
distance round (`recurrence`); one such round is a rough ring; the whole
trace is laid along it (`follow_ring`); the clean laps are averaged
(`averaged`); and the trace is laid along the result once more.  What was
not found is said in one sentence instead of guessed.
"""

from dataclasses import dataclass

import numpy as np

from lapwright.discovery.arrays import Floats, Ints
from lapwright.discovery.loop.averaged import MAX_TIGHT, average_path
from lapwright.discovery.loop.follow_ring import Along, follow_ring, share_on_ring
from lapwright.discovery.loop.lap_choice import (
    chosen_passes,
    clean_laps,
    length_sd,
    quickest_round,
    whole_laps,
)
from lapwright.discovery.loop.recurrence import Recurrence, find_recurrence, retraced
from lapwright.discovery.loop.ring import Ring, ring_from_points, smooth_cyclic
from lapwright.discovery.loop.thin import STEP_M, Steps, Thinned, steps, thin
from lapwright.errors import LapwrightError

# The part of a lap that must be driven twice in the same direction.
MIN_REPEATED = 0.3
# Two directions this close beside each other are one road; parallel straights are 8 m apart.
SAME_WAY_M = 5.0
# Who turns round within this distance turns on the spot.
ON_THE_SPOT_M = 20.0
# A round as short as a car park's, with bends this tight for a third of it, is no circuit.
SMALL_M = 300.0
TIGHT_M = 15.0
# A round driven is as long as the averaged line, within 1 %; where cones are weaved between it is
# longer, since what differs from round to round is averaged away.
MAX_WEAVING = 1.05


class NoCircuitError(LapwrightError):
    """No circuit in a trace; the message says in one sentence what is there instead."""


@dataclass(frozen=True, eq=False)
class Loop:
    """
    A circuit found in a trace.

    Attributes
    ----------
    ring : Ring
        The line averaged over the clean laps, in driving direction.
    length_sd_m : float
        Standard deviation of the ring's length. [m]
    trace : Thinned
        The trace as looked at.
    along : Along
        The trace along the ring.
    laps_s : ndarray, shape (k, 2)
        First and last moment of each whole lap from station 0. [s]
    clean : ndarray of int
        Which of them were averaged.
    rounds : float
        Distance driven along the ring, in laps.
    longest_m : float
        Longest stretch of continuous driving along the ring. [m]
    round_m : float
        Distance in stretches of about a round or more. [m]
    """

    ring: Ring
    length_sd_m: float
    trace: Thinned
    along: Along
    laps_s: Floats
    clean: Ints
    rounds: float
    longest_m: float
    round_m: float


def _sentence_without_return(walk: Steps) -> str:
    """Say what a trace is that never comes back in the same direction."""
    length_m = walk.travelled_m[-1] if len(walk.travelled_m) else 0.0
    if length_m < 200.0:
        return f"the log covers only {length_m:.0f} m: the car hardly moved"
    back = float(retraced(walk).mean())
    if back > 0.35:
        return (
            f"the log of {length_m / 1000:.2f} km goes out and comes back the same way "
            f"({back:.0%} of it is driven in both directions): no circuit, no laps"
        )
    return (
        f"the log of {length_m / 1000:.2f} km never comes back to where it has been "
        "in the same direction for long: no circuit, no laps"
    )


def closed_stretch(walk: Steps, begin: int, end: int) -> Ring:
    """Close the stretch of a trace between two passes of one place to a rough ring."""
    east_m, north_m = walk.east_m[begin:end].copy(), walk.north_m[begin:end].copy()
    share = np.arange(end - begin) / (end - begin) - 0.5
    east_m -= share * (walk.east_m[end] - walk.east_m[begin])
    north_m -= share * (walk.north_m[end] - walk.north_m[begin])
    points = np.stack([east_m, north_m], axis=1)
    smooth = smooth_cyclic(points, np.ones(len(points)), 30.0 / STEP_M)
    return ring_from_points(smooth[:, 0], smooth[:, 1])


def _candidates(walk: Steps, recurrence: Recurrence) -> list[tuple[int, int]]:
    """Rounds to try as the rough ring: spread over the log, without holes, of usual length."""
    hole = np.r_[0, np.cumsum(walk.gap)]
    holes = hole[recurrence.again] - hole[recurrence.index]
    length_m = walk.travelled_m[recurrence.again] - walk.travelled_m[recurrence.index]
    odd = np.abs(length_m - recurrence.period_m) / STEP_M
    cost = odd + 5.0 * holes
    chosen = []
    for part in np.array_split(np.arange(len(cost)), 4):
        if len(part):
            best = part[np.argmin(cost[part])]
            chosen.append((int(recurrence.index[best]), int(recurrence.again[best])))
    return chosen


def _doubled(ring: Ring) -> tuple[float, float]:
    """Shares of a ring that lie on top of itself, driven along and against itself."""
    every = max(1, round(12.0 / ring.spacing_m))
    e, n, h = ring.east_m[::every], ring.north_m[::every], ring.heading_rad[::every]
    apart = np.abs(np.arange(len(e))[:, None] - np.arange(len(e))[None, :])
    apart_m = np.minimum(apart, len(e) - apart) * every * ring.spacing_m
    east, north = e[None, :] - e[:, None], n[None, :] - n[:, None]
    cos, sin = np.cos(h)[:, None], np.sin(h)[:, None]
    near = np.abs(east * cos + north * sin) < 0.75 * every * ring.spacing_m
    near &= np.abs(north * cos - east * sin) < SAME_WAY_M
    turn = cos * cos.T + sin * sin.T
    along = near & (turn > 0.8) & (apart_m > 40.0)
    against = near & (turn < -0.8) & (apart_m > 20.0)
    return float(np.mean(along.any(axis=1))), float(np.mean(against.any(axis=1)))


def find_loop(time_s: Floats, east_m: Floats, north_m: Floats) -> Loop:
    """
    Find the circuit that a trace goes round.

    Parameters
    ----------
    time_s, east_m, north_m : ndarray, shape (n,)
        Fixes of a log on a plane, in strictly increasing order of time. [s], [m], [m]

    Returns
    -------
    Loop

    Raises
    ------
    NoCircuitError
        If nothing is driven round; the message says what was found.
    """
    if len(time_s) < 20:
        msg = f"the log has only {len(time_s)} usable fixes: too few to look for a circuit"
        raise NoCircuitError(msg)
    trace = thin(time_s, east_m, north_m)
    if len(trace.time_s) < 3:
        msg = (
            f"of the log's {len(time_s)} fixes almost none is within a car's reach of the one "
            "before: the times or the positions are not right"
        )
        raise NoCircuitError(msg)
    return find_loop_in(trace, steps(trace))


def find_loop_in(trace: Thinned, walk: Steps) -> Loop:
    """Find the circuit in a trace already thinned; see `find_loop`."""
    recurrence = find_recurrence(walk)
    # A crossroads or a car park is passed twice by anyone.
    if not recurrence.repeated_m > 0.1 * recurrence.period_m:
        raise NoCircuitError(_sentence_without_return(walk))
    if recurrence.repeated_m < MIN_REPEATED * recurrence.period_m:
        both = float(retraced(walk).mean())
        msg = (
            f"the log comes back in the same direction after {recurrence.period_m:.0f} m, but "
            f"repeats only {recurrence.repeated_m:.0f} m of that way ({both:.0%} of the log is "
            "driven in both directions): too little to call it a circuit"
        )
        raise NoCircuitError(msg)
    begin, end, rough = _best_template(walk, recurrence)
    _refuse_what_is_no_circuit(walk, begin, end, rough)
    loop = refine_loop(rough, trace, walk)
    weaves = walk.travelled_m[end] - walk.travelled_m[begin] > MAX_WEAVING * loop.ring.length_m
    if weaves or not _is_driven_round(loop, walk):
        raise _manoeuvring(rough)
    return loop


def _manoeuvring(rough: Ring) -> NoCircuitError:
    """Return the error for what comes back everywhere and goes round nowhere."""
    msg = (
        "the log comes back to the same places again and again, but not round after round on one "
        f"way of about {rough.length_m:.0f} m: manoeuvring, no circuit"
    )
    return NoCircuitError(msg)


def _is_driven_round(loop: Loop, walk: Steps) -> bool:
    """Whether what is driven near a ring is driven along it, round after round."""
    ring = loop.ring
    if loop.longest_m < (1.0 + 0.6 * MIN_REPEATED) * ring.length_m:
        return False
    near = (walk.east_m > ring.east_m.min() - 50.0) & (walk.east_m < ring.east_m.max() + 50.0)
    near &= (walk.north_m > ring.north_m.min() - 50.0) & (walk.north_m < ring.north_m.max() + 50.0)
    share = loop.round_m / max(1.0, float(near.sum()) * STEP_M)
    # In a car park everything is near everything.
    return share > (0.7 if ring.length_m < SMALL_M else 0.25)


def _refuse_what_is_no_circuit(walk: Steps, begin: int, end: int, rough: Ring) -> None:
    """
    Tell a circuit from one way driven up and down, and from turning in circles.

    Parallel straights come as close as the two sides of a road, but a circuit
    opens its hairpins to a radius of some 8 m, and it is not all hairpin.
    """
    back = float(retraced(walk.between(begin, end)).mean())
    along, against = _doubled(rough)
    heading = np.unwrap(walk.heading_rad[begin : end + 1])
    over = max(1, round(ON_THE_SPOT_M / STEP_M))
    sharpest = float(np.max(np.abs(heading[over:] - heading[:-over]), initial=0.0))
    on_the_spot = sharpest > np.deg2rad(160.0)
    if back > 0.85 or (back > 0.5 and on_the_spot) or against > 0.5:
        msg = (
            "the log goes up and down the same way again and again (about "
            f"{rough.length_m:.0f} m there and back, {back:.0%} of it driven in both "
            "directions): no circuit"
        )
        raise NoCircuitError(msg)
    weaving = float(np.mean(np.abs(heading[2:] - heading[:-2]) > 2 * STEP_M / TIGHT_M))
    if weaving > 0.3 and rough.length_m < SMALL_M:
        msg = (
            f"the log turns tighter than {TIGHT_M:.0f} m for {weaving:.0%} of a round of only "
            f"{rough.length_m:.0f} m: a slalom or manoeuvring, no circuit"
        )
        raise NoCircuitError(msg)
    if along > 0.5:
        msg = (
            f"the log turns in circles of less than {rough.length_m / 2:.0f} m: "
            "too short for a circuit"
        )
        raise NoCircuitError(msg)


def _best_template(walk: Steps, recurrence: Recurrence) -> tuple[int, int, Ring]:
    """Return the round that most of the trace runs along: its first and last step, and a ring."""
    best, best_on = None, -1.0
    for begin, end in _candidates(walk, recurrence):
        ring = closed_stretch(walk, begin, end)
        on = share_on_ring(ring, walk)
        if on > best_on:
            best, best_on = (begin, end, ring), on
    assert best is not None
    return best


def _around_quickest(rough: Ring, trace: Thinned, walk: Steps) -> Ring:
    """
    With fewer than three clean laps, return the quickest round as the rough ring.

    Where the rough one ran off the road, the others are too far from it to bring it back.
    """
    along = follow_ring(rough, trace, walk)
    if len(clean_laps(trace, along, whole_laps(rough, trace, along))) >= 3:
        return rough
    quickest_s = quickest_round(rough, trace, along)
    if quickest_s is None:
        return rough
    begin, end = (int(i) for i in np.searchsorted(walk.time_s, quickest_s))
    end = min(end, len(walk.time_s) - 1)
    if end - begin < 10 or walk.gap[begin:end].any():
        return rough
    return closed_stretch(walk, begin, end)


def refine_loop(rough: Ring, trace: Thinned, walk: Steps) -> Loop:
    """Average the laps of a trace around a rough ring, twice."""
    ring = _around_quickest(rough, trace, walk)
    for rounds in (2, 5):
        along = follow_ring(ring, trace, walk)
        laps_s = whole_laps(ring, trace, along)
        clean = clean_laps(trace, along, laps_s)
        passes = chosen_passes(ring, trace, along, laps_s, clean)
        if len(passes.station_m) < 10:
            raise _manoeuvring(rough)
        ring, passes, spread = average_path(ring, passes, rounds)
        # What is driven all over the place averages to anything, even to a point.
        if abs(ring.length_m / rough.length_m - 1.0) > 0.1 or spread.tight > MAX_TIGHT:
            raise _manoeuvring(rough)
    along = follow_ring(ring, trace, walk)
    laps_s = whole_laps(ring, trace, along)
    clean = clean_laps(trace, along, laps_s)
    driven = [0.0]
    for number in np.unique(along.stretch[along.on]):
        rows = along.station_m[along.stretch == number]
        driven.append(float(rows[-1] - rows[0]))
    driven_m = np.array(driven)
    return Loop(
        ring,
        length_sd(ring, passes, spread),
        trace,
        along,
        laps_s,
        clean,
        float(driven_m.sum()) / ring.length_m,
        float(driven_m.max()),
        float(driven_m[driven_m > 0.9 * ring.length_m].sum()),
    )
