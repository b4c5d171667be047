"""One lap's way through one corner: points found on its trace."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.corners.driver_inputs import Channel
from lapwright.corners.slow_point import Window, kept_speed, left_behind, slow_point
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
# A car that has gained so much between two bends was not still coasting through the first.
_REGAINED_MPS = 1.0


@dataclass(frozen=True, slots=True)
class PassPoints:
    """
    Moments of one pass; None where the thing did not happen.

    Attributes
    ----------
    flat : bool
        Whether the car did not slow for the corner; then nothing else happened either.
    slowest_s, top_s : float or None
        Minimum speed, and the last top speed before it; None where the corner has no slow point of
        its own: the car did not slow, or only for the next corner.
    lift_s, brake_s, turn_in_s, throttle_s : float or None
    brake_source, throttle_source : {"channel", "motion"}
    """

    flat: bool
    slowest_s: float | None
    top_s: float | None
    lift_s: float | None
    brake_s: float | None
    turn_in_s: float | None
    throttle_s: float | None
    brake_source: str
    throttle_source: str


def find_points(
    trace: LapTrace, corner: Corner, windows: tuple[Window, ...], before_apex_m: float,
    after_apex_m: float, brake: Channel | None, throttle: Channel | None,
) -> PassPoints | None:  # fmt: skip
    """
    Find the points of one pass.

    Parameters
    ----------
    trace : LapTrace
    corner : Corner
    windows : tuple of (float, float)
        Stations between which the slowest point lies, see
        `lapwright.corners.slow_point.pass_windows`. [m]
    before_apex_m, after_apex_m : float
        Apexes of the neighbouring corners, unwrapped about this one. [m]
    brake, throttle : Channel or None

    Returns
    -------
    PassPoints or None
        None where the trace does not reach through the corner, or its slowest point lies, or may
        lie, in a hole of the log.
    """
    ends = trace.station_m[0], trace.station_m[-1]
    if ends[0] > corner.entry_m or ends[1] < corner.exit_m:
        return None
    slow = slow_point(trace, windows, before_apex_m, after_apex_m)
    if slow is None:
        return _without_slow_point(trace, corner, windows, before_apex_m, brake, throttle)
    run_up = trace.within(before_apex_m, float(trace.station_m[slow]) + 1e-6)
    if run_up.stop - run_up.start < 2:
        return None
    # From the slowest point of the corner before: the highest speed between the two.
    first = run_up.start + left_behind(trace.speed_mps[run_up.start : slow + 1])
    top = first + int(np.argmax(trace.speed_mps[first : slow + 1]))
    first, top = _past_first_bend(trace, corner, first, top, slow)
    turn_in_s = _turn_in(trace, first, slow, corner)
    if top == run_up.start:
        # Slowing through the corner before, for this one: it began where the speed was highest.
        first = top = _top_before(trace.speed_mps, top)
    brake_s, brake_source = _brake(trace, top, slow, brake)
    lift_s = _lift(trace, first, top, slow, brake_s, throttle)
    run_out = trace.within(float(trace.station_m[slow]), after_apex_m)
    throttle_s, throttle_source = _throttle(trace, slow, run_out.stop, throttle)
    time = trace.time_s
    if trace.unseen(float(time[slow])):
        return None
    moments = (lift_s, brake_s, turn_in_s, throttle_s)
    # What the motion model makes of a hole in the log is a guess at the driver's points.
    lift_s, brake_s, turn_in_s, throttle_s = (None if trace.unseen(t) else t for t in moments)
    return PassPoints(
        False, float(time[slow]), float(time[top]), lift_s, brake_s, turn_in_s, throttle_s,
        brake_source, throttle_source,
    )  # fmt: skip


def _without_slow_point(
    trace: LapTrace, corner: Corner, windows: tuple[Window, ...], before_apex_m: float,
    brake: Channel | None, throttle: Channel | None,
) -> PassPoints | None:  # fmt: skip
    """
    Points of a pass in which the car was nowhere slowest: none but what a pedal tells.

    The edge of a window is no place where anything happened.
    """
    sources = ("motion" if pedal is None else "channel" for pedal in (brake, throttle))
    low, high = windows[-1][0], max(corner.exit_m, windows[-1][1])
    begin_s, exit_s, end_s = (float(t) for t in trace.time_at([low, corner.exit_m, high]))
    # A lift and all that came of it may be in a hole.
    if ((trace.gaps_s[:, 0] < end_s) & (trace.gaps_s[:, 1] > begin_s)).any():
        return None
    way = trace.within(before_apex_m, corner.exit_m)
    flat = way.stop - way.start >= 2 and kept_speed(trace.speed_mps[way])
    lift_s = None if throttle is None else throttle.falls(begin_s, exit_s)
    throttle_s = None
    if throttle is not None and lift_s is not None:
        throttle_s = throttle.rises(lift_s, end_s, level=THROTTLE_ON)
    pressed = brake is not None and brake.rises(begin_s, exit_s) is not None
    flat = flat and lift_s is None and not pressed
    return PassPoints(flat, None, None, lift_s, None, None, throttle_s, *sources)


def _top_before(speed_mps: Floats, k: int) -> int:
    """Index of the top speed from which a car has slowed all the way to a place."""
    rising = np.flatnonzero(np.diff(speed_mps[: k + 1]) >= 0.0)
    return int(rising[-1]) + 1 if len(rising) else 0


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
    # Behind the next top speed the car is on its way out of another corner.
    last = slow + int(np.argmax(trace.speed_mps[slow : last + 1]))
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
    # Slowest where it still turned little, the car turned in later than it was slowest.
    if len(little) == 0 or little[-1] == len(bend) - 1:
        return None
    return float(trace.time_s[first + int(little[-1])])
