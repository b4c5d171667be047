"""
What is known of every clean run through a corner: its time, its features, their error bars.

The time of a pass runs from before the earliest braking for its corner to before the earliest
braking for the next, so that a slow exit is charged with what it costs down the straight.  A lap
that is quicker everywhere (warm tyres, less fuel) says nothing about one corner, so what all
corners of a lap have in common is taken out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.adjusted_times import without_lap
from lapwright.coaching.pass_features import features
from lapwright.geometry import Track
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.lap_trace import LapTrace
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]
# Runs through some corners, with some columns more: by ``lap`` and ``corner``.
BarsOf = Callable[[Sequence[int], Sequence[str]], pd.DataFrame]

# A pass begins so far before the earliest braking of the session.
_RUN_UP_M = 10.0
# One that is not braked for begins so far before its slowest point. Common practice, no source.
_UNBRAKED_M = 100.0
# A pass ends at the line, unless the line stands nearer than this behind the slowest point.
_LINE_NEAR_M = 250.0

# The times of a pass, by the moments they run between: start, usual slowest point, end.
CLOCKS = {"span": (0, 2), "run_in": (0, 1), "run_out": (1, 2)}


@dataclass(frozen=True, eq=False)
class Evidence:
    """
    Clean passes with their times.

    Attributes
    ----------
    passes : DataFrame
        One row per clean run: the columns of `lapwright.corners.pass_table`, not always with
        their error bars (see `with_bars`), and

        - ``span_s`` from before the braking to before the next braking, its parts ``run_in_s`` and
          ``run_out_s`` to and from the usual slowest point, and ``span_sd_s``;
        - ``span_excess_s``, ``run_in_excess_s``, ``run_out_excess_s``: the same without what the
          lap's other corners had in common, minus the corner's median;
        - ``braking_m``: where the main braking began;
        - ``slow_share``: how slow the corner itself was, by the time about its slowest point and
          its minimum speed together, as a share of either, without the lap's pace;
        - ``unused_share``: the same by the cornering force held about the slowest point, as a
          share of speed: a line that happens to be tighter slows the car but not the force;
        - ``leaving_offset_m``: the offset where the car has usually done turning.
    covs_s2 : dict of ndarray, shape (n, n)
        Covariance of the measurement errors of the ``"span"``, ``"run_in"`` and ``"run_out"``.
    spans : DataFrame
        ``corner``, ``start_m``, ``slowest_m``, ``end_m``: between which stations the times are.
    bars_of : callable, optional
        Works out what `with_bars` is asked for and ``passes`` lacks.
    """

    passes: pd.DataFrame
    covs_s2: dict[str, Floats]
    spans: pd.DataFrame
    bars_of: BarsOf | None = None

    def of(self, corner: int) -> npt.NDArray[np.intp]:
        """Positions of one corner's rows."""
        return np.flatnonzero(self._corners == corner)

    @cached_property
    def _corners(self) -> npt.NDArray[np.int64]:
        return self.passes["corner"].to_numpy()

    def with_bars(self, corners: Sequence[int], columns: Sequence[str]) -> pd.DataFrame:
        """
        Runs through some corners with columns that take long, as error bars do: few are needed.

        Parameters
        ----------
        corners : sequence of int
        columns : sequence of str
            Of `lapwright.columns.corners.PASSES`.

        Returns
        -------
        DataFrame
            Rows of ``passes``, in the same order and under the same labels.
        """
        table = self.passes[self.passes["corner"].isin(corners)]
        lacking = [name for name in columns if name not in table]
        if not lacking or self.bars_of is None:
            return table
        more = self.bars_of(corners, lacking).set_index(["lap", "corner"])[lacking]
        return table.join(more, on=["lap", "corner"], validate="one_to_one")


def span_stations(track: Track, passes: pd.DataFrame) -> pd.DataFrame:
    """
    Between which stations each corner's passes are timed.

    They come from where the cars braked and were slowest, never from where the corner is said to
    begin and end: that depends on where the circuit came from.

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
    brakings = passes.groupby("corner")["brake_station_m"]
    earliest, braked = brakings.quantile(0.1), brakings.count() / brakings.size()
    usual = passes.groupby("corner")["min_speed_station_m"].median().dropna()
    slowest = np.array([float(usual.get(c.order, c.apex_m)) for c in corners])
    starts = []
    for k, corner in enumerate(corners):
        before = slowest[k - 1] - length * (slowest[k - 1] >= slowest[k])
        if braked.get(corner.order, 0.0) >= 0.5:
            start = float(earliest[corner.order]) - _RUN_UP_M
        else:
            start = max(slowest[k] - _UNBRAKED_M, 0.5 * (before + slowest[k]))
        starts.append(float(np.clip(start, before, slowest[k])))
    rows = []
    for k, corner in enumerate(corners):
        after = (k + 1) % len(corners)
        end = starts[after] + (length if after <= k else 0.0)
        if end > length and length - slowest[k] > _LINE_NEAR_M:
            end = length
        rows.append((corner.order, starts[k], slowest[k], end))
    table = pd.DataFrame(rows, columns=["corner", "start_m", "slowest_m", "end_m"])
    # Without a corner nothing else says what the columns hold.
    return table.astype(np.float64).astype({"corner": np.int64})


def gather_evidence(
    track: Track, motion: Motion, laps: pd.DataFrame, passes: pd.DataFrame,
    traces: dict[int, LapTrace], spans: pd.DataFrame | None = None, bars_of: BarsOf | None = None,
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
    bars_of : callable, optional
        See `Evidence`; where not given, ``passes`` has all that is asked for.

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
        **features(track, table, traces, spans),
    )
    return Evidence(_without_laps(table), covs, spans, bars_of)


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
        for name in ("middle_s", "min_speed_mps", "held_mps2")
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
