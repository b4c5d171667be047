"""One lap's way through one corner: points found on its trace."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.corners.driver_inputs import Channel
from lapwright.geometry import Corner
from lapwright.laps.lap_trace import LapTrace
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# Braking and accelerating again, where no pedal is logged: a tenth of what tyres can do, held for
# longer than a bump or a gear change takes (common practice, no source).
BRAKE_MPS2 = -1.0
THROTTLE_MPS2 = 1.0
_HOLD_S = 0.3
# A throttle pedal is back on above a fifth of its range: a foot that rests on it stays below.
THROTTLE_ON = 0.2
# Acceleration has ended when it is below this.
_COAST_MPS2 = 0.3
# Turning a little: less than this share of the tightest turning in the corner.
_TURN_IN_SHARE = 0.3
# A car that has gained so much has left a corner behind.
_RISE_MPS = 0.3
# And one that has gained so much between two bends was not still coasting through the first.
_REGAINED_MPS = 1.0
# The slowest point is looked for this far outside the corner's ends too.
_REACH_M = 25.0


@dataclass(frozen=True, slots=True)
class PassPoints:
    """
    Moments of one pass; None where the thing did not happen.

    Attributes
    ----------
    slowest_s, top_s : float
        Minimum speed, and the last top speed before it.
    lift_s, brake_s, turn_in_s, throttle_s : float or None
    brake_source, throttle_source : {"channel", "motion"}
    """

    slowest_s: float
    top_s: float
    lift_s: float | None
    brake_s: float | None
    turn_in_s: float | None
    throttle_s: float | None
    brake_source: str
    throttle_source: str


def pass_window(
    corner: Corner, before: Corner, after: Corner, length_m: float
) -> tuple[float, float]:
    """Stations between which a corner's slowest point may lie: up to half-way to its neighbours."""
    back = _unwrapped(before.exit_m, corner.entry_m, length_m, ahead=False)
    front = _unwrapped(after.entry_m, corner.exit_m, length_m, ahead=True)
    low = max(corner.entry_m - _REACH_M, 0.5 * (corner.entry_m + back))
    high = min(corner.exit_m + _REACH_M, 0.5 * (corner.exit_m + front))
    return min(low, corner.apex_m), max(high, corner.apex_m)


def _unwrapped(station: float, about: float, length: float, *, ahead: bool) -> float:
    turns = np.ceil((about - station) / length) if ahead else np.floor((about - station) / length)
    return float(station + turns * length)


def find_points(
    trace: LapTrace, corner: Corner, window: tuple[float, float], before_apex_m: float,
    after_apex_m: float, brake: Channel | None, throttle: Channel | None,
) -> PassPoints | None:  # fmt: skip
    """
    Find the points of one pass.

    Parameters
    ----------
    trace : LapTrace
    corner : Corner
    window : (float, float)
        Stations between which the slowest point lies. [m]
    before_apex_m, after_apex_m : float
        Apexes of the neighbouring corners, unwrapped about this one. [m]
    brake, throttle : Channel or None

    Returns
    -------
    PassPoints or None
        None where the trace does not reach through the corner, or its slowest point lies in a hole
        of the log.
    """
    inside = trace.within(*window)
    if inside.stop - inside.start < 3:
        return None
    slow = inside.start + _slowest(trace.speed_mps[inside])
    run_up = trace.within(before_apex_m, float(trace.station_m[slow]) + 1e-6)
    if run_up.stop - run_up.start < 2:
        return None
    # From the slowest point of the corner before: the highest speed between the two.
    first = run_up.start + _left_behind(trace.speed_mps[run_up.start : slow + 1])
    top = first + int(np.argmax(trace.speed_mps[first : slow + 1]))
    first, top = _past_first_bend(trace, corner, first, top, slow)
    brake_s, brake_source = _brake(trace, top, slow, brake)
    lift_s = _lift(trace, first, top, slow, brake_s, throttle)
    run_out = trace.within(float(trace.station_m[slow]), after_apex_m)
    throttle_s, throttle_source = _throttle(trace, slow, run_out.stop, throttle)
    time = trace.time_s
    if trace.unseen(float(time[slow])):
        return None
    moments = (lift_s, brake_s, _turn_in(trace, first, slow, corner), throttle_s)
    # What the motion model makes of a hole in the log is a guess at the driver's points.
    lift_s, brake_s, turn_in_s, throttle_s = (None if trace.unseen(t) else t for t in moments)
    return PassPoints(
        float(time[slow]), float(time[top]), lift_s, brake_s, turn_in_s, throttle_s,
        brake_source, throttle_source,
    )  # fmt: skip


def _slowest(speed_mps: Floats) -> int:
    """
    The slowest point of a corner within its window.

    At the window's end the car may already be slowing for the next corner, and at its beginning
    still be slow from the one before; then a slow point within the window is this corner's.
    """
    lowest = int(np.argmin(speed_mps))
    if 0 < lowest < len(speed_mps) - 1:
        return lowest
    before = np.maximum.accumulate(speed_mps)
    after = np.maximum.accumulate(speed_mps[::-1])[::-1]
    real = np.flatnonzero(np.minimum(before, after) - speed_mps > _RISE_MPS)
    return int(real[np.argmin(speed_mps[real])]) if len(real) else lowest


def _past_first_bend(
    trace: LapTrace, corner: Corner, first: int, top: int, slow: int
) -> tuple[int, int]:
    """
    Begin behind the first bend of a corner with two, where the car slowed for each.

    Both bends are one corner; a driver who gains speed between them has braked for each. The
    braking that took more energy out of the car counts, the first where they are equal.
    """
    square = trace.speed_mps**2
    while True:
        speed = trace.speed_mps[top : slow + 1]
        regained = np.flatnonzero(speed - np.minimum.accumulate(speed) > _REGAINED_MPS)
        if len(regained) == 0:
            return first, top
        valley = top + int(np.argmin(speed[: regained[0]]))
        again = valley + int(np.argmax(trace.speed_mps[valley : slow + 1]))
        outside = trace.station_m[valley] < corner.entry_m
        if outside or square[again] - square[slow] <= square[top] - square[valley]:
            return first, top
        first, top = valley, again


def _left_behind(speed_mps: Floats) -> int:
    """
    Where the slowing for the corner before has ended, in a run-up to the slowest point.

    The car is often slowest behind the apex of that corner, and not always slower than in this one.
    """
    valley = int(np.argmin(speed_mps))
    if valley < len(speed_mps) - 1:
        return valley
    lowest = np.minimum.accumulate(speed_mps)
    risen = np.flatnonzero(speed_mps - lowest > _RISE_MPS)
    return int(np.argmin(speed_mps[: risen[0]])) if len(risen) else 0


def _held(time: Floats, flags: npt.NDArray[np.bool_]) -> int | None:
    """First index from which the flag stays for the holding time."""
    for first, last in flag_runs(flags):
        if time[min(last + 1, len(time) - 1)] - time[first] >= _HOLD_S:
            return first
    return None


def _refined(trace: LapTrace, k: int, level: float) -> float:
    """Moment at which the longitudinal acceleration passes a level between two samples."""
    if k == 0:
        return float(trace.time_s[0])
    a0, a1 = trace.accel_long_mps2[k - 1], trace.accel_long_mps2[k]
    share = 0.0 if a1 == a0 else float(np.clip((level - a0) / (a1 - a0), 0.0, 1.0))
    return float(trace.time_s[k - 1] + share * (trace.time_s[k] - trace.time_s[k - 1]))


def _brake(
    trace: LapTrace, top: int, slow: int, channel: Channel | None
) -> tuple[float | None, str]:
    if channel is not None:
        # From a little before the top speed: the pedal moves before the car slows.
        moment = channel.rises(trace.time_s[top] - 0.5, trace.time_s[slow])
        return moment, "channel"
    part = slice(top, slow + 1)
    k = _held(trace.time_s[part], trace.accel_long_mps2[part] < BRAKE_MPS2)
    return (None if k is None else _refined(trace, top + k, BRAKE_MPS2)), "motion"


def _lift(
    trace: LapTrace, first: int, top: int, slow: int, brake_s: float | None, channel: Channel | None
) -> float | None:
    end = float(trace.time_s[slow]) if brake_s is None else brake_s
    if channel is not None:
        return channel.falls(float(trace.time_s[first]), end + 0.1)
    until = int(np.searchsorted(trace.time_s, end))
    pushing = np.flatnonzero(trace.accel_long_mps2[first:until] > _COAST_MPS2)
    if len(pushing) == 0:
        return float(trace.time_s[top])
    return float(trace.time_s[first + int(pushing[-1])])


def _throttle(
    trace: LapTrace, slow: int, stop: int, channel: Channel | None
) -> tuple[float | None, str]:
    last = min(stop, len(trace.time_s)) - 1
    if channel is not None:
        before_s, slow_s = trace.time_s[slow] - 1.0, trace.time_s[slow]
        # A blip that is closed again before the slowest point is no going back to the throttle.
        closed_s = channel.falls(before_s, slow_s, level=THROTTLE_ON)
        begin_s = before_s if closed_s is None else closed_s
        return channel.rises(begin_s, trace.time_s[last], level=THROTTLE_ON), "channel"
    part = slice(slow, last + 1)
    k = _held(trace.time_s[part], trace.accel_long_mps2[part] > THROTTLE_MPS2)
    return (None if k is None else _refined(trace, slow + k, THROTTLE_MPS2)), "motion"


def _turn_in(trace: LapTrace, first: int, slow: int, corner: Corner) -> float | None:
    """Last moment before the slowest point at which the car still turned little."""
    sign = 1.0 if corner.direction == "left" else -1.0
    part = slice(first, slow + 1)
    speed = np.maximum(trace.speed_mps[part], 1.0)
    bend = sign * trace.accel_lat_mps2[part] / speed**2
    little = np.flatnonzero(bend < _TURN_IN_SHARE * bend.max())
    return float(trace.time_s[first + int(little[-1])]) if len(little) else None
