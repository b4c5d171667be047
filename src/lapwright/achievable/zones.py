"""
Where a usual lap is slowest and quickest: the corners, braking zones and straights of the envelope.

They come from the speed alone, not from where corners are said to begin and end.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.achievable.usual_line import UsualLine

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A dip of the usual speed by less may be a gear change or noise. Common practice, no source. [m/s]
_CLEAR_MPS = 1.0
# The cornering of a corner is a mean over so long, or it would be noise. [s]
_HELD_S = 0.4
# It is looked for so far on either side of the slowest place, in windows.
_REACH = 2


@dataclass(frozen=True, eq=False)
class Zones:
    """
    The k places where the usual lap is slowest, and the zones between.

    Attributes
    ----------
    slow : ndarray of int, shape (k,)
        Step of each slowest place.
    fast : ndarray of int, shape (k,)
        The quickest before each, counted from the lap's begin: negative before the line.
    held, width : ndarray of int, shape (k,)
        First step and number of steps of where the cornering is highest about each slowest place.
    """

    slow: Ints
    fast: Ints
    held: Ints
    width: Ints

    def __len__(self) -> int:
        return len(self.slow)

    def held_speed(self, step_m: Floats, step_s: Floats) -> Floats:
        """
        Mean speed where the cornering is highest.

        Parameters
        ----------
        step_m : ndarray, shape (n,) or (m, n)
            Way in each step.
        step_s : ndarray, shape (m, n)

        Returns
        -------
        ndarray, shape (m, k)
            [m/s]
        """
        return np.asarray(self._over(np.atleast_2d(step_m)) / self._over(step_s))

    def _over(self, values: Floats) -> Floats:
        """Sums over the windows, (m, n) to (m, k)."""
        return np.asarray(_window_sums(values, self.held, self.width))


def _window_sums(values: Floats, first: Ints, width: Ints) -> Floats:
    """Sums of some steps from `first` on, round the lap where need be; (m, n) to (m, k)."""
    count = values.shape[1]
    total = np.concatenate([np.zeros((len(values), 1)), values.cumsum(axis=1)], axis=1)

    def until(step: Ints) -> Floats:
        turns, rest = np.divmod(step, count)
        return np.asarray(total[:, rest] + turns * total[:, -1:])

    return until(first + width) - until(first)


def find_zones(line: UsualLine) -> Zones:
    """
    Find where the usual lap is slowest and quickest.

    Parameters
    ----------
    line : UsualLine

    Returns
    -------
    Zones
        None at all where the speed hardly changes.
    """
    speed = line.step_m / line.usual_step_s
    count = len(speed)
    slow = _dips(speed)
    if not len(slow):
        return Zones(slow, slow, slow, slow)
    thrice = np.tile(speed, 3)
    before = np.concatenate([slow[-1:] - count, slow[:-1]])
    fast = [
        a + int(np.argmax(thrice[a + count : b + count + 1]))
        for a, b in zip(before.tolist(), slow.tolist(), strict=True)
    ]
    width = np.maximum(np.round(_HELD_S / line.usual_step_s[slow]).astype(np.int64), 1)
    across = line.accel_lat_mps2.mean(axis=0)[None]
    held = [
        _most_held(across, int(s), int(w))
        for s, w in zip(slow.tolist(), width.tolist(), strict=True)
    ]
    return Zones(slow, np.array(fast, dtype=np.int64), np.array(held, dtype=np.int64), width)


def _most_held(across: Floats, slow: int, width: int) -> int:
    """Where the window begins in which the usual cornering about a slowest place is highest."""
    first = np.arange(slow - (_REACH + 1) * width, slow + _REACH * width + 1)
    sums = np.abs(_window_sums(across, first, np.full_like(first, width))[0])
    return int(first[np.argmax(sums)])


def _dips(speed: Floats) -> Ints:
    """Where a closed lap is slowest between two places that are clearly quicker."""
    count = len(speed)
    start = int(np.argmax(speed))
    low, high, found = np.inf, float(speed[start]), []
    at, falling = 0, True
    for i, v in enumerate([*np.roll(speed, -start).tolist(), float(speed[start])]):
        if falling:
            if v < low:
                low, at = v, i
            # It only counts as slow once it was clearly quicker before and is so again.
            if v > low + _CLEAR_MPS and high > low + _CLEAR_MPS:
                found.append((at + start) % count)
                falling, high = False, v
            elif v > high:
                low, high = np.inf, v
        elif v > high:
            high = v
        elif v < high - _CLEAR_MPS:
            falling, low, at = True, v, i
    return np.array(sorted(found), dtype=np.int64)
