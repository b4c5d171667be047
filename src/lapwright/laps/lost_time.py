r"""
What cost the time: a lap's loss to another one, charged to what the driver did and where.

The ledger says where the clock ran on; this says why.  A slow exit costs along the whole straight
behind it, and the foot of the next braking zone is the wrong place to look for it.  From the
slowest point of one corner to that of the next, the lap is held against the reference lap as it
would have been with one difference at a time:

- the minimum speed alone: the car leaves the slowest point with its own speed and then accelerates
  as the reference does: :math:`v^2 = r^2 + (v_m^2 - r_m^2)` to the end of the corner, where grip
  sets the acceleration, and :math:`v^3 = r^3 + (v_x^3 - r_x^3)` on the straight, where power does;
- its own exit as well, then its own straight as well, each carried on in the same way;
- braking: the car keeps what it brought until it meets the reference's own braking curve, lowered
  or raised to the minimum speed it went on to have.

Each step's cost is the time it adds, so all of them add up to the difference of the laps.  Done
from either side and averaged, swapping the laps changes the sign and nothing else.

The laws are those of a point mass [1]_: constant acceleration gains :math:`v^2` evenly with
distance, constant power :math:`v^3`.

References
----------
.. [1] W. F. Milliken and D. L. Milliken, "Race Car Vehicle Dynamics", SAE, 1995, on acceleration
   limited by grip and by power; from memory.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# What the time may be charged to, in the order along the lap; see `LinkCosts`.
CAUSES = ("minimum", "exit", "straight", "braking")
# Slowing by less is no braking: it is what turning costs.
_BRAKING_MPS2 = 1.0
# The car never stands on a lap that is compared; below this a speed is noise. [m/s]
_MIN_MPS = 0.5


@dataclass(frozen=True, eq=False, slots=True)
class Way:
    """
    One lap in small steps along the path.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Spent in each step.
    speed_mps : ndarray, shape (n,)
        Of the car, in the middle of each; it follows no path, so on the outside of a bend it is
        higher than the step over the time.
    """

    time_s: Floats
    speed_mps: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "speed_mps", np.maximum(self.speed_mps, _MIN_MPS))


@dataclass(frozen=True, slots=True)
class Link:
    """
    The way from one slowest point to the next.

    Attributes
    ----------
    start_m, exit_m, slowing_m, entry_m, end_m : float
        Slowest point, end of the corner, where slowing for the next corner begins, that corner's
        entry, its slowest point; in order. [m]
    start_gain2, end_gain2 : float
        Square of the lap's own minimum speed less that of the reference's, at either end; zero
        where a lap has no slowest point. [m²/s²]
    """

    start_m: float
    exit_m: float
    slowing_m: float
    entry_m: float
    end_m: float
    start_gain2: float
    end_gain2: float

    @property
    def marks_m(self) -> Floats:
        """Slowest point, end of the corner, begin of the slowing, next slowest point. [m]."""
        return np.array([self.start_m, self.exit_m, self.slowing_m, self.end_m])


@dataclass(frozen=True, slots=True)
class LinkCosts:
    """
    What a lap lost on one link, by what it comes from.

    Attributes
    ----------
    minimum_s, exit_s, straight_s : float
        The minimum speed at the start of the link, the acceleration out of the corner, and what
        happened on the straight itself, each with what it cost further along. [s]
    braking_s, next_minimum_s : float
        The braking for the next corner, and that corner's own minimum speed on the way in. [s]
    """

    minimum_s: float
    exit_s: float
    straight_s: float
    braking_s: float
    next_minimum_s: float

    @property
    def parts(self) -> Floats:
        """All five, shape (5,). [s]."""
        return np.array(
            [self.minimum_s, self.exit_s, self.straight_s, self.braking_s, self.next_minimum_s]
        )


def link_costs(station_m: Floats, lap: Way, reference: Way, link: Link) -> LinkCosts:
    """
    Charge the time lost on one link.

    Parameters
    ----------
    station_m : ndarray, shape (n,)
        Middles of small steps along the lap, increasing, over the link. [m]
    lap, reference : Way
        What either lap did in each step.
    link : Link

    Returns
    -------
    LinkCosts
        Its parts add up to the difference of the times, lap minus reference.
    """
    there = _one_way(station_m, lap, reference, link)
    turned = replace(link, start_gain2=-link.start_gain2, end_gain2=-link.end_gain2)
    back = _one_way(station_m, reference, lap, turned)
    return LinkCosts(*(0.5 * (there - back)).tolist())


def _one_way(middle: Floats, lap: Way, reference: Way, link: Link) -> Floats:
    """Steps from the reference lap to the lap, one difference at a time, along the lap."""
    v, r = lap.speed_mps, reference.speed_mps
    exit_ = int(np.searchsorted(middle, link.exit_m))
    slowing = max(int(np.searchsorted(middle, link.slowing_m)), exit_)
    brake = slowing + _brakes(r[slowing:])
    low = _out_of_corner(r, exit_, link.start_gain2)
    left = _down_the_straight(v, r, exit_)
    came = _down_the_straight(v, r, slowing)
    aimed = came.copy()
    for approach in (low, left, came):
        # The reference's braking curve is met by whatever speed was brought there.
        approach[brake:] = np.minimum(_brought(approach, brake), r[brake:])
    aimed[brake:] = _brought(aimed, brake)
    aimed = np.minimum(aimed, _curve(r, middle, (slowing, brake), link))
    # Up to where a step takes the lap's own speed it takes the lap's own time.
    own = {id(left): exit_, id(came): slowing, id(aimed): slowing}
    times = [reference.time_s.sum()]
    for u in (low, left, came, aimed):
        k = own.get(id(u), 0)
        times.append(lap.time_s[:k].sum() + (reference.time_s[k:] * r[k:] / u[k:]).sum())
    minimum, exit_s, straight, next_minimum, braking = np.diff([*times, lap.time_s.sum()])
    return np.array([minimum, exit_s, straight, braking, next_minimum])


def _out_of_corner(r: Floats, exit_: int, gain2: float) -> Floats:
    """As the reference, but from another minimum speed."""
    corner = np.sqrt(np.maximum(r[:exit_] ** 2 + gain2, _MIN_MPS**2))
    last = corner[-1] ** 3 - r[exit_ - 1] ** 3 if exit_ else 0.0
    return np.concatenate([corner, np.cbrt(np.maximum(r[exit_:] ** 3 + last, _MIN_MPS**3))])


def _down_the_straight(v: Floats, r: Floats, until: int) -> Floats:
    """The lap's own speed up to a step, and from there the reference's acceleration."""
    gain3 = v[until - 1] ** 3 - r[until - 1] ** 3 if until else 0.0
    return np.concatenate([v[:until], np.cbrt(np.maximum(r[until:] ** 3 + gain3, _MIN_MPS**3))])


def _brakes(r: Floats) -> int:
    """The step at which the reference is fastest before its slowest point."""
    return int(np.argmax(r)) if len(r) else 0


def _brought(u: Floats, brake: int) -> Floats:
    """The speed at the braking point, kept."""
    at = min(max(brake - 1, 0), len(u) - 1)
    return np.full(len(u) - brake, u[at])


def _curve(r: Floats, middle: Floats, marks: tuple[int, int], link: Link) -> Floats:
    """
    The reference's braking curve, moved to the lap's own minimum speed; open before it.

    Within the corner, once it is braked no more, a driver is slow by the same share all along;
    before that, braking gives up the same v² as there is to lose at its end.
    """
    slowing, brake = marks
    out = np.full(len(r), np.inf)
    if brake >= len(r):
        return out
    share2 = max(1.0 + link.end_gain2 / r[-1] ** 2, 0.0)
    entry = int(np.clip(np.searchsorted(middle, link.entry_m), brake, len(r) - 1))
    ends = np.diff(r[entry:] ** 2) >= -2.0 * _BRAKING_MPS2 * np.diff(middle[entry:])
    entry += int(np.argmax(ends)) if ends.any() else len(ends)
    out[entry:] = np.sqrt(share2) * r[entry:]
    gain2 = (share2 - 1.0) * r[entry] ** 2
    out[brake:entry] = np.sqrt(np.maximum(r[brake:entry] ** 2 + gain2, _MIN_MPS**2))
    way = max(float(middle[-1] - middle[brake]), 1.0)
    hard2 = max(float(r[brake] ** 2 - r[-1] ** 2), 0.0) / way
    before = slice(slowing, brake)
    earlier2 = hard2 * (middle[brake] - middle[before])
    out[before] = np.sqrt(np.maximum(r[brake] ** 2 + gain2 + earlier2, _MIN_MPS**2))
    return out
