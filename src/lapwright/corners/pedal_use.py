"""
How the pedals were used in one run through a corner: braking, its release, coasting, throttle.

Every figure is read off the logged channel.  The levels that count as on and fully on are shares
of what the channel reached in this log, see `lapwright.corners.driver_inputs`.
"""

import numpy as np
import numpy.typing as npt

from lapwright.corners.driver_inputs import FULL, ON, Channel
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# Braking rises to this share of its own peak, and its release begins when it last falls below it:
# on a flat top the highest sample itself is noise.
NEAR_PEAK = 0.9
# A touch of the brake that never gets so far has no release worth the name.
_MIN_PEAK = 0.2
# The left foot may still brake so long after the right has gone back to the throttle.
_OVERLAP_S = 1.0
# A throttle that closes by less than this share of its range, or than so many times its noise, was
# held still (common practice, no source).
CLOSED, _CLOSED_NOISE = 0.12, 6.0

BRAKING = (
    "brake_peak", "brake_peak_sd", "brake_mean", "brake_mean_sd", "brake_to_peak_s",
    "brake_to_peak_sd_s", "brake_off_s", "brake_off_sd_s", "release_s", "release_sd_s",
    "release_turning_share", "release_turning_share_sd",
)  # fmt: skip


def braking_use(
    brake: Channel, start_s: float, end_s: float, turn_in_s: float, turn_in_sd_s: float
) -> dict[str, float]:
    """
    Describe one braking.

    Parameters
    ----------
    brake : Channel
    start_s : float
        When the brake went on. [s]
    end_s : float
        When it is off at the latest. [s]
    turn_in_s, turn_in_sd_s : float
        When the car turned in, NaN where not known. [s]

    Returns
    -------
    dict of float
        `BRAKING`; NaN where a thing did not happen or lies in a hole of the channel.
    """
    out = dict.fromkeys(BRAKING, np.nan)
    off_s = brake.falls(start_s - 1e-9, end_s, level=ON)
    if off_s is None or not brake.whole(start_s, off_s):
        return out
    ends = brake.moment_sd_s(start_s), brake.moment_sd_s(off_s)
    part = brake.part(start_s, off_s)
    value, time = brake.value[part], brake.time_s[part]
    if len(value) < 2:
        return out
    peak, noise = float(value.max()), brake.noise
    t, v = np.r_[start_s, time, off_s], np.r_[ON, value, ON]
    mean = float(np.trapezoid(v, t)) / (off_s - start_s)
    # Of the mean: noise of its samples, and of where it begins and ends.
    mean_sd = np.hypot(
        noise / len(value) ** 0.5, abs(mean - ON) * np.hypot(*ends) / (off_s - start_s)
    )
    span = brake.span
    # The true peak lies between samples, by no more than the pedal changes from one to the next.
    highest = int(np.argmax(value))
    step = float(np.abs(np.diff(value[max(highest - 1, 0) : highest + 2])).max())
    peak_sd = float(np.hypot(noise, step * 12.0**-0.5))
    out |= {
        "brake_peak": brake.zero + span * peak, "brake_peak_sd": span * peak_sd,
        "brake_mean": brake.zero + span * mean, "brake_mean_sd": span * float(mean_sd),
        "brake_off_s": off_s, "brake_off_sd_s": ends[1],
    }  # fmt: skip
    if peak < _MIN_PEAK:
        return out
    near_s = brake.rises(start_s - 1e-9, off_s, level=NEAR_PEAK * peak)
    release_s = brake.falls(start_s, off_s + ends[1], level=NEAR_PEAK * peak)
    if near_s is not None:
        out["brake_to_peak_s"] = near_s - start_s
        out["brake_to_peak_sd_s"] = float(np.hypot(ends[0], brake.moment_sd_s(near_s)))
    if release_s is not None and off_s > release_s:
        out |= _release(brake, release_s, off_s, turn_in_s, turn_in_sd_s)
    return out


def _release(
    brake: Channel, begin_s: float, off_s: float, turn_in_s: float, turn_in_sd_s: float
) -> dict[str, float]:
    took = off_s - begin_s
    sds = np.array([brake.moment_sd_s(begin_s), brake.moment_sd_s(off_s), turn_in_sd_s])
    share = (
        float(np.clip((off_s - turn_in_s) / took, 0.0, 1.0)) if np.isfinite(turn_in_s) else np.nan
    )
    # The share is (off - turn-in) / (off - begin), and its error that of each moment by its slope.
    slopes = np.array([share, 1.0 - share, -1.0]) / took
    return {
        "release_s": took, "release_sd_s": float(np.hypot(*sds[:2])),
        "release_turning_share": share,
        "release_turning_share_sd": float(np.sqrt(np.sum((slopes * sds) ** 2))),
    }  # fmt: skip


def brake_limit_s(throttle_s: float, exit_s: float) -> float:
    """When a corner's braking is over at the latest: the left foot may overlap a little. [s]."""
    return throttle_s + _OVERLAP_S if np.isfinite(throttle_s) else exit_s


def hesitations(throttle: Channel, start_s: float, end_s: float) -> list[tuple[float, float]]:
    """
    When a throttle closed again after it was opened.

    Parameters
    ----------
    throttle : Channel
    start_s, end_s : float
        From where it was opened to where that no longer counts. [s]

    Returns
    -------
    list of (float, float)
        From when it was a clear amount (`CLOSED`) below its highest so far to when it no longer
        was, or to the end. [s]
    """
    part = throttle.part(start_s, end_s)
    time, value = throttle.time_s[part], throttle.value[part]
    if len(time) < 3:
        return []
    clear = max(CLOSED, _CLOSED_NOISE * throttle.noise)
    below = np.maximum.accumulate(value) - value - clear
    out = []
    for first, last in flag_runs(below > 0.0):
        begin = _zero(time, below, first - 1) if first else float(time[0])
        end = _zero(time, below, last) if last + 1 < len(time) else float(time[-1])
        out.append((begin, end))
    return out


def _zero(time: Floats, value: Floats, k: int) -> float:
    """Where a straight line between two samples passes zero."""
    share = value[k] / (value[k] - value[k + 1])
    return float(time[k] + share * (time[k + 1] - time[k]))


def closed_share(
    throttle: Channel, start_s: float, end_s: float, level: float
) -> tuple[Floats, Floats]:
    """
    Share of the time between each two samples for which a throttle was below a level.

    Parameters
    ----------
    throttle : Channel
    start_s, end_s : float
    level : float
        On the scaled range.

    Returns
    -------
    time_s : ndarray, shape (n,)
        Both ends and the samples between them.
    share : ndarray, shape (n - 1,)
        By straight lines between the samples.
    """
    between = throttle.time_s[throttle.part(start_s, end_s)]
    time = np.unique(np.r_[start_s, between, end_s])
    value = np.interp(time, throttle.time_s, throttle.value)
    low, high = np.minimum(value[1:], value[:-1]), np.maximum(value[1:], value[:-1])
    flat = np.where(low < level, 1.0, 0.0)
    share = np.clip((level - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    return time, np.where(high > low, share, flat)


def full_throttle_s(throttle: Channel, start_s: float, end_s: float) -> float:
    """When the throttle was first fully open after it was opened; NaN where it was not. [s]."""
    moment = throttle.rises(start_s - 1e-9, end_s, level=FULL)
    return np.nan if moment is None else moment
