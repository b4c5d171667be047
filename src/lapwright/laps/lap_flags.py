"""What was out of the ordinary on a lap: flags in plain words, each from one rule."""

import numpy as np
import numpy.typing as npt

from lapwright.laps.gaps import gaps
from lapwright.laps.track_mapping import TrackMapping
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# A lap this much slower than the usual one is not an attempt.
SLOW_FACTOR = 1.06
# Standing this long is a stop: at racing speed there is no reason for it.
_STOP_S = 1.0
# Beside the track for less is a wheel on the kerb, as far as a receiver can tell.
_MIN_OFF_M = 20.0
# So much of the circuit left out is more than any line saves (common practice, no source).
_SHORT_CUT_M = 30.0
# Beside the line and shorter than it by this much: across the inside, not wide.
_SAVED_M = 8.0
# Farther back than drift and noise put a car that goes forward.
_REVERSED_M = 15.0
# Going across or against the way, slowly, after having been quick: the car has turned round.
_SPIN_COS = 0.5
# Stopped as hard as tyres do, and then rolling back: the car has come to rest the wrong way.
_HARD_MPS2, _HARD_S, _ROLL_BACK_M, _ROLL_BACK_S = 3.0, 3.0, 2.0, 10.0


def lap_flags(
    mapped: TrackMapping, start_s: float, end_s: float, *, pit_lap: bool = False
) -> list[str]:
    """
    Flags of one stretch of a session.

    Parameters
    ----------
    mapped : TrackMapping
    start_s, end_s : float
    pit_lap : bool
        Whether the lap is an out or in lap: a car pushed back into its box has not spun.

    Returns
    -------
    list of str
        Among ``stop``, ``spin``, ``gap``, ``off_path``, ``short_cut`` and ``reversed``.
    """
    part = mapped.between(start_s, end_s)
    time_s, station = mapped.time_s[part], mapped.station_m[part]
    if len(time_s) < 3:
        return ["gap"]
    flags = []
    if _longest(mapped.standing[part], time_s) >= _STOP_S:
        flags.append("stop")
    if _spins(mapped, part) or (not pit_lap and _rolls_back(mapped, part)):
        flags.append("spin")
    if len(gaps(mapped, start_s, end_s)):
        flags.append("gap")
    if any(abs(station[b] - station[a]) >= _MIN_OFF_M for a, b in flag_runs(mapped.away[part])):
        flags.append("off_path")
    if _gains(mapped, part) > _SHORT_CUT_M or _saves(mapped, part) > _SAVED_M:
        flags.append("short_cut")
    highest = np.maximum.accumulate(station)
    if (highest - station).max() > _REVERSED_M:
        flags.append("reversed")
    return flags


def _longest(flags: npt.NDArray[np.bool_], time_s: Floats) -> float:
    return max((float(time_s[b] - time_s[a]) for a, b in flag_runs(flags)), default=0.0)


def _spins(mapped: TrackMapping, part: slice) -> bool:
    """Whether the car moved across or against the way."""
    step = np.diff(mapped.position_m[part], axis=0)
    length = np.linalg.norm(step, axis=1)
    forward = np.diff(mapped.station_m[part])
    speed = mapped.speed_mps[part][1:]
    # Over a second or so, so that noise at walking pace is no spin.
    window = min(max(1, round(1.0 / mapped.usual_step_s)), len(length))
    kernel = np.ones(window)
    driven = np.convolve(length, kernel, "same")
    gained = np.convolve(forward, kernel, "same")
    across = (driven > 4.0) & (gained < _SPIN_COS * driven) & (speed > 2.0)
    return bool(across.any() and not mapped.lost[part].all())


def _rolls_back(mapped: TrackMapping, part: slice) -> bool:
    """Whether the car stopped hard and then rolled back along the circuit."""
    time_s, speed, station = mapped.time_s[part], mapped.speed_mps[part], mapped.station_m[part]
    for first, _ in flag_runs(mapped.standing[part]):
        stood_s = time_s[first]
        before = slice(int(np.searchsorted(time_s, stood_s - _HARD_S)), first)
        after = slice(first, int(np.searchsorted(time_s, stood_s + _ROLL_BACK_S)))
        hard = np.max(speed[before], initial=0.0) >= _HARD_MPS2 * _HARD_S
        way = station[after]
        if hard and np.max(np.maximum.accumulate(way) - way) >= _ROLL_BACK_M:
            return True
    return False


def _gains(mapped: TrackMapping, part: slice) -> float:
    """Most of the circuit that was left out between two neighbouring fixes or where lost, in m."""
    step = np.linalg.norm(np.diff(mapped.position_m[part], axis=0), axis=1)
    forward = np.diff(mapped.station_m[part])
    excess = forward - step * 1.5
    total = np.where(mapped.lost[part][1:], excess, np.maximum(excess, 0.0))
    return float(np.max(total, initial=0.0) + np.sum(total[mapped.lost[part][1:]], initial=0.0))


def _saves(mapped: TrackMapping, part: slice) -> float:
    """Most that a stretch beside the line was shorter than the line, in m."""
    station, position = mapped.station_m[part], mapped.position_m[part]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(position, axis=0), axis=1))])
    saved = [
        (station[b] - station[a]) - (way[b] - way[a])
        for a, b in flag_runs(mapped.away[part])
        if station[b] - station[a] >= _MIN_OFF_M
    ]
    return float(max(saved, default=0.0))
