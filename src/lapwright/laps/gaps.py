"""
Holes in a log: where fixes are missing for so long that something may have gone unseen.

A hole costs a lap its standing only for what it makes unsure.  Where the motion model knows the
car's place in the middle of it to a fraction of the track's width, the car cannot have left the
track or cut it short, and the hole is bridged: the lap counts, and only figures inside the hole
are wider, or absent.
"""

import numpy as np
import numpy.typing as npt

from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# A hole this long, and of so many steps of a slow receiver, hides a braking or a line.
_GAP_S, _GAP_STEPS = 1.0, 5.0
# A car whose place is known to about its own width has not left the track unseen.
_BRIDGED_SD_M = 2.0
# A lap that is unsure by more than this share cannot be ranked: 0.1 s on a lap of 100 s.
# Common practice, no source.
_UNSURE_SHARE = 0.001


def gaps(mapped: TrackMapping, start_s: float, end_s: float) -> Floats:
    """
    Find the holes between two times.

    Parameters
    ----------
    mapped : TrackMapping
    start_s, end_s : float

    Returns
    -------
    ndarray, shape (k, 2)
        Begin and end of each. [s]
    """
    part = mapped.between(start_s, end_s)
    edges = np.concatenate([[start_s], mapped.time_s[part], [end_s]])
    wide = np.flatnonzero(np.diff(edges) > max(_GAP_S, _GAP_STEPS * mapped.usual_step_s))
    return np.stack([edges[wide], edges[wide + 1]], axis=1)


def are_bridged(motion: Motion, holes: Floats, time_s: float, time_sd_s: float) -> bool:
    """
    Whether a lap counts although its log has holes.

    Parameters
    ----------
    motion : Motion
    holes : ndarray, shape (k, 2)
        See `gaps`. [s]
    time_s, time_sd_s : float
        The lap's time and its error bar.

    Returns
    -------
    bool
        True where the car's place is known all through, and so is the lap time.
    """
    if not time_sd_s <= _UNSURE_SHARE * time_s:
        return False
    middle = np.repeat(holes.mean(axis=1), 2)
    along_axes = np.tile(np.eye(6)[:2], (len(holes), 1))
    return bool((motion.posterior(middle, along_axes).sd < _BRIDGED_SD_M).all())
