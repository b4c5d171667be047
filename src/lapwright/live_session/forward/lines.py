"""When a line was crossed between two states of the filter, and what that time rests on."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.geometry import Gate
from lapwright.live_session.forward.filter import ForwardFilter, Mark

Floats = npt.NDArray[np.float64]

# As in `lapwright.laps.cutting.line_passages`: so far the line reaches into a pit lane beside it.
PIT_REACH_M = 80.0
# At walking pace over a line its moment is anybody's guess, but a finite one.
MIN_RATE_MPS = 0.3


@dataclass(frozen=True, eq=False, slots=True)
class Moving:
    """Where a car is and how it goes, at a moment."""

    time_s: float
    position_m: Floats
    velocity_mps: Floats


def may_reach(gate: Gate, now: Moving, until_s: float) -> bool:
    """Whether the car can come to a line before a moment."""
    dt_s = until_s - now.time_s
    speed = float(np.hypot(*now.velocity_mps))
    # No car gains more than this, even in the error of an estimate.
    reach = (speed + 15.0 * dt_s) * dt_s + 10.0
    away = float(np.hypot(*(now.position_m - np.array(gate.centre_m))))
    return away < 0.5 * gate.width_m + PIT_REACH_M + reach


def crossing(gate: Gate, before: Moving, after: Moving) -> tuple[float, float] | None:
    """
    Moment and offset of a crossing in driving direction.

    The way between is the cubic through both states; a straight line is 30 ms out under braking at
    one fix a second.

    Parameters
    ----------
    gate : Gate
    before, after : Moving

    Returns
    -------
    (float, float) or None
        Time [s] and distance to the left of the line's middle [m].
    """
    dt_s = after.time_s - before.time_s
    forward, centre = np.array(gate.forward), np.array(gate.centre_m)
    d0, d1 = (float((m.position_m - centre) @ forward) for m in (before, after))
    if not d0 < 0.0 <= d1:
        return None
    r0, r1 = (float(m.velocity_mps @ forward) * dt_s for m in (before, after))
    low, high = 0.0, 1.0
    for _ in range(45):
        x = 0.5 * (low + high)
        y = _cubic(x, d0, d1, r0, r1)
        low, high = (x, high) if y < 0.0 else (low, x)
    at = 0.5 * (low + high)
    east, north = (
        _cubic(at, *(float(v) for v in (p0, p1, v0 * dt_s, v1 * dt_s)))
        for p0, p1, v0, v1 in zip(
            before.position_m, after.position_m, before.velocity_mps, after.velocity_mps,
            strict=True,
        )
    )  # fmt: skip
    return before.time_s + at * dt_s, float(gate.offset(east, north))


def _cubic(x: float, y0: float, y1: float, m0: float, m1: float) -> float:
    return (
        y0 + x * m0 + x**2 * (3.0 * (y1 - y0) - 2.0 * m0 - m1) + x**3 * (m0 + m1 - 2.0 * (y1 - y0))
    )


@dataclass(frozen=True, eq=False, slots=True)
class Crossed:
    """
    A line's crossing, refined by every later fix.

    Attributes
    ----------
    mark : Mark
        The moment that was kept.
    normal : ndarray, shape (2,)
        Unit normal of the line, in driving direction.
    centre_m : ndarray, shape (2,)
        A point of the line.
    """

    mark: Mark
    normal: Floats
    centre_m: Floats

    @property
    def rate_mps(self) -> float:
        """Speed across the line."""
        return max(float(self.mark.velocity_mps @ self.normal), MIN_RATE_MPS)

    def time_s(self, motion: ForwardFilter) -> float:
        """When it was crossed, as known now."""
        beyond = float((motion.place_at(self.mark) - self.centre_m) @ self.normal)
        return self.mark.time_s - beyond / self.rate_mps

    @property
    def weight(self) -> Floats:
        """Functional that turns an error of place into one of the crossing's time, shape (2,)."""
        return -self.normal / self.rate_mps


def crossed(gate: Gate, mark: Mark) -> Crossed:
    """Return the crossing of a gate at a mark."""
    return Crossed(mark, np.array(gate.forward), np.array(gate.centre_m))


def between(motion: ForwardFilter, start: Crossed, end: Crossed) -> tuple[float, float]:
    """Time from one crossing to another and its standard deviation. [s]."""
    variance = motion.variance([(start.mark, -start.weight), (end.mark, end.weight)])
    return end.time_s(motion) - start.time_s(motion), float(np.sqrt(variance))
