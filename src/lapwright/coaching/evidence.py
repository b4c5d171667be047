"""
What is known of every clean run through a corner: its time, its features, their error bars.

The time of a pass runs from before the earliest braking for its corner to before the earliest
braking for the next, so that a slow exit is charged with what it costs down the straight.  A lap
that is quicker everywhere (warm tyres, less fuel) says nothing about one corner, so what all
corners of a lap have in common is taken out.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.adjusted_times import without_lap
from lapwright.corners.pass_points import BRAKE_MPS2
from lapwright.geometry import Track
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.lap_trace import LapTrace
from lapwright.laps.stretches import nominal_braking
from lapwright.motion import Motion
from lapwright.numerics.runs import flag_runs

Floats = npt.NDArray[np.float64]

# A pass begins so far before the earliest braking of the session.
_RUN_UP_M = 10.0
# A pass ends at the line, unless the line stands nearer than this behind the corner.
_LINE_NEAR_M = 200.0
# A corner has been left when the car is this far past the end of it.
_RUN_OUT_M = 20.0
# The cornering force is looked at so far about the slowest point, within the corner or a little
# beyond its ends.
_HELD_M, _MIN_HELD_M = 45.0, 10.0
_SAME_BRAKING_M = 12.0

# The times of a pass, by the moments they run between: start, usual slowest point, end.
CLOCKS = {"span": (0, 2), "run_in": (0, 1), "run_out": (1, 2)}


@dataclass(frozen=True, eq=False)
class Evidence:
    """
    Clean passes with their times.

    Attributes
    ----------
    passes : DataFrame
        One row per clean run: the columns of `lapwright.corners.pass_table` and

        - ``span_s`` from before the braking to before the next braking, its parts ``run_in_s`` and
          ``run_out_s`` to and from the usual slowest point, and ``span_sd_s``;
        - ``span_excess_s``, ``run_in_excess_s``, ``run_out_excess_s``: the same without what the
          lap's other corners had in common, minus the corner's median;
        - ``braking_m``: where the main braking began;
        - ``slow_share``: how slow the corner itself was, by its time and its minimum speed
          together, as a share of either, without the lap's pace;
        - ``unused_share``: the same by the cornering force held about the slowest point, as a
          share of speed: a line that happens to be tighter slows the car but not the force.
    covs_s2 : dict of ndarray, shape (n, n)
        Covariance of the measurement errors of the ``"span"``, ``"run_in"`` and ``"run_out"``.
    spans : DataFrame
        ``corner``, ``start_m``, ``slowest_m``, ``end_m``: between which stations the times are.
    """

    passes: pd.DataFrame
    covs_s2: dict[str, Floats]
    spans: pd.DataFrame

    def of(self, corner: int) -> npt.NDArray[np.intp]:
        """Positions of one corner's rows."""
        return np.flatnonzero(self.passes["corner"].to_numpy() == corner)


def span_stations(track: Track, passes: pd.DataFrame) -> pd.DataFrame:
    """
    Between which stations each corner's passes are timed.

    Parameters
    ----------
    track : Track
        With corners.
    passes : DataFrame
        Clean passes: ``corner``, ``brake_station_m``, ``min_speed_station_m``.

    Returns
    -------
    DataFrame
        ``corner``, ``start_m``, ``slowest_m``, ``end_m``; a start may lie before the line, an end
        beyond it.
    """
    length, corners = track.length_m, track.corners
    nominal = nominal_braking(track)
    earliest = passes.groupby("corner")["brake_station_m"].quantile(0.1)
    slowest = passes.groupby("corner")["min_speed_station_m"].median()
    starts = []
    for k, corner in enumerate(corners):
        before = corners[k - 1]
        left = before.exit_m + _RUN_OUT_M
        left -= length * np.ceil((left - corner.entry_m) / length)
        own = float(earliest.get(corner.order, np.nan))
        start = np.fmin(nominal[k], own) - _RUN_UP_M
        starts.append(float(max(start, min(left, corner.entry_m))))
    rows = []
    for k, corner in enumerate(corners):
        after = (k + 1) % len(corners)
        end = starts[after] + (length if after <= k else 0.0)
        if end > length and length - corner.exit_m > _LINE_NEAR_M:
            end = length
        end = max(end, corner.exit_m)
        middle = float(slowest.get(corner.order, corner.apex_m))
        rows.append((corner.order, starts[k], float(np.clip(middle, starts[k], end)), end))
    table = pd.DataFrame(rows, columns=["corner", "start_m", "slowest_m", "end_m"])
    # Without a corner nothing else says what the columns hold.
    return table.astype(np.float64).astype({"corner": np.int64})


def gather_evidence(
    track: Track, motion: Motion, laps: pd.DataFrame, passes: pd.DataFrame,
    traces: dict[int, LapTrace], spans: pd.DataFrame | None = None,
) -> Evidence:  # fmt: skip
    """
    Time every clean run through a corner.

    Parameters
    ----------
    track : Track
    motion : Motion
    laps : DataFrame
        See `lapwright.laps.lap_table`.
    passes : DataFrame
        See `lapwright.corners.pass_table`.
    traces : dict of LapTrace
        By lap number; those of the representative laps at least.
    spans : DataFrame, optional
        Between which stations to time, as from `span_stations`, to compare sessions; this
        session's own where not given.

    Returns
    -------
    Evidence
    """
    table = clean_passes(laps, passes)
    spans = span_stations(track, table) if spans is None else spans
    table, moments = timed_passes(track, laps, table, traces, spans)
    covs = span_covariances(track, motion, table, moments)
    table = table.assign(
        span_sd_s=np.sqrt(np.maximum(np.diagonal(covs["span"]), 0.0)),
        held_mps2=_held(track, table, traces),
        braking_m=_braking(table, traces),
    )
    return Evidence(_without_laps(table), covs, spans)


def clean_passes(laps: pd.DataFrame, passes: pd.DataFrame) -> pd.DataFrame:
    """Return the passes of the representative laps."""
    return passes[passes["lap"].isin(laps.loc[laps["representative"], "lap"])]


def timed_passes(
    track: Track, laps: pd.DataFrame, passes: pd.DataFrame, traces: dict[int, LapTrace],
    spans: pd.DataFrame,
) -> tuple[pd.DataFrame, Floats]:  # fmt: skip
    """
    Time clean runs between given stations.

    Parameters
    ----------
    track : Track
    laps : DataFrame
    passes : DataFrame
        Of clean laps.
    traces : dict of LapTrace
        By lap number.
    spans : DataFrame
        See `span_stations`.

    Returns
    -------
    passes : DataFrame
        Those which are like others from end to end, with ``span_s``, ``run_in_s``, ``run_out_s``.
    moments : ndarray, shape (n, 3)
        When each was at the start, the usual slowest point and the end. [s]
    """
    table = passes.merge(spans, on="corner", validate="many_to_one")
    timed = set(laps.loc[laps["kind"] == "timed", "lap"])
    first = track.corners[0].order if track.corners else 0
    # A pass is only like the others if the car came out of the corner before it at pace, and went
    # on at pace to the end of the span.
    whole = [
        ((start >= 0.0 and corner != first) or lap - 1 in timed)
        and (end <= track.length_m or lap + 1 in timed)
        for lap, corner, start, end in zip(
            *(table[name] for name in ("lap", "corner", "start_m", "end_m")), strict=True
        )
    ]
    # As an array: without a pass an empty list would take the columns away.
    table = (
        table[np.array(whole, dtype=bool)]
        .sort_values(["lap", "corner"], kind="stable")
        .reset_index(drop=True)
    )
    moments = _moments(table, traces)
    spent = {f"{clock}_s": moments[:, b] - moments[:, a] for clock, (a, b) in CLOCKS.items()}
    return table.assign(**spent), moments


def _without_laps(table: pd.DataFrame) -> pd.DataFrame:
    """Add what is judged: times and shares without the lap's pace."""
    time, speed, force = (
        without_lap(table, name) / table.groupby("corner")[name].transform("median").to_numpy()
        for name in ("time_s", "min_speed_mps", "held_mps2")
    )
    return table.assign(
        **{f"{clock}_excess_s": without_lap(table, f"{clock}_s") for clock in CLOCKS},
        slow_share=0.5 * (time - speed),
        # Force goes with the square of speed.
        unused_share=-0.5 * force,
    )


def _moments(table: pd.DataFrame, traces: dict[int, LapTrace]) -> Floats:
    """Times at the start, the usual slowest point and the end of every pass, shape (n, 3)."""
    out = np.empty((len(table), 3))
    for lap, rows in table.groupby("lap").indices.items():
        trace = traces[int(str(lap))]
        for j, name in enumerate(("start_m", "slowest_m", "end_m")):
            out[rows, j] = trace.time_at(table[name].to_numpy()[rows])
    return out


def _held(track: Track, table: pd.DataFrame, traces: dict[int, LapTrace]) -> Floats:
    """Lateral acceleration held about the slowest point: the highest quarter's mean, shape (n,)."""
    corners = {c.order: c for c in track.corners}
    out = np.empty(len(table))
    columns = (table[name] for name in ("lap", "corner", "slowest_m"))
    for i, (lap, order, slowest) in enumerate(zip(*columns, strict=True)):
        corner, trace = corners[order], traces[int(lap)]
        low, high = max(corner.entry_m, slowest - _HELD_M), min(corner.exit_m, slowest + _HELD_M)
        inside = trace.within(min(low, slowest - _MIN_HELD_M), max(high, slowest + _MIN_HELD_M))
        sign = 1.0 if corner.direction == "left" else -1.0
        force = np.sort(sign * trace.accel_lat_mps2[inside])
        # A car that hardly turns holds next to nothing; the share must stay finite.
        out[i] = max(float(force[-max(3, len(force) // 4) :].mean()), 0.1)
    return out


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


def span_covariances(
    track: Track, motion: Motion, table: pd.DataFrame, moments: Floats
) -> dict[str, Floats]:
    """
    Covariances of the measured times, each of shape (n, n).

    Parameters
    ----------
    track : Track
    motion : Motion
    table : DataFrame
        Passes with ``start_m``, ``slowest_m``, ``end_m``.
    moments : ndarray, shape (n, 3)
        When each was there. [s]

    Returns
    -------
    dict of ndarray
        By clock. [s²]
    """
    if table.empty:
        return {clock: np.zeros((0, 0)) for clock in CLOCKS}
    path = track.path
    assert path is not None
    station = table[["start_m", "slowest_m", "end_m"]].to_numpy().T.ravel()
    heading = path.at(np.mod(station, track.length_m)).heading_rad
    normal = np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    moment = np.clip(moments.T.ravel(), motion.start_s, motion.end_s)
    weights = crossing_weights(motion, moment, normal)
    posterior = time_errors(motion, moment, weights, best_only=True)
    n = len(table)
    out = {}
    for clock, (a, b) in CLOCKS.items():
        pick = np.zeros((n, 3 * n))
        pick[np.arange(n), b * n + np.arange(n)] = 1.0
        pick[np.arange(n), a * n + np.arange(n)] = -1.0
        out[clock] = posterior.combined(pick).cov
    return out
