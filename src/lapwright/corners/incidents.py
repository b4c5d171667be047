"""Where in a session the car was off or turned round: corners nothing is advised for."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.geometry import Corner
from lapwright.laps.track_mapping import TrackMapping
from lapwright.numerics.cyclic import distance_ahead

Floats = npt.NDArray[np.float64]

TROUBLE = frozenset({"spin", "off_path", "reversed", "stop"})
# Going across or against the way: less than this share of what is driven leads forward.
_ACROSS = 0.5
# From 40 m/s a car that slides at 5 m/s2 needs 160 m to stop: v^2 / 2a.
_SLIDE_M = 150.0


def incident_stations(mapped: TrackMapping, laps: pd.DataFrame) -> Floats:
    """
    Stations at which the car was beside the track, across it, or stood on it.

    Parameters
    ----------
    mapped : TrackMapping
    laps : DataFrame
        See `lapwright.laps.lap_table`; only laps with a flag of trouble are searched.

    Returns
    -------
    ndarray, shape (k,)
        In [0, length). [m]
    """
    found = []
    for flags, start, end in zip(laps["flags"], laps["start_s"], laps["end_s"], strict=True):
        if TROUBLE.isdisjoint(flags):
            continue
        part = mapped.between(start, end)
        bad = np.zeros(part.stop - part.start, dtype=bool)
        if "off_path" in flags:
            bad |= mapped.away[part]
        if {"spin", "reversed"} & set(flags):
            step = np.linalg.norm(np.diff(mapped.position_m[part], axis=0), axis=1)
            forward = np.diff(mapped.station_m[part])
            # Noise at walking pace turns no car round: a tenth of a second at 2 m/s at least.
            bad[1:] |= (forward < _ACROSS * step) & (step > 0.2)
        if {"spin", "stop"} & set(flags):
            bad |= mapped.standing[part]
        found.append(mapped.station_m[part][bad])
    if not found:
        return np.zeros(0)
    return np.asarray(np.mod(np.concatenate(found), mapped.path.length_m))


def corners_with_incidents(
    corners: Sequence[Corner], spans: pd.DataFrame, station_m: Floats, length_m: float
) -> tuple[int, ...]:
    """
    Corners to which spins and offs belong.

    Parameters
    ----------
    corners : sequence of Corner
    spans : DataFrame
        See `Evidence.spans`.
    station_m : ndarray, shape (k,)
        Where the car was off or turned round. [m]
    length_m : float

    Returns
    -------
    tuple of int
        Orders of the corners between whose braking and the next one's braking they happened, or
        which the car had left less than 150 m before: a spin ends well behind where it began.
    """
    out = []
    starts = spans.set_index("corner")["start_m"]
    for k, corner in enumerate(corners):
        if corner.order not in starts.index:
            continue
        after = corners[(k + 1) % len(corners)]
        start = float(starts[corner.order])
        end = float(starts.get(after.order, after.entry_m))
        reach = float(distance_ahead(end, start, length_m)) or length_m
        reach = max(reach, float(distance_ahead(corner.exit_m, start, length_m)) + _SLIDE_M)
        if (distance_ahead(station_m, start, length_m) < reach).any():
            out.append(corner.order)
    return tuple(out)
