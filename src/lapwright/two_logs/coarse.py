"""
Roughly when one log began after another, by speed and heading rate alone.

Laps are alike, so a correlation has a peak a lap apart; what tells the right one is how little is
left of the difference there.  So for every shift the mean square of the difference is worked out
over what both logs have, all shifts at once by Fourier transform.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Fine enough for a braking to be seen, coarse enough for a phone at one fix a second. [s]
STEP_S = 0.25
# Both logs have so much at least. [s]
MIN_OVERLAP_S = 60.0
# Slower than this a heading is the receiver's noise. [m/s]
_HEADING_MPS = 5.0
# What a difference of one speed and of one heading rate weighs: about what two receivers differ by.
_SPEED_MPS, _RATE_RADPS = 0.5, 0.05
# Two minima nearer than this are one. [s]
_APART_S = 5.0


@dataclass(frozen=True, eq=False)
class Rough:
    """
    A motion on an even grid.

    Attributes
    ----------
    start_s : float
        Time of the first.
    speed_mps, rate_radps : ndarray, shape (n,)
        Speed, and heading rate.
    known : ndarray of bool, shape (n,)
        Where the log has fixes nearby.
    turning : ndarray of bool, shape (n,)
        Where the heading rate is known too.
    """

    start_s: float
    speed_mps: Floats
    rate_radps: Floats
    known: Flags
    turning: Flags


def rough(motion: Motion) -> Rough:
    """Put a motion on an even grid."""
    time_s = np.arange(motion.start_s, motion.end_s, STEP_S)
    state = motion.at(time_s)
    speed = state.speed_mps
    fixes = motion.fix_time_s
    i = np.clip(np.searchsorted(fixes, time_s), 1, len(fixes) - 1)
    known = fixes[i] - fixes[i - 1] <= max(2.5 * float(np.median(np.diff(fixes))), 0.5)
    turning = known & (speed > _HEADING_MPS)
    rate = state.accel_lat_mps2 / np.maximum(speed, _HEADING_MPS)
    return Rough(motion.start_s, speed, np.where(turning, rate, 0.0), known, turning)


def candidates(one: Rough, other: Rough, count: int = 3) -> list[tuple[float, float]]:
    """
    Find the shifts at which two motions differ least.

    Parameters
    ----------
    one, other : Rough
    count : int

    Returns
    -------
    list of (offset_s, misfit)
        The best first: time of the other less time of the one, and the mean square of the
        differences, 1 where they differ as two receivers do.  Empty where no shift leaves enough
        that both have.
    """
    moving = [r.known & (r.speed_mps > _HEADING_MPS) for r in (one, other)]
    squares, pairs = _sums(one.speed_mps / _SPEED_MPS, one.known, other.speed_mps / _SPEED_MPS,
                           other.known)  # fmt: skip
    turned, turns = _sums(one.rate_radps / _RATE_RADPS, one.turning,
                          other.rate_radps / _RATE_RADPS, other.turning)  # fmt: skip
    ones = [m.astype(np.float64) for m in moving]
    driven = _correlated(*ones)
    enough = driven * STEP_S >= MIN_OVERLAP_S
    misfit = np.full(len(squares), np.inf)
    misfit[enough] = 0.5 * (
        squares[enough] / pairs[enough] + turned[enough] / np.maximum(turns[enough], 1.0)
    )
    lag = (np.arange(len(squares)) - (len(one.speed_mps) - 1)) * STEP_S
    found: list[tuple[float, float]] = []
    left = misfit.copy()
    while len(found) < count and np.isfinite(left.min()):
        k = int(np.argmin(left))
        shift = lag[k] + _vertex(misfit, k) * STEP_S
        found.append((float(shift + other.start_s - one.start_s), float(misfit[k])))
        left[np.abs(lag - lag[k]) < _APART_S] = np.inf
    return found


def _sums(a: Floats, known_a: Flags, b: Floats, known_b: Flags) -> tuple[Floats, Floats]:
    """Sum of the squared differences, and number of pairs, for every shift of b against a."""
    ma, mb = known_a.astype(np.float64), known_b.astype(np.float64)
    a, b = a * ma, b * mb
    squares = _correlated(a**2, mb) + _correlated(ma, b**2) - 2.0 * _correlated(a, b)
    return np.maximum(squares, 0.0), np.maximum(np.rint(_correlated(ma, mb)), 1.0)


def _correlated(a: Floats, b: Floats) -> Floats:
    """Sum over i of a[i] b[i + lag] for lags from 1 - len(a) to len(b) - 1."""
    total = len(a) + len(b) - 1
    size = 1 << (total - 1).bit_length()
    product = np.fft.rfft(b, size) * np.fft.rfft(a[::-1], size)
    return np.fft.irfft(product, size)[:total]


def _vertex(values: Floats, k: int) -> float:
    """Where the parabola through a minimum and its neighbours is lowest, in steps from it."""
    if not 0 < k < len(values) - 1 or not np.isfinite(values[[k - 1, k + 1]]).all():
        return 0.0
    before, here, after = values[k - 1 : k + 2]
    bend = before - 2.0 * here + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend > 0.0 else 0.0
