"""The table of passes: every lap's way through every corner, with its error bars."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import empty, names
from lapwright.columns.corners import CORNERS, PASSES
from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pass_points import PassPoints, find_points
from lapwright.corners.place_weights import level_place_weights
from lapwright.corners.slow_point import pass_windows
from lapwright.geometry import Corner, Track
from lapwright.laps.cutting.line_passages import crossing_weights
from lapwright.laps.lap_trace import LapTrace
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# A car that turns less than this goes straight on, on a radius of 1000 km.
_STRAIGHT_PER_M = 1e-6
# Where the acceleration passes a level, and which way: falling at the brakes.
POINT_SLOPES = {"brake_sd_m": -1.0, "throttle_sd_m": 1.0}


def corner_table(track: Track) -> pd.DataFrame:
    """
    The corners of a track.

    Parameters
    ----------
    track : Track

    Returns
    -------
    DataFrame
        See `lapwright.columns.corners.CORNERS`.
    """
    rows = []
    for c in track.corners:
        lat, lon = track.apex_deg(c)
        rows.append(
            (c.order, c.name, c.direction, c.entry_m, c.apex_m, c.exit_m, c.radius_m, lat, lon)
        )
    return pd.DataFrame(rows, columns=names(CORNERS)) if rows else empty(CORNERS)


def corner_passes(
    track: Track, traces: list[LapTrace], brake: Channel | None, throttle: Channel | None
) -> pd.DataFrame:
    """
    All passes of all traced laps, without error bars.

    Parameters
    ----------
    track : Track
        With corners.
    traces : list of LapTrace
    brake, throttle : Channel or None

    Returns
    -------
    DataFrame
        One row a lap and corner; stations from the line, NaN where a thing did not happen.
        Without a pass, all columns of `lapwright.Session.passes` and no row.
    """
    rows: list[dict[str, object]] = []
    for trace in traces:
        for k, corner in enumerate(track.corners):
            row = _pass(track, trace, k, corner, brake, throttle)
            if row is not None:
                rows.append(row)
    return pd.DataFrame(rows) if rows else empty(PASSES)


def with_error_bars(track: Track, motion: Motion, passes: pd.DataFrame) -> pd.DataFrame:
    """
    Add to passes how sure they are, and where on earth they were slowest and braked.

    Parameters
    ----------
    track : Track
    motion : Motion
    passes : DataFrame
        See `corner_passes`.

    Returns
    -------
    DataFrame
    """
    if passes.empty:
        return empty(PASSES)
    return _with_places(track, motion, _with_sds(track, motion, passes))


def point_sds(motion: Motion, passes: pd.DataFrame, name: str) -> Floats:
    """
    Work out the error bars of braking or throttle points alone; the same as in the whole table.

    Parameters
    ----------
    motion : Motion
    passes : DataFrame
        See `corner_passes`.
    name : {"brake_sd_m", "throttle_sd_m"}

    Returns
    -------
    ndarray, shape (n,)
        NaN where there is no such point. [m]
    """
    moment = _point_moments(motion, passes, name)
    sd = motion.sds(moment, level_place_weights(motion, moment, POINT_SLOPES[name]))
    return np.where(passes[_point_column(name)].notna(), sd, np.nan)


def _point_column(name: str) -> str:
    return name.replace("_sd_m", "_s")


def _point_moments(motion: Motion, passes: pd.DataFrame, name: str) -> Floats:
    """When the driver braked or picked up the throttle; any moment of the pass where not at all."""
    moment = passes[_point_column(name)].fillna(passes["entry_s"]).to_numpy(dtype=np.float64)
    return np.asarray(np.clip(moment, motion.start_s, motion.end_s))


def _pass(
    track: Track, trace: LapTrace, k: int, corner: Corner, brake: Channel | None,
    throttle: Channel | None,
) -> dict[str, object] | None:  # fmt: skip
    corners, length = track.corners, track.length_m
    before, after = corners[k - 1], corners[(k + 1) % len(corners)]
    windows = pass_windows(corner, before, after, length)
    back = before.apex_m - (length if before.apex_m >= corner.apex_m else 0.0)
    front = after.apex_m + (length if after.apex_m <= corner.apex_m else 0.0)
    points = find_points(trace, corner, windows, back, front, brake, throttle)
    if points is None:
        return None
    where_s = points.slowest_s
    if where_s is not None and not trace.start_s <= where_s <= trace.end_s:
        return None
    return {"lap": trace.lap, "corner": corner.order, **_measures(trace, corner, points)}


def _station(trace: LapTrace, time_s: float | None) -> float:
    if time_s is None or not trace.time_s[0] <= time_s <= trace.time_s[-1]:
        return np.nan
    return float(np.interp(time_s, trace.time_s, trace.station_m))


def _measures(trace: LapTrace, corner: Corner, points: PassPoints) -> dict[str, object]:
    entry, apex, exit_ = corner.entry_m, corner.apex_m, corner.exit_m
    speed = trace.at_station("speed_mps", [entry, exit_])
    offset = trace.at_station("offset_m", [apex, exit_])
    ends = trace.time_at([entry, exit_])
    turning = trace.within(entry, exit_)
    lateral = np.abs(trace.accel_lat_mps2[turning])
    brake_station = _station(trace, points.brake_s)
    turn_in = _station(trace, points.turn_in_s)
    return {
        "flat": points.flat,
        "entry_speed_mps": float(speed[0]),
        **_slowest(trace, points),
        "exit_speed_mps": float(speed[1]),
        "lift_s": np.nan if points.lift_s is None else points.lift_s,
        "lift_station_m": _station(trace, points.lift_s),
        "brake_s": np.nan if points.brake_s is None else points.brake_s,
        "brake_station_m": brake_station,
        "brake_to_corner_m": entry - brake_station,
        "brake_source": points.brake_source,
        "turn_in_station_m": turn_in,
        "turn_in_offset_m": float(np.interp(turn_in, trace.station_m, trace.offset_m)),
        "throttle_s": np.nan if points.throttle_s is None else points.throttle_s,
        "throttle_station_m": _station(trace, points.throttle_s),
        "throttle_source": points.throttle_source,
        "entry_s": float(ends[0]),
        "exit_s": float(ends[1]),
        "time_s": float(ends[1] - ends[0]),
        "apex_offset_m": float(offset[0]),
        "exit_offset_m": float(offset[1]),
        "peak_lateral_mps2": float(np.max(lateral, initial=0.0)),
    }


def _slowest(trace: LapTrace, points: PassPoints) -> dict[str, float]:
    """What belongs to the slow point; without one the car neither slowed nor braked for it."""
    if points.slowest_s is None or points.top_s is None:
        names = ("min_speed_mps", "min_speed_s", "min_speed_station_m", "radius_driven_m")
        return {**dict.fromkeys(names, np.nan), "peak_decel_mps2": 0.0}
    slow = int(np.searchsorted(trace.time_s, points.slowest_s))
    begin = points.top_s if points.brake_s is None else points.brake_s
    braking = slice(int(np.searchsorted(trace.time_s, begin)), slow + 1)
    # How tightly the car turned where it was slowest: the radius its tyres had to hold there.
    bend = abs(float(trace.accel_lat_mps2[slow])) / max(float(trace.speed_mps[slow]), 1.0) ** 2
    return {
        "min_speed_mps": float(trace.speed_mps[slow]),
        "min_speed_s": points.slowest_s,
        "min_speed_station_m": float(trace.station_m[slow]),
        "radius_driven_m": 1.0 / max(bend, _STRAIGHT_PER_M),
        "peak_decel_mps2": float(np.max(-trace.accel_long_mps2[braking], initial=0.0)),
    }


def _with_sds(track: Track, motion: Motion, table: pd.DataFrame) -> pd.DataFrame:
    """Add standard deviations."""
    return table.assign(**_sds(track, motion, table))


def _sds(track: Track, motion: Motion, table: pd.DataFrame) -> dict[str, Floats]:
    """Standard deviations of passes: none needs to know of another."""
    slowed = table["min_speed_s"].notna()
    # Of no slow point nothing is worked out; any moment of the pass stands in for it.
    slow = table["min_speed_s"].fillna(table["entry_s"]).to_numpy()
    speed_rows = np.zeros((len(table), 6))
    speed_rows[:, 2:4] = motion.at(slow).direction
    points = {name: _point_moments(motion, table, name) for name in POINT_SLOPES}
    rows = [level_place_weights(motion, t, POINT_SLOPES[name]) for name, t in points.items()]
    sd = motion.sds(np.concatenate([slow, *points.values()]), np.concatenate([speed_rows, *rows]))
    speed, brake, throttle = sd.reshape(3, -1)
    return {
        "min_speed_sd_mps": np.where(slowed, speed, np.nan),
        "time_sd_s": _spent_sds(track, motion, table),
        "brake_sd_m": np.where(table["brake_s"].notna(), brake, np.nan),
        "throttle_sd_m": np.where(table["throttle_s"].notna(), throttle, np.nan),
    }


def _spent_sds(track: Track, motion: Motion, table: pd.DataFrame) -> Floats:
    """Of the times from entry to exit: by both positions, and by the rate of the log's clock."""
    normals = {c.order: _normals(track, c) for c in track.corners}
    moments, rows = [], []
    for k, (name, sign) in enumerate((("entry_s", -1.0), ("exit_s", 1.0))):
        normal = np.array([normals[c][k] for c in table["corner"]])
        moments.append(np.clip(table[name].to_numpy(), motion.start_s, motion.end_s))
        rows.append(sign * crossing_weights(motion, moments[-1], normal))
    # The clock's errors in both are one and the same rate.
    clock = (motion.clock_rate_sd * (moments[1] - moments[0])) ** 2
    both = np.stack(moments, axis=1), np.stack(rows, axis=1)
    return motion.sds(*both, more_variance=clock)


def _normals(track: Track, corner: Corner) -> Floats:
    path = track.path
    assert path is not None
    heading = path.at(np.mod([corner.entry_m, corner.exit_m], track.length_m)).heading_rad
    return np.stack([np.cos(heading), np.sin(heading)], axis=-1)


def _with_places(track: Track, motion: Motion, table: pd.DataFrame) -> pd.DataFrame:
    """Add latitude and longitude of the slowest point and of the braking point."""
    out = table
    for name, prefix in (("min_speed_s", "min_speed"), ("brake_s", "brake")):
        moment = table[name].to_numpy(dtype=np.float64)
        there = np.isfinite(moment)
        lat, lon = np.full(len(table), np.nan), np.full(len(table), np.nan)
        if there.any():
            position = motion.at(moment[there]).position_m
            lat[there], lon[there] = track.plane.to_degrees(position[:, 0], position[:, 1])
        out = out.assign(**{f"{prefix}_lat_deg": lat, f"{prefix}_lon_deg": lon})
    return out
