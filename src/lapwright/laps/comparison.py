"""Two laps side by side: delta along the lap and ledger, each with its error bar."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged
from lapwright.columns.laps import DELTA, LEDGER
from lapwright.geometry import Track
from lapwright.in_notebook import ShowsItself
from lapwright.laps.cutting.line_passages import crossing_weights, time_errors
from lapwright.laps.lap_trace import LapTrace
from lapwright.laps.lost_stretches import lost_time_cov, lost_time_sd
from lapwright.laps.stretches import stretches
from lapwright.motion import Motion, Posterior
from lapwright.notes.noted import Noted

Floats = npt.NDArray[np.float64]

# The error bar is smooth along the lap: so many stations carry it, the rest is interpolated.
_SD_STATIONS = 100

# What cost the time, and the covariance of its errors.
CausesAndCov = tuple[pd.DataFrame, Floats]


def _no_causes() -> CausesAndCov:
    return pd.DataFrame(), np.zeros((0, 0))


@dataclass(frozen=True, eq=False)
class Side:
    """One of the two laps: its trace and the motion it came from."""

    trace: LapTrace
    motion: Motion
    offset_cov_m2: Floats  # (2, 2) of the session's place on the track
    log: Path = Path()


@dataclass(frozen=True, eq=False)
class ComparedNumbers:
    """The numbers of a `Comparison`, by the same names."""

    time_difference_s: float
    time_difference_sd_s: float
    delta: pd.DataFrame
    ledger: pd.DataFrame
    ledger_cov_s2: Floats


@dataclass(frozen=True, eq=False)
class Comparison(ShowsItself):
    """
    A lap against a reference lap; in a notebook it shows itself, see `lapwright.show`.

    Attributes
    ----------
    lap, reference : int
    time_difference_s, time_difference_sd_s : float
        Lap minus reference; positive when the lap was slower.
    delta, ledger : DataFrame
        See `lapwright.columns.laps`; the ledger's differences sum to ``time_difference_s``.
    ledger_cov_s2 : ndarray, shape (rows, rows)
        Covariance of the ledger's errors: neighbours share the error at the edge between them,
        so a corner's sum is surer than its parts. [s²]
    lap_trace, reference_trace : LapTrace
    track : Track
    log, reference_log : Path
        Where the two laps are from.
    passes_of, causes_of : callable
        Work out `passes` and `causes`.
    noted, reference_noted : Noted
        When the two laps were driven, and what the notes say of it.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx")
    >>> comparison = session.compare(session.typical_lap, session.best_lap)
    >>> f"{comparison.time_difference_s:.2f} s"
    '0.84 s'
    >>> apart_s = comparison.ledger["difference_s"].sum() - comparison.time_difference_s
    >>> bool(abs(apart_s) < 1e-6)
    True
    >>> list(comparison.passes.columns[:4])
    ['corner', 'name', 'flat', 'reference_flat']
    """

    lap: int
    reference: int
    time_difference_s: float
    time_difference_sd_s: float
    delta: pd.DataFrame
    ledger: pd.DataFrame
    ledger_cov_s2: Floats
    lap_trace: LapTrace
    reference_trace: LapTrace
    track: Track = field(repr=False)
    log: Path = Path()
    reference_log: Path = Path()
    passes_of: Callable[[], pd.DataFrame] = field(default=pd.DataFrame, repr=False)
    causes_of: Callable[[], CausesAndCov] = field(default_factory=lambda: _no_causes, repr=False)
    noted: Noted = field(default_factory=Noted, repr=False)
    reference_noted: Noted = field(default_factory=Noted, repr=False)

    @property
    def causes(self) -> pd.DataFrame:
        """
        What cost the time, one row a corner and cause; see `lapwright.columns.laps.CAUSES`.

        The rows add up to ``time_difference_s``; how they are found is said in
        `lapwright.laps.lost_time`.

        Examples
        --------
        >>> comparison = session.compare(session.typical_lap)
        >>> apart_s = comparison.causes["lost_s"].sum() - comparison.time_difference_s
        >>> bool(abs(apart_s) < 1e-6)
        True
        """
        return self._causes[0]

    @property
    def causes_cov_s2(self) -> Floats:
        """
        Covariance of the errors of `causes`, shape (rows, rows): sums are surer than parts. [s²].

        Examples
        --------
        >>> comparison = session.compare(session.typical_lap)
        >>> len(comparison.causes_cov_s2) == len(comparison.causes)
        True
        """
        return self._causes[1]

    @cached_property
    def _causes(self) -> CausesAndCov:
        return self.causes_of()

    @property
    def other_log(self) -> bool:
        """
        Whether the reference lap is from another log.

        Examples
        --------
        >>> session.compare(2).other_log
        False
        """
        return self.log != self.reference_log

    @cached_property
    def passes(self) -> pd.DataFrame:
        """
        Both laps' ways through the corners side by side, one row a corner.

        ``corner``, ``name``, and for each quantity ``q`` of `lapwright.Session.passes` the columns
        ``q``, ``reference_q`` and ``difference_q`` (lap minus reference), with ``_sd`` before the
        unit for their error bars; see `lapwright.session.passes_compared.passes_compared`.

        Examples
        --------
        >>> side_by_side = session.compare(session.typical_lap).passes
        >>> apart = side_by_side["min_speed_mps"] - side_by_side["reference_min_speed_mps"]
        >>> bool((abs(apart - side_by_side["difference_min_speed_mps"]).dropna() < 1e-9).all())
        True
        """
        return self.passes_of()


def compared_numbers(
    track: Track, side: Side, reference: Side, step_m: float,
    slowing_m: Sequence[float] | None = None,
) -> ComparedNumbers:  # fmt: skip
    """
    Compare two laps on the same track.

    Parameters
    ----------
    track : Track
        With path and corners, on the plane of both motions.
    side, reference : Side
    step_m : float
        Spacing of the delta's stations. [m]
    slowing_m : sequence of float, optional
        Where the braking of each corner's stretch begins, see `lapwright.laps.stretches`. [m]

    Returns
    -------
    ComparedNumbers
    """
    length = track.length_m
    station = np.append(np.arange(0.0, length - 1e-6, step_m), length)
    delta = time_since_start(side.trace, station) - time_since_start(reference.trace, station)
    coarse = np.linspace(0.0, length, _SD_STATIONS + 1)
    sd = delta_posterior(track, side, reference, coarse).sd
    sds = np.hypot(np.interp(station, coarse, sd), _lost_sd(side, reference, station))
    speeds = [s.motion.at(s.trace.time_at(station)).speed_mps for s in (side, reference)]
    table = pd.DataFrame(
        {
            "station_m": station,
            "delta_s": delta,
            "delta_sd_s": sds,
            "speed_mps": speeds[0],
            "reference_speed_mps": speeds[1],
        }
    )
    ledger = _ledger(track, side, reference, slowing_m)
    return ComparedNumbers(float(delta[-1]), float(sd[-1]), arranged(table, DELTA), *ledger)


def delta_sds(track: Track, sides: list[Side], reference: Side) -> tuple[Floats, Floats]:
    """
    Error bars of the deltas of many laps to one lap of the same session, at once.

    Parameters
    ----------
    track : Track
    sides : list of Side
        On the reference's motion.
    reference : Side

    Returns
    -------
    station_m : ndarray, shape (k,)
        From the line to the line. [m]
    sd_s : ndarray, shape (laps, k)
        Under the most probable noise parameters alone, which a whole `Comparison` does not lean on:
        scale them by what is known of the lap times. [s]
    """
    station = np.linspace(0.0, track.length_m, _SD_STATIONS + 1)
    parts = [_rows(track, side, station) for side in (*sides, reference)]
    posterior = time_errors(
        reference.motion, np.concatenate([p[0] for p in parts]),
        np.concatenate([p[1] for p in parts]), best_only=True,
    )  # fmt: skip
    k = len(station)
    since = np.eye(k)
    since[:, 0] -= 1.0
    out = np.zeros((len(sides), k))
    last = slice(len(sides) * k, None)
    for j in range(len(sides)):
        mine = slice(j * k, (j + 1) * k)
        cov = posterior.covs[0]
        apart = cov[mine, mine] + cov[last, last] - cov[mine, last] - cov[last, mine]
        variance = np.maximum(np.einsum("ij,jk,ik->i", since, apart, since), 0.0)
        out[j] = np.hypot(np.sqrt(variance), _lost_sd(sides[j], reference, station))
    return station, out


def time_since_start(trace: LapTrace, station_m: Floats) -> Floats:
    """Time since the line at stations of one lap, exactly 0 and the lap time at its ends."""
    time = trace.time_at(station_m) - trace.start_s
    time = np.where(station_m <= 0.0, 0.0, time)
    return np.where(station_m >= trace.length_m, trace.end_s - trace.start_s, time)


def _ledger(
    track: Track, side: Side, reference: Side, slowing_m: Sequence[float] | None
) -> tuple[pd.DataFrame, Floats]:
    table = stretches(track, slowing_m)
    edges = np.unique(np.concatenate([[0.0], table["start_m"], table["end_m"], [track.length_m]]))
    delta = time_since_start(side.trace, edges) - time_since_start(reference.trace, edges)
    posterior = delta_posterior(track, side, reference, edges)
    first = np.searchsorted(edges, table["start_m"])
    last = np.searchsorted(edges, table["end_m"])
    pick = np.zeros((len(table), len(edges)))
    pick[np.arange(len(table)), last] += 1.0
    pick[np.arange(len(table)), first] -= 1.0
    if side.trace is not reference.trace:
        lost = [lost_time_cov(s.trace, edges) for s in (side, reference)]
        posterior = posterior.widened(lost[0] + lost[1])
    parts = posterior.combined(pick)
    table = table.assign(difference_s=delta[last] - delta[first], difference_sd_s=parts.sd)
    return arranged(table, LEDGER), parts.cov


def _lost_sd(side: Side, reference: Side, station_m: Floats) -> Floats:
    """What the delta is unsure by where no normal guides; stretches are short, so at any place."""
    if side.trace is reference.trace:
        return np.zeros(len(station_m))
    return np.hypot(*(lost_time_sd(s.trace, station_m) for s in (side, reference)))


def delta_posterior(track: Track, side: Side, reference: Side, station_m: Floats) -> Posterior:
    """
    Errors of the delta at stations, which share whatever drift the two laps share.

    Parameters
    ----------
    track : Track
    side, reference : Side
    station_m : ndarray, shape (k,)
        The first one is where the delta counts from. [m]

    Returns
    -------
    Posterior
        Of k numbers; the first is zero. [s]
    """
    since = np.eye(len(station_m))
    since[:, 0] -= 1.0
    if side.motion is reference.motion:
        if side.trace is reference.trace:
            zero = np.zeros((len(station_m), len(station_m)))
            return Posterior(np.ones(1), zero[:1], zero[None])
        time, weights = _rows(track, side, station_m)
        time_r, weights_r = _rows(track, reference, station_m)
        # One clock for both laps: its rate cancels, up to its share of the difference.
        both = time_errors(
            side.motion, np.concatenate([time, time_r]), np.concatenate([weights, weights_r])
        )
        return both.combined(np.concatenate([since, -since], axis=1))
    # Two sessions err independently, each about its own place on the track and by its own clock.
    time, weights = _rows(track, side, station_m)
    time_r, weights_r = _rows(track, reference, station_m)
    a = time_errors(side.motion, time, weights).combined(since)
    b = time_errors(reference.motion, time_r, weights_r).combined(-since)
    shift_a, shift_b = since @ weights[:, :2], since @ weights_r[:, :2]
    place = shift_a @ side.offset_cov_m2 @ shift_a.T
    place += shift_b @ reference.offset_cov_m2 @ shift_b.T
    return Posterior(np.ones(1), (a.mean + b.mean)[None], (a.cov + b.cov + place)[None])


def _rows(track: Track, side: Side, station_m: Floats) -> tuple[Floats, Floats]:
    """Times and functionals: how an error of position moves the time at each station."""
    path = track.path
    assert path is not None
    time = side.trace.time_at(station_m)
    heading = path.at(np.mod(station_m, track.length_m)).heading_rad
    normal = np.stack([np.cos(heading), np.sin(heading)], axis=-1)
    ends = (station_m <= 0.0) | (station_m >= track.length_m)
    normal[ends] = track.start_finish.forward
    time = np.where(station_m <= 0.0, side.trace.start_s, time)
    time = np.where(station_m >= track.length_m, side.trace.end_s, time)
    return time, crossing_weights(side.motion, time, normal)
