"""
Pit stops: how long a car was in the pit lane, and how long it stood.

Where the circuit's pit lane is known, drawn or found, the time in it counts from one end of it to
the other; else from where the car left its usual line to where it came back to it.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty
from lapwright.columns.race import PIT_STOPS
from lapwright.geometry import Gate, Track, crossings
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.laps.gaps import gaps
from lapwright.laps.track_mapping import TrackMapping
from lapwright.motion import Motion
from lapwright.race.speed_levels import (
    BACK_TO_REST,
    HIGH_MPS,
    LOW_MPS,
    Moments,
    edge_sd_s,
    rest_edge,
)

Floats = npt.NDArray[np.float64]

# Across the lane and the car's way into it, not across the circuit's next leg.
_GATE_M = 30.0
# The ends of the lane lie near where the car leaves its usual line, or they are of another lane.
_NEAR_S = 20.0
# The direction of a lane at its end, over about a fix or two of a slow car.
_DIRECTION_M = 15.0
# A smoothed motion goes into a standstill and out of it a part of its own error too late and too
# early. Measured on simulated stops of a receiver without velocity, see the tests; no source.
_ROUNDED_SHARE = 0.5


def pit_stops(
    track: Track, motion: Motion, mapped: TrackMapping, pits: tuple[PitStretch, ...],
    laps: pd.DataFrame,
) -> pd.DataFrame:  # fmt: skip
    """
    Time the visits to the pit lane that begin and end on the track.

    Parameters
    ----------
    track : Track
        Where this session's receiver saw it.
    motion : Motion
    mapped : TrackMapping
    pits : tuple of PitStretch
    laps : DataFrame
        See `lapwright.laps.lap_table`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.race.PIT_STOPS`; one row a visit.
    """
    inner = [p for p in pits if p.start_s > motion.start_s and p.end_s < motion.end_s]
    ends = _lane_ends(track)
    rows = [_stop(motion, mapped, pit, ends, laps) for pit in inner]
    return arranged(pd.DataFrame(rows), PIT_STOPS) if rows else empty(PIT_STOPS)


def _stop(
    motion: Motion, mapped: TrackMapping, pit: PitStretch, ends: tuple[Gate, Gate] | None,
    laps: pd.DataFrame,
) -> dict[str, object]:  # fmt: skip
    lane = None if ends is None else _through(motion, pit, ends)
    known = lane is not None
    edges = _off_the_line(motion, mapped, pit) if lane is None else lane
    errors = time_errors(motion, edges.time_s, edges.weights).combined(np.array([[-1.0, 1.0]]))
    within = laps[(laps["start_s"] <= pit.start_s) & (laps["end_s"] >= pit.start_s)]
    standing_s, standing_sd_s = _standing(motion, mapped, pit)
    return {
        "lap": int(within["lap"].iloc[-1]) if len(within) else -1,
        "start_s": float(edges.time_s[0]),
        "lane_s": float(edges.time_s[1] - edges.time_s[0]),
        "lane_sd_s": float(errors.sd[0]),
        "lane_known": known,
        "standing_s": standing_s,
        "standing_sd_s": standing_sd_s,
    }


def _lane_ends(track: Track) -> tuple[Gate, Gate] | None:
    """Lines square to the pit lane at its two ends."""
    lane = track.pit_lane
    if lane is None:
        return None
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(lane, axis=0).T))])
    short = min(_DIRECTION_M, 0.5 * float(way[-1]))
    inner = [
        np.array([np.interp(at, way, axis) for axis in lane.T])
        for at in (short, float(way[-1]) - short)
    ]
    if not short > 0.0:
        return None
    first, last = inner[0] - lane[0], lane[-1] - inner[1]
    return _across(lane[0], first), _across(lane[-1], last)


def _across(centre_m: Floats, way_m: Floats) -> Gate:
    heading = float(np.arctan2(way_m[1], way_m[0]))
    return Gate.across((float(centre_m[0]), float(centre_m[1])), heading, _GATE_M)


def _through(motion: Motion, pit: PitStretch, ends: tuple[Gate, Gate]) -> Moments | None:
    """When the car passed the two ends of the lane, or None where it did not."""
    times = []
    for gate, near_s in zip(ends, (pit.start_s, pit.end_s), strict=True):
        table = crossings(gate, motion)
        found = table.loc[table["forward"], "time_s"].to_numpy()
        found = found[np.abs(found - near_s) < _NEAR_S]
        if not len(found):
            return None
        times.append(float(found[np.argmin(np.abs(found - near_s))]))
    if not times[0] < pit.stop_s < times[1]:
        return None
    moments = np.array(times)
    normals = np.array([gate.forward for gate in ends])
    return Moments(moments, crossing_weights(motion, moments, normals))


def _off_the_line(motion: Motion, mapped: TrackMapping, pit: PitStretch) -> Moments:
    """When the car left its usual line and came back to it; an error sideways shifts both."""
    moments = np.array([pit.start_s, pit.end_s])
    state = motion.at(moments)
    station = mapped.station_at(moments)
    heading = mapped.path.at(station).heading_rad
    left = np.stack([-np.sin(heading), np.cos(heading)], axis=1)
    rate = np.einsum("kj,kj->k", state.velocity_mps, left)
    outwards = left * np.where(rate < 0.0, -1.0, 1.0)[:, None]
    return Moments(moments, crossing_weights(motion, moments, outwards))


def _standing(motion: Motion, mapped: TrackMapping, pit: PitStretch) -> tuple[float, float]:
    """How long the longest standstill lasted; zero, for sure, where the car drove through."""
    if not pit.stands:
        slowest = float(mapped.speed_mps[mapped.between(pit.start_s, pit.end_s)].min())
        if slowest > HIGH_MPS:
            return 0.0, 0.0
        # A crawl: a stop that the receiver does not resolve looks the same.
        if slowest > LOW_MPS:
            return np.nan, np.nan
    begin, end = (rest_edge(motion, mapped, pit.stop_s, leaves=leaves) for leaves in (False, True))
    if not (len(begin.time_s) and len(end.time_s)):
        return np.nan, np.nan
    both = begin.and_(end)
    if len(gaps(mapped, float(both.time_s.min()), float(both.time_s.max()))):
        return np.nan, np.nan
    picks = np.zeros((3, 4))
    picks[0, :2], picks[0, 2:] = -BACK_TO_REST, BACK_TO_REST
    picks[1, :2], picks[2, 2:] = BACK_TO_REST, BACK_TO_REST
    sds = time_errors(motion, both.time_s, both.weights).combined(picks).sd
    # What is rounded off at the two ends makes the stop look shorter at both, so it adds up.
    rounded_s = 2.0 * edge_sd_s(mapped) + _ROUNDED_SHARE * (sds[1] + sds[2])
    return float(picks[0] @ both.time_s), float(np.hypot(sds[0], rounded_s))
