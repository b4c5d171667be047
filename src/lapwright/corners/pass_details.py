"""Of a pass: the error bars that need its laps' traces, and how far off the usual line it was."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty, records
from lapwright.columns.corners import PASSES
from lapwright.corners.place_weights import AROUND_S, MIN_JERK_MPS3, level_place_weights
from lapwright.geometry import Track
from lapwright.laps.lap_trace import LapTrace
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

POINTS = ("turn_in", "apex", "exit")
_MOTION_SDS = (
    "entry_speed_sd_mps",
    "exit_speed_sd_mps",
    "peak_decel_sd_mps2",
    "peak_lateral_sd_mps2",
    "min_speed_station_sd_m",
)
# Of fewer clean laps there is no line that is usual.
_MIN_LINES = 2
# So long before the slowest point the car is not yet braking for it.
_RUN_UP_S = 20.0


def with_details(
    track: Track, motion: Motion, traces: Mapping[int, LapTrace], clean: Sequence[int],
    passes: pd.DataFrame,
) -> pd.DataFrame:  # fmt: skip
    """
    Complete the table of passes.

    Parameters
    ----------
    track : Track
    motion : Motion
    traces : mapping of int to LapTrace
        Of every lap in `passes`.
    clean : sequence of int
        Clean laps.
    passes : DataFrame
        See `lapwright.corners.pass_table.with_error_bars`.

    Returns
    -------
    DataFrame
        With the columns of `lapwright.columns.corners.PASSES`.
    """
    if passes.empty:
        return empty(PASSES)
    more = pass_details(track, motion, traces, clean, passes).drop(columns=["lap", "corner"])
    return arranged(pd.concat([passes, more], axis=1), PASSES)


def usual_offset(traces: Mapping[int, LapTrace], clean: Sequence[int], s: Floats) -> Floats:
    """
    Where the usual line is: the middle of the clean laps, place by place.

    Parameters
    ----------
    traces : mapping of int to LapTrace
    clean : sequence of int
    s : ndarray, shape (k,)
        Stations. [m]

    Returns
    -------
    ndarray, shape (k,)
        Offset from the reference path, positive to the left; NaN where there are too few laps.
        What shifts all fixes of a session against the path shifts this as well. [m]
    """
    if len(clean) < _MIN_LINES:
        return np.full(np.shape(s), np.nan)
    offsets = np.stack([traces[int(n)].at_station("offset_m", s) for n in clean])
    return np.asarray(np.median(offsets, axis=0))


def pass_details(
    track: Track, motion: Motion, traces: Mapping[int, LapTrace], clean: Sequence[int],
    passes: pd.DataFrame,
) -> pd.DataFrame:  # fmt: skip
    """
    Work out the error bars of speeds and accelerations, and how far off the usual line a pass was.

    Parameters
    ----------
    track : Track
    motion : Motion
    traces : mapping of int to LapTrace
        Of every lap in `passes`.
    clean : sequence of int
        Clean laps.
    passes : DataFrame
        See `lapwright.corners.pass_table.with_error_bars`; with rows.

    Returns
    -------
    DataFrame
        ``lap``, ``corner``; ``entry_speed_sd_mps``, ``exit_speed_sd_mps``, ``peak_decel_sd_mps2``,
        ``peak_lateral_sd_mps2``, ``min_speed_station_sd_m``, ``turn_in_station_sd_m``,
        ``radius_driven_sd_m``; ``turn_in_aside_m``, ``apex_aside_m``, ``exit_aside_m``, positive
        to the left, and ``turn_in_aside_sd_m`` and so on.  The error bars are the posterior's at
        the moment in question.
    """
    out = passes[["lap", "corner"]].copy()
    entry, exit_ = (_moments(passes[name]) for name in ("entry_s", "exit_s"))
    brake, side = peaks(traces, passes)
    moments = np.stack([entry, exit_, brake, side, _moments(passes["min_speed_s"])])
    for name, sd in zip(_MOTION_SDS, _motion_sds(motion, moments), strict=True):
        out[name] = sd
    out["turn_in_station_sd_m"] = _turn_in_sd(motion, traces, passes)
    out["radius_driven_sd_m"] = _radius_sd(motion, passes)
    corners = {c.order: c for c in track.corners}
    apex, leave = (
        np.array([getattr(corners[c], f"{n}_m") for c in passes["corner"]]) for n in POINTS[1:]
    )
    stations = dict(zip(POINTS, (_moments(passes["turn_in_station_m"]), apex, leave), strict=True))
    for name, station in stations.items():
        aside, sd = _asides(track, motion, traces, clean, passes, station)
        out[f"{name}_aside_m"], out[f"{name}_aside_sd_m"] = aside, sd
    return out


def _moments(column: "pd.Series[float]") -> Floats:
    return np.asarray(column, dtype=np.float64)


def peaks(traces: Mapping[int, LapTrace], passes: pd.DataFrame) -> tuple[Floats, Floats]:
    """
    When the car braked and turned hardest.

    Parameters
    ----------
    traces : mapping of int to LapTrace
    passes : DataFrame

    Returns
    -------
    brake_s, side_s : ndarray, shape (n,)
        On the session's clock; NaN where the car did not brake. [s]
    """
    brake, side = np.full(len(passes), np.nan), np.full(len(passes), np.nan)
    for k, row in enumerate(records(passes)):
        trace, slow = traces[row["lap"]], row["min_speed_s"]
        if row["peak_decel_mps2"] > 0.0:
            part = slice(*np.searchsorted(trace.time_s, [slow - _RUN_UP_S, slow + 1e-9]))
            # The last moment at which it was as hard as the table says.
            away = np.abs(-trace.accel_long_mps2[part] - row["peak_decel_mps2"])
            brake[k] = trace.time_s[part][::-1][int(np.argmin(away[::-1]))]
        turning = trace.within(
            *np.interp([row["entry_s"], row["exit_s"]], trace.time_s, trace.station_m)
        )
        if turning.stop > turning.start:
            hardest = turning.start + int(np.argmax(np.abs(trace.accel_lat_mps2[turning])))
            side[k] = trace.time_s[hardest]
    return brake, side


def _motion_sds(motion: Motion, moments: Floats) -> Floats:
    """
    Error bars of `_MOTION_SDS` at the moments of each, shape (5, n) like these.

    Of speed, speed, longitudinal and lateral acceleration, and the place where the car was slowest:
    there the longitudinal acceleration passes zero, rising.
    """
    there = np.isfinite(moments) & (moments >= motion.start_s) & (moments <= motion.end_s)
    filled = np.where(there, moments, motion.start_s)
    rows = np.zeros((*moments.shape, 6))
    along = motion.at(filled.ravel()).direction.reshape(*moments.shape, 2)
    rows[:2, :, 2:4] = along[:2]
    rows[2, :, 4:6] = along[2]
    rows[3, :, 4:6] = np.stack([-along[3, :, 1], along[3, :, 0]], axis=-1)
    rows[4] = level_place_weights(motion, filled[4], 1.0)
    out = np.full(moments.shape, np.nan)
    if there.any():
        out[there] = motion.sds(filled[there], rows[there])
    return out


def _turn_in_sd(motion: Motion, traces: Mapping[int, LapTrace], passes: pd.DataFrame) -> Floats:
    """Of the place, and of the moment: the lateral acceleration's error over its change. [m]."""
    station = _moments(passes["turn_in_station_m"])
    out, there = np.full(len(passes), np.nan), np.isfinite(station)
    if not there.any():
        return out
    pairs = zip(passes["lap"].to_numpy()[there], station[there], strict=True)
    moment = np.array([float(traces[n].time_at(at)[0]) for n, at in pairs])
    ends = motion.start_s, motion.end_s
    moment = np.clip(moment, *ends)
    early, late = (np.clip(moment + d, *ends) for d in (-AROUND_S, AROUND_S))
    change = motion.at(late).accel_lat_mps2 - motion.at(early).accel_lat_mps2
    jerk = change / (late - early)
    jerk = np.copysign(np.maximum(np.abs(jerk), MIN_JERK_MPS3), jerk)
    state, rows = motion.at(moment), np.zeros((len(moment), 6))
    rows[:, :2] = state.direction
    rows[:, 4:] = -_left(state.direction) * (state.speed_mps / jerk)[:, None]
    out[there] = motion.sds(moment, rows, best_only=True)
    return out


def _radius_sd(motion: Motion, passes: pd.DataFrame) -> Floats:
    """Of v^2 / |a| at the slowest point, by the errors of speed and lateral acceleration. [m]."""
    moment, out = _moments(passes["min_speed_s"]), np.full(len(passes), np.nan)
    there = np.isfinite(moment)
    if not there.any():
        return out
    moment = np.clip(moment[there], motion.start_s, motion.end_s)
    state, radius = motion.at(moment), _moments(passes["radius_driven_m"])[there]
    speed, rows = np.maximum(state.speed_mps, 1.0), np.zeros((len(moment), 6))
    side = np.sign(state.accel_lat_mps2)
    rows[:, 2:4] = state.direction * (2.0 * radius / speed)[:, None]
    rows[:, 4:] = -_left(state.direction) * (side * (radius / speed) ** 2)[:, None]
    out[there] = motion.sds(moment, rows, best_only=True)
    return out


def _left(direction: Floats) -> Floats:
    return np.stack([-direction[:, 1], direction[:, 0]], axis=-1)


def _asides(
    track: Track, motion: Motion, traces: Mapping[int, LapTrace], clean: Sequence[int],
    passes: pd.DataFrame, station: Floats,
) -> tuple[Floats, Floats]:  # fmt: skip
    """
    How far to the left of the usual line each pass was at a station, and its sd. [m].

    The sd is that against the mean of the clean ones, for which what all of them share drops out.
    """
    aside, sd = np.full(len(passes), np.nan), np.full(len(passes), np.nan)
    laps, corner = passes["lap"].to_numpy(), passes["corner"].to_numpy()
    own = np.isin(laps, np.asarray(clean)) & np.isfinite(station)
    counts = {c: int(own[corner == c].sum()) for c in np.unique(corner)}
    known = np.array([counts[c] >= _MIN_LINES for c in corner]) & np.isfinite(station)
    if not known.any():
        return aside, sd
    laps, corner, own, s = laps[known], corner[known], own[known], station[known]
    pairs = list(zip(laps, s, strict=True))
    offset = np.array([float(traces[n].at_station("offset_m", at)) for n, at in pairs])
    aside[known] = offset - usual_offset(traces, clean, s)
    moment = np.array([float(traces[n].time_at(at)[0]) for n, at in pairs])
    path = track.path
    assert path is not None
    heading = path.at(np.mod(s, track.length_m)).heading_rad
    across = np.zeros((len(s), 6))
    across[:, 0], across[:, 1] = -np.sin(heading), np.cos(heading)
    cov = motion.posterior(moment, across, best_only=True).covs[0]
    same = (corner[:, None] == corner[None, :]) & own[None, :]
    weights = np.eye(len(s)) - same / same.sum(axis=1, keepdims=True)
    variance = np.einsum("ij,ij->i", weights @ cov, weights)
    sd[known] = np.sqrt(np.maximum(variance, 0.0))
    return aside, sd
