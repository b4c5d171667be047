"""
What the driver did on a run through a corner, measured at places that the drive itself gives.

Where a corner begins and ends depends on where its circuit came from, by 10 m and more; what is
worth trying must not.  So nothing here looks at a corner's ends: only at where the car was usually
slowest, where it braked, and where it had done turning.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.corners.pass_points import BRAKE_MPS2
from lapwright.geometry import Track
from lapwright.laps.lap_trace import LapTrace
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# The middle of a corner: so far about its usual slowest point, half-way to the next one at most.
_HELD_M, _MIN_HELD_M = 45.0, 10.0
_SAME_BRAKING_M = 12.0
# Turning a little, as at turn-in; a car has done turning within this distance.
_LITTLE, _LEAVING_M = 0.3, 200.0


def features(
    track: Track, table: pd.DataFrame, traces: dict[int, LapTrace], spans: pd.DataFrame
) -> dict[str, Floats]:
    """
    Measure every run.

    Parameters
    ----------
    track : Track
    table : DataFrame
        Clean passes with ``start_m``, ``slowest_m``, ``end_m``.
    traces : dict of LapTrace
        By lap number.
    spans : DataFrame
        See `lapwright.coaching.evidence.span_stations`.

    Returns
    -------
    dict of ndarray, shape (n,)
        ``middle_s``, the time through the middle of the corner; ``held_mps2``, the lateral
        acceleration held there; ``braking_m``; ``leaving_offset_m``, the offset where the car has
        usually done turning.
    """
    middles = _middles(spans, track.length_m)
    directions = {c.order: 1.0 if c.direction == "left" else -1.0 for c in track.corners}
    sign = np.array([directions[c] for c in table["corner"]])
    spent, held = np.empty(len(table)), np.empty(len(table))
    for i, (lap, corner) in enumerate(zip(table["lap"], table["corner"], strict=True)):
        trace, (low, high) = traces[int(lap)], middles[corner]
        spent[i] = float(np.ptp(trace.time_at([low, high])))
        force = np.sort(sign[i] * trace.accel_lat_mps2[trace.within(low, high)])
        # The highest quarter's mean. A car that hardly turns holds next to nothing; the share must
        # stay finite.
        held[i] = max(float(force[-max(3, len(force) // 4) :].mean()), 0.1)
    return {
        "middle_s": spent,
        "held_mps2": held,
        "braking_m": _braking(table, traces),
        "leaving_offset_m": _leaving(table, traces, sign),
    }


def _middles(spans: pd.DataFrame, length_m: float) -> dict[int, tuple[float, float]]:
    """Between which stations the middle of each corner lies."""
    slowest = spans["slowest_m"].to_numpy(dtype=np.float64)
    before, after = np.roll(slowest, 1), np.roll(slowest, -1)
    before -= length_m * (before >= slowest)
    after += length_m * (after <= slowest)
    low = np.maximum(slowest - _HELD_M, 0.5 * (before + slowest))
    high = np.minimum(slowest + _HELD_M, 0.5 * (slowest + after))
    low, high = np.minimum(low, slowest - _MIN_HELD_M), np.maximum(high, slowest + _MIN_HELD_M)
    return dict(zip(spans["corner"], zip(low, high, strict=True), strict=True))


def _braking(table: pd.DataFrame, traces: dict[int, LapTrace]) -> Floats:
    """
    Station at which the braking for each corner began, shape (n,); NaN where there was none.

    The pass's braking point, unless that belongs to another braking before the main one (a lift
    for a kink on the way): two such passes differ in what happened, not in how early it did.
    """
    out = np.full(len(table), np.nan)
    columns = (table[name] for name in ("lap", "start_m", "slowest_m", "brake_station_m"))
    for i, (lap, start, slowest, logged) in enumerate(zip(*columns, strict=True)):
        trace = traces[int(lap)]
        part = trace.within(start, slowest)
        hard = trace.accel_long_mps2[part] < BRAKE_MPS2
        brakings = flag_runs(hard)
        if not brakings:
            continue
        speed, station = trace.speed_mps[part], trace.station_m[part]
        first, last = np.array(brakings).T
        main = int(np.argmax(speed[first] - speed[last]))
        begun = float(station[first[main]])
        out[i] = logged if abs(logged - begun) < _SAME_BRAKING_M else begun
    return out


def _leaving(table: pd.DataFrame, traces: dict[int, LapTrace], sign: Floats) -> Floats:
    """Offset, shape (n,), at the place where the car has usually done turning. [m]."""
    done, out = np.empty(len(table)), np.empty(len(table))
    columns = (table[name] for name in ("lap", "slowest_m", "end_m"))
    for i, (lap, slowest, end) in enumerate(zip(*columns, strict=True)):
        trace, until = traces[int(lap)], min(end, slowest + _LEAVING_M)
        part = trace.within(slowest, until)
        bend = sign[i] * trace.accel_lat_mps2[part] / np.maximum(trace.speed_mps[part], 1.0) ** 2
        most = int(np.argmax(bend)) if len(bend) else 0
        little = np.flatnonzero(bend[most:] < _LITTLE * bend[most]) if len(bend) else bend
        done[i] = trace.station_m[part][most + int(little[0])] if len(little) else until
    usual = pd.Series(done).groupby(table["corner"].to_numpy()).transform("median").to_numpy()
    for i, lap in enumerate(table["lap"]):
        out[i] = traces[int(lap)].at_station("offset_m", usual[i])
    return out
